"""Sources of the lining methods."""

from typing import Final

from tunnelwright.vocabulary.source import Source

TERZAGHI_1943: Final = Source(
    "Terzaghi (1943)",
    "Terzaghi K. 1943, Theoretical Soil Mechanics, Wiley, New York; half-width and floor of the load as used in shield practice",
    "recomputed",
)
WEIGHT_ABOVE: Final = Source("weight of the ground above", "sum of layer weights down to the crown, water level and surcharge", "derived")
SELF_WEIGHT: Final = Source("weight of the ring", "area of the ring times its unit weight", "derived")
CURTIS_1976: Final = Source(
    "Curtis (1976)",
    "Curtis D. J. 1976, discussion of Muir Wood A. M. 1975, The circular tunnel in elastic ground, Geotechnique 26(1), 231-237; "
    "forces recomputed with a stress function and a thin ring",
    "recomputed",
)
MUIR_WOOD_1975: Final = Source("Muir Wood (1975)", "Muir Wood A. M. 1975, The circular tunnel in elastic ground, Geotechnique 25(1), 115-127", "from memory")
DUDDECK_ERDMANN_1985: Final = Source(
    "Duddeck and Erdmann (1985)",
    "Duddeck H., Erdmann J. 1985, On structural design models for tunnels in soft soil, Underground Space 9, 246-259; "
    "Ahrens H., Lindner E., Lux K.-H. 1982, Die Bautechnik 59; full slip by the same elastic problem",
    "recomputed",
)
EINSTEIN_SCHWARTZ_1979: Final = Source(
    "Einstein and Schwartz (1979)",
    "Einstein H. H., Schwartz C. W. 1979, Simplified analysis for tunnel supports, J. Geotech. Eng. Div. ASCE 105(4), 499-518; "
    "formulas read in public validation code, full slip corrected",
    "recomputed",
)
USUAL_METHOD: Final = Source(
    "ITA WG2 (2000)",
    "ITA Working Group 2, 2000, Guidelines for the design of shield tunnel lining, Tunnelling and Underground Space Technology 15(3), 303-331; "
    "member forces recomputed with the elastic centre",
    "recomputed",
)
ETA_ZETA: Final = Source(
    "ITA WG2 (2000), JSCE", "ratio of ring stiffness and of transferred moment as in Japanese shield practice; ranges of both from memory", "from memory"
)
BEDDING: Final = Source(
    "Duddeck; Barpi et al. (2011)",
    "bedding from the constrained modulus after Duddeck; from a cavity as in Barpi F., Barbero M., Peila D. 2011, "
    "Gospodarka Surowcami Mineralnymi 27(4); second-mode value from elasticity",
    "recomputed",
)
BEDDED_RING: Final = Source(
    "bedded beam ring",
    "frame of straight beams on radial springs that cannot pull; joints as rotational springs; checked with the differential equation",
    "recomputed",
)
TWO_WAY_RING: Final = Source(
    "inextensible ring on springs", "second mode of an inextensible ring on radial springs, differential equation of the curved beam", "derived"
)
JANSSEN_1983: Final = Source(
    "Janssen (1983)",
    "Janssen P. 1983, Tragverhalten von Tunnelausbauten mit Gelenktuebbings, TU Braunschweig, on Leonhardt F., Reimann H. 1965, Betongelenke, DAfStb 175; "
    "values recomputed by hand",
    "recomputed",
)
PLASTIC_CONTACT: Final = Source("rectangular contact block", "equilibrium of a fully used contact at one edge of the joint", "derived")
EN_1992_BEARING: Final = Source("EN 1992-1-1:2004, 6.7", "EN 1992-1-1:2004 + A1, clause 6.7, partially loaded areas, eq. 6.63", "read")
MODE_TWO_KINEMATICS: Final = Source("kinematics of the second mode", "curvature of a two-wave shape gathered in the joints of equal segments", "derived")
LEONHARDT: Final = Source(
    "Leonhardt; DAUB (2013)",
    "bursting after Leonhardt; edge tension and symmetric prism as in DAUB 2013, Recommendations for segmental linings, from memory",
    "from memory",
)
EN_1992_BURSTING: Final = Source("EN 1992-1-1:2004, 6.5.3", "EN 1992-1-1:2004, clause 6.5.3, eq. 6.58 and 6.59", "from memory")
EN_1992_SECTION: Final = Source(
    "EN 1992-1-1:2004; MC 2010",
    "EN 1992-1-1:2004 + A1, 3.1.7 and 6.1, table 3.1; fibre block of fib Model Code 2010, 5.6; values recomputed with strips",
    "recomputed",
)
MODEL_CODE_FIBRES: Final = Source(
    "fib Model Code 2010, 5.6", "fib Model Code for Concrete Structures 2010, 5.6, residual strengths after EN 14651", "from memory"
)
EN_1992_SHEAR: Final = Source("EN 1992-1-1:2004, 6.2.2", "EN 1992-1-1:2004, clause 6.2.2, eq. 6.2a, 6.2b, 6.3N", "read")
EN_1992_PLAIN_SHEAR: Final = Source(
    "EN 1992-1-1:2004, 12.6.3", "principal tension of an uncracked rectangle, as in EN 1992-1-1:2004, clause 12.6.3", "recomputed"
)
SECOND_MODE: Final = Source("second mode of the ring", "curvature of a two-wave displacement times the bending stiffness", "derived")
OUT_OF_ROUND: Final = Source(
    "ring out of round", "energy of a ring with a two-wave initial shape; unbedded limit after Timoshenko; second-order term derived", "derived"
)
GASKET_PRACTICE: Final = Source(
    "gasket test table", "linear interpolation in the maker's test table; relaxation and safety as in STUVA practice, from memory", "from memory"
)
BEAM_STATICS: Final = Source("statics of the beam", "straight beam on two supports with overhangs", "derived")
EN_1992_AGE: Final = Source("EN 1992-1-1:2004, 3.1.2", "EN 1992-1-1:2004, clause 3.1.2(6), eq. 3.1 and 3.2", "from memory")
BUOYANCY: Final = Source("buoyancy", "weight of ring and ground against the weight of displaced water", "derived")
BEAM_ON_BED: Final = Source("beam on an elastic bed", "uniformly loaded clamped beam joined to a half-infinite one on Winkler's bed", "recomputed")
EN_1990_PAIRS: Final = Source("EN 1990, EN 1997-1", "EN 1997-1:2004, tables A.3 and A.4, applied to effects in pairs", "read")
