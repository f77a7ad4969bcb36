"""Sources of the methods about muck."""

from typing import Final

from tunnelwright.vocabulary.source import Source

GEOMETRY: Final = Source("geometry", "areas of circles and their segments, volumes of prisms", "derived")
SOIL_PHASES: Final = Source("definition", "phase relations of soil: volumes and masses of grains, water and air", "derived")
MASS_BALANCE: Final = Source("mass balance", "what comes out is what was in the ground, what was added and what the chamber gave up", "derived")
ERROR_PROPAGATION: Final = Source("propagation of errors", "first-order propagation of independent standard deviations", "derived")
EFNARC_2005: Final = Source(
    "EFNARC (2005)",
    "EFNARC 2005, Specification and guidelines for the use of specialist products for mechanised tunnelling in soft ground and hard rock",
    "from memory",
)
FOAM_PRACTICE: Final = Source(
    "Japanese practice for foam", "first estimate of the foam injection ratio from the grading, as used for foam shields in Japan", "from memory"
)
BOYLE: Final = Source("Boyle's law", "gas at constant temperature keeps the product of absolute pressure and volume", "derived")
ROBUST_STATISTICS: Final = Source("robust statistics", "median and median absolute deviation; large-sample error of a median 1.2533 s / sqrt(n)", "derived")
CONTROL_LIMITS: Final = Source(
    "limits on the mass of one ring", "limits in use on drives with belt weighers: 5 and 10 per cent or two and three standard deviations", "from memory"
)
SCREW_GEOMETRY: Final = Source("geometry of a screw", "volume swept between two turns of a flight round a shaft", "derived")
SCREW_PLUG: Final = Source(
    "Merritt and Mair (2006, 2008)",
    "Merritt A. S., Mair R. J. 2006, Mechanics of tunnelling machine screw conveyors: model tests, Geotechnique 56; 2008, a theoretical model, Geotechnique 58",
    "from memory",
)
JANSSEN_1895: Final = Source("Janssen (1895)", "Janssen H. A. 1895, Versuche über Getreidedruck in Silozellen, Zeitschrift des VDI 39", "recomputed")
DARCY: Final = Source("Darcy (1856)", "Darcy H. 1856, Les fontaines publiques de la ville de Dijon", "derived")
CHAMBER_BALANCE: Final = Source("balance of the chamber", "volumes of soil and liquid, amount of gas by Boyle's law, in a chamber of fixed volume", "derived")
LOGISTICS: Final = Source("counting", "rates times durations", "derived")
