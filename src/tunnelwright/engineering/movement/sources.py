"""Sources of the movement methods."""

from typing import Final

from tunnelwright.vocabulary.source import HowKnown, Source


def _source(short: str, text: str, how_known: HowKnown = "from memory") -> Source:
    return Source(short, text, how_known)


PECK_1969: Final = _source(
    "Peck (1969)",
    "Peck R. B. 1969, Deep excavations and tunneling in soft ground, 7th Int. Conf. Soil Mechanics and Foundation Engineering, Mexico City, 225-290",
)
GROUND_LOSS: Final = _source("definition of volume loss", "volume of the trough per metre of drive over the area that is cut", "derived")
VORSTER_2005: Final = _source(
    "Vorster et al. (2005)",
    "Vorster T. E. B., Klar A., Soga K., Mair R. J. 2005, Estimating the effects of tunneling on existing pipelines, J. Geotech. Geoenv. Eng. 131(11), "
    "1399-1410; volume by quadrature",
    "recomputed",
)
UNEQUAL_LIMBS: Final = _source("two half normal curves", "Peck R. B. 1969 with its own width to either side; volume summed over both", "derived")
OREILLY_NEW_1982: Final = _source(
    "O'Reilly and New (1982)",
    "O'Reilly M. P., New B. M. 1982, Settlements above tunnels in the United Kingdom: their magnitude and prediction, Tunnelling '82, London, 173-181; "
    "read in a review",
    "read",
)
NEW_OREILLY_1991: Final = _source(
    "New and O'Reilly (1991)",
    "New B. M., O'Reilly M. P. 1991, Tunnelling induced ground movements: predicting their magnitude and effects, 4th Int. Conf. Ground Movements and "
    "Structures, Cardiff; also Selby A. R. 1988, Geol. Soc. Eng. Geol. Spec. Publ. 5",
)
MAIR_1993: Final = _source(
    "Mair, Taylor and Bracegirdle (1993)",
    "Mair R. J., Taylor R. N., Bracegirdle A. 1993, Subsurface settlement profiles above tunnels in clays, Geotechnique 43(2), 315-320; scaled to any width "
    "at the surface; focus after Taylor 1995",
    "recomputed",
)
MOH_1996: Final = _source(
    "Moh, Ju and Hwang (1996)",
    "Moh Z. C., Ju D. H., Hwang R. N. 1996, Ground movements around tunnels in soft ground, Int. Symp. Geotechnical Aspects of Underground Construction in "
    "Soft Ground, London, 725-730; focus from constant volume",
)
CONSTANT_K: Final = _source("O'Reilly and New (1982), same factor at every depth", f"{OREILLY_NEW_1982.text}; vectors point to the axis", "read")
MAIR_TAYLOR_1997: Final = _source(
    "Mair and Taylor (1997)",
    "Mair R. J., Taylor R. N. 1997, Bored tunnelling in the urban environment, 14th Int. Conf. Soil Mechanics and Foundation Engineering, Hamburg, 4, "
    "2353-2385; read in a review",
    "read",
)
STAGED_RELEASE: Final = _source(
    "point sources released in stages",
    "normal dimples of every metre, released at the face, along the shield and at the tail, summed along the drive",
    "derived",
)
ATTEWELL_WOODMAN_1982: Final = _source(
    "Attewell and Woodman (1982)",
    "Attewell P. B., Woodman J. P. 1982, Predicting the dynamics of ground settlement and its derivatives caused by tunnelling in soil, Ground Engineering "
    "15(8), 13-22; recomputed by quadrature, with a lag of the face",
    "recomputed",
)
STRAIN_TENSOR: Final = _source("plane strain tensor", "component of a symmetric tensor along a unit vector", "derived")
RING_SUM: Final = _source(
    "sum of point sources over rings",
    "radially symmetric normal dimples, one per piece of a ring; along a straight drive their sum is the closed form of Attewell and Woodman 1982",
    "recomputed",
)
SUPERPOSITION: Final = _source(
    "two normal curves", "troughs of two drives added; compared with a published three-dimensional series by Do Ngoc et al. 2022", "read"
)
HUNT_2005: Final = _source(
    "Hunt (2005)",
    "Hunt D. V. L. 2005, Predicting the ground movements above twin tunnels constructed in London Clay, PhD thesis, Univ. of Birmingham; Chapman D. N., "
    "Rogers C. D. F., Hunt D. V. L. 2004, World Tunnel Congress, Singapore",
)
VERRUIJT_BOOKER_1996: Final = _source(
    "Verruijt and Booker (1996)",
    "Verruijt A., Booker J. R. 1996, Surface settlements due to deformation of a tunnel in an elastic half plane, Geotechnique 46(4), 753-756; equilibrium "
    "and free surface verified",
    "recomputed",
)
LOGANATHAN_POULOS_1998: Final = _source(
    "Loganathan and Poulos (1998)",
    "Loganathan N., Poulos H. G. 1998, Analytical prediction for tunneling-induced ground movements in clays, J. Geotech. Geoenv. Eng. 124(9), 846-856; "
    "surface volume recomputed",
)
SAGASETA_1987: Final = _source("Sagaseta (1987)", "Sagaseta C. 1987, Analysis of undrained soil deformation due to ground loss, Geotechnique 37(3), 301-320")
TYPICAL_LOSS: Final = _source(
    "common values of volume loss", "Mair R. J. 1996, Settlement effects of bored tunnels, IS-London; Mair R. J., Taylor R. N. 1997; later closed faces"
)
CAVITY: Final = _source(
    "Mair and Taylor (1993)",
    "Mair R. J., Taylor R. N. 1993, Prediction of clay behaviour around tunnels using plasticity solutions, Predictive Soil Mechanics, Oxford; contraction "
    "of a cylindrical cavity, derived again",
    "recomputed",
)
MACKLIN_1999: Final = _source(
    "Macklin (1999)", "Macklin S. R. 1999, The prediction of volume loss due to tunnelling in overconsolidated clay, Ground Engineering 32(4), 30-33"
)
CONTRIBUTIONS: Final = _source(
    "geometry of cut, shield and lining", "areas between cut, shield tail and lining, sweep of a yawed shield and of a chord in a curve", "derived"
)
LEE_ROWE_LO_1992: Final = _source(
    "Lee, Rowe and Lo (1992)", "Lee K. M., Rowe R. K., Lo K. Y. 1992, Subsidence owing to tunnelling, Can. Geotech. J. 29, 929-940"
)
TERZAGHI_1943: Final = _source(
    "Terzaghi (1943)", "Terzaghi K. 1943, Theoretical soil mechanics, Wiley; one-dimensional consolidation with the usual two branches of the degree"
)
LEAST_SQUARES: Final = _source(
    "weighted least squares", "readings against a normal trough; covariance from the Jacobian; robust losses after Huber P. J. 1964", "derived"
)
BAYES_GRID: Final = _source(
    "Bayes on a grid", "posterior of volume loss, width and offset on a grid; a shared offset of an epoch integrated into the covariance", "derived"
)
BAYES_LINEAR: Final = _source("conjugate normal update", "linear model with normal prior and noise", "derived")
TRIGGERS: Final = _source("common practice of monitoring", "levels at a share of the design value, the design value and the limit of the asset")
THEIL_SEN: Final = _source(
    "Theil (1950), Sen (1968)",
    "Theil H. 1950, A rank-invariant method of linear and polynomial regression analysis, Proc. Kon. Ned. Akad. Wetensch. 53; Sen P. K. 1968, J. Am. Stat. "
    "Assoc. 63, 1379-1389",
)
DEVELOPED: Final = _source(
    "share developed so far", "reading without background over the share of the final settlement expected at this face position", "derived"
)
