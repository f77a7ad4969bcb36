"""Sources of the ground methods."""

from typing import Final

from tunnelwright.vocabulary.source import HowKnown, Source


def _source(short: str, text: str, how_known: HowKnown = "from memory") -> Source:
    return Source(short, text, how_known)


EFFECTIVE_STRESS: Final = _source(
    "effective stress, Terzaghi (1936)",
    "Terzaghi K. 1936, The shearing resistance of saturated soils, 1st Int. Conf. Soil Mechanics, Cambridge, 1, 54-56; weights summed over layers",
    "derived",
)
DARCY: Final = _source("Darcy (1856)", "Darcy H. 1856, Les fontaines publiques de la ville de Dijon; steady vertical flow through layers in series", "derived")
HYDROSTATICS: Final = _source("hydrostatics", "pressure of water at rest below its head", "derived")
READINGS: Final = _source("readings of piezometers", "straight line between measured values", "derived")
FERRIS_1951: Final = _source(
    "Ferris (1951)",
    "Ferris J. G. 1951, Cyclic fluctuations of water level as a basis for determining aquifer transmissibility, Int. Assoc. Hydrol. Sci. Publ. 33, 148-155",
)
HEAVE: Final = _source(
    "total stress over water pressure",
    "ratio of total vertical stress to pore pressure at the base of a confining layer; the required ratio is common practice",
)
JAKY_1944: Final = _source("Jaky (1944)", "Jaky J. 1944, The coefficient of earth pressure at rest, J. Soc. Hungarian Architects and Engineers 78(22), 355-358")
MAYNE_KULHAWY_1982: Final = _source(
    "Mayne and Kulhawy (1982)", "Mayne P. W., Kulhawy F. H. 1982, K0-OCR relationships in soil, ASCE J. Geotech. Eng. Div. 108(GT6), 851-872"
)
EN_1997_1_REST: Final = _source("EN 1997-1 (2004) 9.5.2", "EN 1997-1:2004, Eurocode 7, Geotechnical design, Part 1, 9.5.2; read in a commentary", "read")
NEWMARK_1935: Final = _source(
    "Newmark (1935)",
    "Newmark N. M. 1935, Simplified computation of vertical pressures in elastic foundations, Univ. of Illinois Eng. Exp. Station Circular 24",
    "recomputed",
)
TWO_TO_ONE: Final = _source("spread of load two to one", "rule of thumb: a load spreads by one half per metre of depth to each side")
LEVELS: Final = _source("levels", "difference of levels; limits of cover over diameter are common practice", "derived")
CIRCLE: Final = _source("plane geometry of the circle", "area, first moment and chord of a segment of a circle", "derived")
MIXED_FACE: Final = _source(
    "share and entropy of the face", "own measures of an uneven face; the strength ratio of ten follows Steingrimsson, Grov, Nilsen 2002", "derived"
)
LINEAR_VARIOGRAM: Final = _source(
    "kriging, linear semivariogram",
    "Matheron G. 1963, Principles of geostatistics, Economic Geology 58, 1246-1266; bridge between two data of a process whose "
    "semivariogram is a straight line",
    "derived",
)
SIMPLE_KRIGING: Final = _source(
    "simple kriging", "Matheron G. 1963, Principles of geostatistics, Economic Geology 58, 1246-1266; conditional normal field with a known mean", "recomputed"
)
UNIVERSAL_KRIGING: Final = _source(
    "universal kriging",
    "Matheron G. 1969, Le krigeage universel, Cahiers du Centre de Morphologie Mathematique 1; trend by generalised least squares",
    "recomputed",
)
NORMAL_LAW: Final = _source("normal law", "probability of a normally distributed level lying between two levels", "derived")
POLYLINE: Final = _source("plane geometry of a polyline", "nearest point of a polyline and signed distance from it", "derived")
VANMARCKE_1977: Final = _source(
    "Vanmarcke (1977)",
    "Vanmarcke E. H. 1977, Probabilistic modeling of soil profiles, ASCE J. Geotech. Eng. Div. 103(GT11), 1227-1246; recomputed by integrating the correlation",
    "recomputed",
)
PHOON_KULHAWY_1999: Final = _source(
    "Phoon and Kulhawy (1999)", "Phoon K. K., Kulhawy F. H. 1999, Evaluation of geotechnical property variability, Can. Geotech. J. 36, 625-639"
)
LOGNORMAL_LAW: Final = _source("lognormal law", "moments of a variable whose logarithm is normal", "derived")
EN_1997_1_VALUES: Final = _source(
    "EN 1997-1 (2004) 2.4.5.2", "EN 1997-1:2004, Eurocode 7, 2.4.5.2(11): 5 % fractile of the mean or of the least value; Student's t for an unknown spread"
)
SCHNEIDER_1997: Final = _source(
    "Schneider (1997)",
    "Schneider H. R. 1997, Definition and determination of characteristic soil properties, 14th Int. Conf. Soil Mechanics and "
    "Foundation Engineering, Hamburg, 2271-2274",
)
EN_1997_1_FACTORS: Final = _source(
    "EN 1997-1 (2004) Table A.4", "EN 1997-1:2004, Eurocode 7, Annex A, Table A.4, set M2; a National Annex may change the factors", "read"
)
ISO_14688: Final = _source(
    "ISO 14688-1, 14688-2, 14689", "ISO 14688-1:2017, ISO 14688-2:2017, ISO 14689:2017, identification and classification of soil and rock"
)
CASAGRANDE_1948: Final = _source("Casagrande (1948)", "Casagrande A. 1948, Classification and identification of soils, Trans. ASCE 113, 901-991")
STRENGTH_WITH_DEPTH: Final = _source("straight line with depth", "undrained strength that grows linearly below a reference level", "derived")
ROBERTSON_CABAL_2015: Final = _source(
    "Robertson and Cabal (2015)", "Robertson P. K., Cabal K. L. 2015, Guide to cone penetration testing, 6th edition; factor 10 to 18", "read"
)
STROUD_1974: Final = _source(
    "Stroud (1974)",
    "Stroud M. A. 1974, The standard penetration test in insensitive clays and soft rocks, European Symp. Penetration Testing, Stockholm, 2.2, 367-375",
)
LADD_1977: Final = _source(
    "Ladd et al. (1977)",
    "Ladd C. C. et al. 1977, Stress-deformation and strength characteristics, 9th Int. Conf. Soil Mechanics and Foundation Engineering, "
    "Tokyo, 2, 421-494; exponent after Jamiolkowski et al. 1985",
    "read",
)
LIAO_WHITMAN_1986: Final = _source(
    "Liao and Whitman (1986)",
    "Liao S. S. C., Whitman R. V. 1986, Overburden correction factors for SPT in sand, ASCE J. Geotech. Eng. 112(3), 373-377; the cap "
    "of 1.7 is the cautious one",
    "read",
)
HATANAKA_UCHIDA_1996: Final = _source(
    "Hatanaka and Uchida (1996)",
    "Hatanaka M., Uchida A. 1996, Empirical correlation between penetration resistance and internal friction angle of sandy soils, "
    "Soils and Foundations 36(4), 1-9; form for 60 % energy of UFC 3-220-10",
    "read",
)
KULHAWY_MAYNE_1990: Final = _source(
    "Kulhawy and Mayne (1990)", "Kulhawy F. H., Mayne P. W. 1990, Manual on estimating soil properties for foundation design, EPRI EL-6800", "read"
)
HAZEN_1892: Final = _source(
    "Hazen (1892)",
    "Hazen A. 1892, Some physical properties of sands and gravels, Massachusetts State Board of Health, 24th Annual Report, 539-556; an "
    "estimate within a factor of three",
)
CARRIER_2003: Final = _source(
    "Carrier (2003)", "Carrier W. D. 2003, Goodbye, Hazen; hello, Kozeny-Carman, ASCE J. Geotech. Geoenviron. Eng. 129(11), 1054-1056"
)
DRAINAGE: Final = _source(
    "Anagnostou and Kovari (1996)",
    "Anagnostou G., Kovari K. 1996, Face stability conditions with earth-pressure-balanced shields, Tunnelling and Underground Space "
    "Technology 11(2), 165-173; limits for usual rates of advance",
)
