"""Sources of the alignment methods."""

from typing import Final

from tunnelwright.vocabulary.source import Source

IFC_4_3: Final = Source(
    "IFC 4.3 (2024)",
    "buildingSMART International 2024, Industry Foundation Classes 4.3 (ISO 16739-1), horizontal alignment segments: base formulas of the curvature laws",
    "read",
)
EN_13803: Final = Source(
    "EN 13803 (2017)",
    "EN 13803:2017, Railway applications, Track, Track alignment design parameters: chainage is counted along the horizontal projection of the axis",
    "read",
)
GEOMETRY: Final = Source(
    "plane geometry", "relations between lengths and angles of lines, circles, parabolas and curves in space; short proofs in the notes", "derived"
)
TRANSITIONS: Final = Source(
    "plane geometry of transition curves",
    "closed relations of clothoid and cubic parabola in the frame of their tangent; recomputed by quadrature and by published point lists",
    "recomputed",
)
MAP_SCALE: Final = Source(
    "scale and height reduction of a map projection",
    "length on the ground from grid length, point scale factor and height above the reference surface; mean earth radius 6371 km",
    "derived",
)
CONVERGENCE: Final = Source(
    "meridian convergence, first order",
    "convergence of a transverse cylindrical projection, first term of its series in the longitude difference",
    "from memory",
)
