"""Sources of the face support methods."""

from typing import Final

from tunnelwright.vocabulary.source import Source

JANSSEN_1895: Final = Source(
    "Janssen (1895), Terzaghi (1943)",
    "Janssen H. A. 1895, Versuche über Getreidedruck in Silozellen, Zeitschrift des VDI 39; Terzaghi K. 1943, Theoretical Soil Mechanics, Wiley",
    "recomputed",
)
HORN_1961: Final = Source(
    "Horn (1961), Anagnostou and Kovari (1994)",
    "Horn M. 1961, Horizontaler Erddruck auf senkrechte Abschlussflächen von Tunnelröhren; Anagnostou G., Kovari K. 1994, The face stability of "
    "slurry-shield-driven tunnels, Tunnelling and Underground Space Technology 9(2), 165-174",
    "recomputed",
)
ANAGNOSTOU_2012: Final = Source(
    "Anagnostou (2012)",
    "Anagnostou G. 2012, The contribution of horizontal arching to tunnel face stability, Geotechnik 35(1), 34-44",
    "recomputed",
)
ANAGNOSTOU_KOVARI_1996: Final = Source(
    "Anagnostou and Kovari (1996)",
    "Anagnostou G., Kovari K. 1996, Face stability conditions with earth-pressure-balanced shields, Tunnelling and Underground Space Technology 11(2), 165-173",
    "from memory",
)
VERMEER_2002: Final = Source(
    "Vermeer, Ruse and Marcher (2002)",
    "Vermeer P. A., Ruse N., Marcher T. 2002, Tunnel heading stability in drained ground, Felsbau 20(6), 8-18",
    "from memory",
)
LECA_DORMIEUX_1990: Final = Source(
    "Leca and Dormieux (1990)",
    "Leca E., Dormieux L. 1990, Upper and lower bound solutions for the face stability of shallow circular tunnels "
    "in frictional material, Géotechnique 40(4), 581-606",
    "derived",
)
KOLYMBAS_2005: Final = Source("Kolymbas (2005)", "Kolymbas D. 2005, Tunnelling and Tunnel Mechanics, Springer", "derived")
WATER_ON_CIRCLE: Final = Source(
    "Hydrostatic pressure on a circle", "Hydrostatics: integral of the water pressure over the wetted segment of a circle", "derived"
)
DAVIS_1980: Final = Source(
    "Davis, Gunn, Mair and Seneviratne (1980)",
    "Davis E. H., Gunn M. J., Mair R. J., Seneviratne H. N. 1980, The stability of shallow tunnels and underground "
    "openings in cohesive material, Géotechnique 30(4), 397-416",
    "derived",
)
BROMS_BENNERMARK_1967: Final = Source(
    "Broms and Bennermark (1967)",
    "Broms B. B., Bennermark H. 1967, Stability of clay at vertical openings, Journal of the Soil Mechanics and "
    "Foundations Division ASCE 93; classes as Peck (1969)",
    "read",
)
MACKLIN_1999: Final = Source(
    "Macklin (1999)",
    "Macklin S. R. 1999, The prediction of volume loss due to tunnelling in overconsolidated clay based on heading "
    "geometry and stability number, Ground Engineering 32(4)",
    "from memory",
)
DAUB_2016: Final = Source(
    "DAUB (2016)",
    "DAUB 2016, Recommendations for Face Support Pressure Calculations for Shield Tunnelling in Soft Ground, German Tunnelling Committee",
    "from memory",
)
EFFECTIVE_UPPER: Final = Source(
    "Factor on the effective part", "Total stress limit with the factor on the effective stress only, the water taken in full", "derived"
)
HEAVE_PRISM: Final = Source(
    "Equilibrium of a heaving prism", "Vertical equilibrium of the ground above the bore with shear on two vertical planes, plane strain", "derived"
)
MORI_TAMURA_1987: Final = Source(
    "Mori and Tamura (1987)",
    "Mori A., Tamura M. 1987, Hydrofracturing pressure of cohesive soils, Soils and Foundations 27(1), 14-22",
    "from memory",
)
DIN_4126: Final = Source("DIN 4126 (2013)", "DIN 4126:2013, Stability analysis of diaphragm walls", "from memory")
PENETRATED_WEDGE: Final = Source(
    "Anagnostou and Kovari (1994)",
    "Anagnostou G., Kovari K. 1994, The face stability of slurry-shield-driven tunnels, Tunnelling and Underground Space Technology 9(2), 165-174",
    "derived",
)
BEZUIJEN_2001: Final = Source(
    "Bezuijen et al. (2001), Broere (2001)",
    "Bezuijen A., Pruiksma J. P., van Meerten H. H. 2001, Pore pressures in front of tunnel, "
    "measurements, calculations and consequences for stability of tunnel face; "
    "Broere W. 2001, Tunnel Face Stability and New CPT Applications, Delft University Press",
    "derived",
)
HYDROSTATIC_CHAMBER: Final = Source("Hydrostatics of two chambers", "Hydrostatic pressure below an air cushion, chambers joined by an opening", "derived")
THEIL_SEN: Final = Source(
    "Theil (1950), Sen (1968)",
    "Theil H. 1950, A rank-invariant method of linear and polynomial regression analysis; Sen P. K. 1968, Journal "
    "of the American Statistical Association 63, 1379-1389",
    "recomputed",
)
WALL_ADHESION: Final = Source(
    "Equilibrium of muck between two walls", "Vertical equilibrium of the muck between bulkhead and face with adhesion on both", "derived"
)
SCREW_PLUG: Final = Source("Equilibrium of a plug in a pipe", "Axial equilibrium of the muck in the screw with adhesion on its wall", "derived")
AIR_BALANCE: Final = Source(
    "Force balance of a partly lowered chamber", "Horizontal force balance on the face and water balance at its lowest exposed point", "derived"
)
AIR_DARCY: Final = Source("Darcy flow of a compressible gas", "Isothermal Darcy flow of an ideal gas along a column of constant section", "derived")
EN_1997_1: Final = Source("EN 1997-1:2004, Annex A", "EN 1997-1:2004, Geotechnical design, Part 1: General rules, tables A.3 and A.4, set M2", "read")
WINDOW_BOOKKEEPING: Final = Source("Limits and allowance", "Hard limits drawn in by the allowance for pressure fluctuation on both sides", "derived")
NORMAL_LIMITS: Final = Source("Normal distribution", "Probability that a normal variable lies on one side of a value", "derived")
MONTE_CARLO: Final = Source(
    "Metropolis and Ulam (1949)",
    "Metropolis N., Ulam S. 1949, The Monte Carlo method, Journal of the American Statistical Association 44, 335-341",
    "recomputed",
)
RACKWITZ_FIESSLER_1978: Final = Source(
    "Rackwitz and Fiessler (1978)",
    "Rackwitz R., Fiessler B. 1978, Structural reliability under combined random load sequences, Computers and Structures 9, 489-494",
    "recomputed",
)
TARGET_RULE: Final = Source(
    "Rule of this program for the target", "A share of the window above the lower limit, or the service pressure if that is greater", "derived"
)
DYNAMIC_PROGRAMME: Final = Source("Bellman (1957)", "Bellman R. 1957, Dynamic Programming, Princeton University Press", "recomputed")
