"""Sources of the arithmetic of file formats."""

from typing import Final

from tunnelwright.vocabulary.source import Source

GEOMETRY: Final = Source("plane geometry", "circles, parabolas, triangles and polygons in the plane", "derived")
LANDXML: Final = Source("LandXML 1.2", "schema LandXML-1.2, 2008: elements of alignments, profiles and surfaces, units and angles as text", "recomputed")
IFC: Final = Source(
    "ISO 16739-1 (2024)",
    "ISO 16739-1:2024, Industry Foundation Classes: directions anticlockwise from the first axis, radii positive to the left",
    "recomputed",
)
AGS: Final = Source("AGS4", "AGS data format 4: every value is text; results beyond a limit carry a sign of comparison", "from memory")
BOUNDARY_RULE: Final = Source(
    "common practice, no source", "a unit that comes back down the hole has several tops: a rule that the user names says which one is the boundary", "derived"
)
SITE_GRID: Final = Source("plane geometry", "similarity of the plane: turned, stretched and shifted", "derived")
MERCATOR: Final = Source("Mercator's projection", "on the sphere lengths grow with the secant of the latitude, areas with its square", "derived")
DXF: Final = Source("DXF reference", "bulge of a polyline: tangent of a quarter of the angle swept, positive anticlockwise", "recomputed")
SERIAL_DATES: Final = Source(
    "ISO/IEC 29500-1 (2016)", "ISO/IEC 29500-1:2016, Office Open XML: serial days of the date systems 1900 (with a 29 February 1900) and 1904", "recomputed"
)
DATUM: Final = Source("common practice, no source", "levels of two surveys that differ by a constant were taken from two datums", "from memory")
