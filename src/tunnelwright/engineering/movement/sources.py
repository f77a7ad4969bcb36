"""Sources of the movement methods."""

from typing import Final

from tunnelwright.vocabulary.source import Source

PECK_1969: Final = Source(
    "Peck (1969)",
    "Peck R. B. 1969, Deep excavations and tunneling in soft ground, 7th Int. Conf. Soil Mechanics and Foundation Engineering, Mexico City, 225-290",
    "from memory",
)
