"""Sources of the methods of the ring cycle."""

from typing import Final

from tunnelwright.vocabulary.source import Source

SUM_OF_TIMES: Final = Source("sum of times", "one ring after the other: times in sequence add, the slower of two parallel chains governs", "derived")
MECHANICS: Final = Source("mechanics", "work is torque times angle, force times way, power times time", "derived")
GEOMETRY: Final = Source("plane geometry", "areas and volumes of cylinders; what leaves the tail is what the annulus takes", "derived")
MIXED_FACE: Final = Source(
    "common practice, no source",
    "in a mixed face the slowest ground of some extent sets the pace; where each ground is cut in its turn the times add (harmonic mean)",
    "from memory",
)
