"""Sources of the methods about the machine."""

from typing import Final

from tunnelwright.vocabulary.source import Source

STATICS: Final = Source("statics", "sums of forces and moments on a rigid body", "derived")
GEOMETRY: Final = Source("geometry", "circles, chords and cylinders", "derived")
DEFINITION: Final = Source("definition", "what the words mean", "derived")
MACHINE_CHOICE: Final = Source(
    "practice of machine choice",
    "limits of grading, permeability and water head for the choice of a shield, after DAUB 2010 and 2021, EFNARC 2005 and Thewes 2007; defaults to be edited",
    "from memory",
)
SIEVE_ANALYSIS: Final = Source("sieve curve", "grading curves are read straight between sieves on a logarithmic axis of grain size", "derived")
THRUST_PRACTICE: Final = Source(
    "practice of thrust", "sum of the resistances of a shield, with editable coefficients of friction, adhesion and drag", "from memory"
)
TORQUE_PRACTICE: Final = Source("practice of torque", "sum of the shear stresses on a cutterhead times their lever arms, with editable strengths", "derived")
TORQUE_EMPIRICAL: Final = Source(
    "Japanese practice of torque", "installed torque grows with the cube of the diameter; EPB 14 to 23 and slurry 9 to 15 kNm per cubic metre", "from memory"
)
DISC_TORQUE: Final = Source(
    "practice of disc torque", "rolling forces times mean lever arm, a quarter of the diameter when evenly spaced, 0.3 on usual heads", "from memory"
)
TEALE_1965: Final = Source(
    "Teale (1965)",
    "Teale R. 1965, The concept of specific energy in rock drilling, International Journal of Rock Mechanics and Mining Sciences 2",
    "recomputed",
)
ELASTIC_BEDDING: Final = Source("elastic bedding", "a rigid body turned in evenly stiff ground", "derived")
LEAST_SQUARES: Final = Source("least squares", "the flattest distribution that meets the equations, within bounds", "derived")
CSM: Final = Source(
    "Rostami (1997)",
    "Rostami J., Ozdemir L. 1993, A new model for performance prediction of hard rock TBMs, RETC; "
    "Rostami J. 1997, Development of a force estimation model for rock fragmentation with disc cutters, thesis, Colorado School of Mines",
    "from memory",
)
ROSIWAL: Final = Source("Rosiwal's grinding hardness", "mineral shares times their grinding hardness with quartz at 100", "read")
THURO_PLINNINGER: Final = Source(
    "Thuro and Plinninger", "Thuro K., Plinninger R. J., relation of Mohs hardness and grinding hardness in per cent of quartz", "from memory"
)
ABRASIVITY_CLASSES: Final = Source(
    "classes of abrasivity tests",
    "LCPC classes in use for soils; SAT classes after Nilsen, Dahl, Holzhauser and Raleigh 2007; defaults to be edited",
    "from memory",
)
WEIBULL: Final = Source("Weibull distribution", "survival exp(-(s / eta)^k); the first of m equal tools has the scale eta m^(-1/k)", "derived")
WEIBULL_LIKELIHOOD: Final = Source("maximum likelihood", "failed tools count with their density, tools still good with their survival", "derived")
CONJUGATE_PRIOR: Final = Source("Bayes' theorem", "a gamma prior on eta^-k stays a gamma distribution when lives are observed", "derived")
HUBER: Final = Source("Huber (1981)", "Huber P. J. 1981, Robust statistics, Wiley; bend at 1.345 scales, scale 1.4826 MAD", "recomputed")
HOLLMANN_THEWES_2013: Final = Source(
    "Hollmann and Thewes (2013)",
    "Hollmann F. S., Thewes M. 2013, Assessment method for clay clogging and disintegration of fines in mechanised tunnelling, "
    "Tunnelling and Underground Space Technology 37; bounds of the classes recalled",
    "from memory",
)
ATTERBERG: Final = Source("Atterberg limits", "definitions of consistency index and plasticity index", "derived")
