"""Sources of the grout methods."""

from typing import Final

from tunnelwright.vocabulary.source import Source

GEOMETRY: Final = Source("plane geometry", "areas and volumes of circles, sectors and frusta; Pappus for the tapered ring", "derived")
GROUTING_PRACTICE: Final = Source("common practice, no source", "usual values and margins of annulus grouting; every one an editable default", "from memory")
BEZUIJEN_TALMON: Final = Source(
    "Bezuijen and Talmon (2003 to 2006)",
    "Bezuijen A., Talmon A. M., papers on grout pressures around a tunnel lining, 2003 to 2006; balance of a plug of grout in the annulus derived anew",
    "derived",
)
STRESS_LIMIT: Final = Source(
    "common practice, no source",
    "grout splits clay above the least total stress plus a multiple of the undrained strength, sand at the least total stress",
    "from memory",
)
