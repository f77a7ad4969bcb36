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
BUCKINGHAM_REINER: Final = Source(
    "Buckingham (1921), Reiner (1926)",
    "Buckingham E. 1921, On plastic flow through capillary tubes, Proc. ASTM 21; Reiner M. 1926, Ueber die Strömung einer elastischen Flüssigkeit durch "
    "eine Kapillare, Kolloid-Zeitschrift 39",
    "recomputed",
)
GROUT_CONSOLIDATION: Final = Source(
    "Bezuijen and Talmon (2003)",
    "Bezuijen A., Talmon A. M. 2003, Grout the foundation of a bored tunnel, BGA Int. Conf. on Foundations, Dundee; cake filtration with elastic "
    "unloading of a cylindrical cavity, integrated in closed form",
    "recomputed",
)
