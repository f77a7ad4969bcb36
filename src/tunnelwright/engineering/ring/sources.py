"""Sources of the ring methods."""

from typing import Final

from tunnelwright.vocabulary.source import Source

RING_GEOMETRY: Final = Source(
    "geometry of the tapered ring", "two planes that enclose a wedge angle, rings turned against each other about the drive's direction", "derived"
)
RING_CHAIN: Final = Source("chain of ring planes", "products of the rigid motions from one ring plane to the next, in the axes forward, right, down", "derived")
RANDOM_WALK: Final = Source("sum of independent errors", "heading errors of rings add up as independent ones; their double sum gives the position", "derived")
JOINT_PATTERN: Final = Source("joint pattern of the ring", "distances of joints round the ring when it is turned against its neighbour", "derived")
TURN_NETWORK: Final = Source(
    "flow of orientations",
    "rings as a circulation over orientations and allowed turns; the curvature that lasts is a linear programme over its frequencies",
    "derived",
)
SEQUENCE_SEARCH: Final = Source(
    "search over orientations",
    "deviations of every ring plane weighted and summed, searched over the orientations that stagger, key and stock allow",
    "derived",
)
RELATIVE_POSE: Final = Source("ring in the tail", "position of the ring against the tail skin from clearances, angle from the rams' extensions", "derived")
RECOVERY_CURVE: Final = Source(
    "curves back to the axis", "shortest curve of limited curvature between parallel lines, and a polynomial of degree five", "derived"
)
SEGMENT_GEOMETRY: Final = Source("geometry of segments", "sectors of a hollow cylinder; a key with sides skewed to the axis", "derived")
KERN: Final = Source("kern of the annulus", "eccentricity at which the far edge of an annular contact is free of stress", "derived")
CIRCLE_GEOMETRY: Final = Source("geometry of the circle", "straight bodies in a circular curve: chords, tangents and concentric circles", "derived")
SHAPE_FIT: Final = Source(
    "least-squares shape of a ring",
    "plane by singular value decomposition, then radius with two waves round the ring; outliers found by a fit of least absolute residuals",
    "derived",
)
