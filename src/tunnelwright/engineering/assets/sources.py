"""Sources of the asset methods."""

from typing import Final

from tunnelwright.vocabulary.source import HowKnown, Source


def _source(short: str, text: str, how_known: HowKnown = "from memory") -> Source:
    return Source(short, text, how_known)


RANKIN_1988: Final = _source(
    "Rankin (1988)",
    "Rankin W. J. 1988, Ground movements resulting from urban tunnelling: predictions and effects, Geol. Soc. Eng. Geol. Spec. Publ. 5, 79-92; first row read "
    "in reviews, the others from memory",
)
ZONES: Final = _source("curvature of the ground along a line", "cut where the curvature changes sign and where settlement falls to a limit", "derived")
BURLAND_WROTH_1974: Final = _source(
    "Burland and Wroth (1974), Boscardin and Cording (1989), Burland (1995)",
    "Burland J. B., Wroth C. P. 1974, Settlement of buildings and associated damage, Settlement of Structures, Cambridge, 611-654; Boscardin M. D., Cording "
    "E. J. 1989, J. Geotech. Eng. 115(1), 1-21; Burland J. B. 1995, 1st IS-Tokyo; notes that derive the chart were read",
    "read",
)
DAMAGE_CATEGORIES: Final = _source(
    "Burland, Broms and de Mello (1977), Boscardin and Cording (1989)",
    "Burland J. B., Broms B. B., de Mello V. F. B. 1977, Behaviour of foundations and structures, 9th ICSMFE, Tokyo, 2, 495-546; limiting strains after "
    "Boscardin and Cording 1989",
    "read",
)
FACADE: Final = _source(
    "equivalent beam on the field of straight drives",
    "ground movement after Attewell and Woodman 1982, zones, beam and categories after Burland 1995; Mair R. J., Taylor R. N., Burland J. B. 1996, IS-London, "
    "713-718",
    "recomputed",
)
SON_CORDING_2005: Final = _source(
    "Son and Cording (2005)",
    "Son M., Cording E. J. 2005, Estimation of building damage due to excavation-induced ground movements, J. Geotech. Geoenv. Eng. 131(2), 162-177",
)
DEEP_BEAM: Final = _source(
    "deep beam under a central load",
    "linear bending and parabolic shear over the height, principal strain by Mohr's circle with free lateral strain",
    "derived",
)
POTTS_ADDENBROOKE_1997: Final = _source(
    "Potts and Addenbrooke (1997)",
    "Potts D. M., Addenbrooke T. I. 1997, A structure's influence on tunnelling-induced ground movements, Proc. ICE Geotech. Eng. 125, 217-233",
)
FRANZIUS_2006: Final = _source(
    "Franzius, Potts and Burland (2006)",
    "Franzius J. N., Potts D. M., Burland J. B. 2006, The response of surface structures to tunnel construction, Proc. ICE Geotech. Eng. 159(1), 3-17",
)
VESIC_1961: Final = _source("Vesic (1961)", "Vesic A. B. 1961, Bending of beams resting on isotropic elastic solid, J. Eng. Mech. Div. 87(2), 35-53")
BEAM_ON_SPRINGS: Final = _source(
    "beam on springs", "Winkler springs that the greenfield settlement drives, free ends, solved with cubic elements", "recomputed"
)
LOGNORMAL: Final = _source("lognormal strain", "probability that a strain whose logarithm is normal reaches a limit", "derived")
MONTE_CARLO: Final = _source(
    "Latin hypercube",
    "McKay M. D., Beckman R. J., Conover W. J. 1979, A comparison of three methods for selecting values of input variables, Technometrics 21(2), 239-245; "
    "applied to the equivalent beam",
    "recomputed",
)
FLEXIBLE: Final = _source("an asset that follows the ground", "strain of the outer fibre of a line bent as the ground, upper bound for a stiff one", "derived")
KLAR_2005: Final = _source(
    "Klar et al. (2005)",
    "Klar A., Vorster T. E. B., Soga K., Mair R. J. 2005, Soil-pipe interaction due to tunnelling: comparison between Winkler and elastic continuum solutions, "
    "Geotechnique 55(6), 461-466; Fourier integral recomputed",
)
ATTEWELL_1986: Final = _source(
    "Attewell, Yeates and Selby (1986)",
    "Attewell P. B., Yeates J., Selby A. R. 1986, Soil movements induced by tunnelling and their effects on pipelines and structures, Blackie; springs after "
    "Vesic 1961, Fourier integral recomputed",
)
FOURIER: Final = _source("infinite beam on springs", "Fourier integral of the beam on springs under a sum of normal troughs", "recomputed")
AXIAL_SLIP: Final = _source("friction along a pipe", "strain that friction over the anchored length can build up", "derived")
JOINTED: Final = _source("rigid units between joints", "units that follow the ground at their joints, slid along the trough to the worst place", "recomputed")
PILE_ZONES: Final = _source(
    "zones about a tunnel for pile toes",
    "idea after Jacobsz S. W. et al. 2004, Soils and Foundations 44(1), 49-61, and Selemetas D. 2005, PhD thesis, Univ. of Cambridge; angles and distances are "
    "our own, to be replaced by the engineer's",
)
PILE_ENVELOPE: Final = _source(
    "envelope of surface and toe",
    "Mair R. J., Williamson M. G. 2014, The role of tunnelling and deep excavation in urban areas, IS-Seoul; increase in the inner zone from memory, doubtful",
)
ANGULAR_DISTORTION: Final = _source(
    "Skempton and MacDonald (1956), Bjerrum (1963)",
    "Skempton A. W., MacDonald D. H. 1956, The allowable settlements of buildings, Proc. ICE 5(6), 727-768; Bjerrum L. 1963, European Conf. Soil Mechanics, "
    "Wiesbaden, 2, 135",
)
TRACK: Final = _source("geometry of two rails", "differences of settlement between rails, along a base and over a chord", "recomputed")
EXISTING_TUNNEL: Final = _source(
    "an existing tunnel that follows the ground", "bending to the curvature of the trough at its axis; crown and invert settle by their own depth", "derived"
)
