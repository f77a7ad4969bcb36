"""Sources of the methods about slurry."""

from typing import Final

from tunnelwright.vocabulary.source import Source

CIRCUIT_BALANCE: Final = Source("balance of the circuit", "what comes back beyond what went out is ground, water and slurry gained or lost", "derived")
ERROR_PROPAGATION: Final = Source("propagation of errors", "first-order propagation of independent standard deviations", "derived")
GEOMETRY: Final = Source("geometry", "volumes of pipes and cuts, rates times durations", "derived")
VISCOMETER: Final = Source(
    "rotational viscometer",
    "plastic viscosity and yield stress from the dial readings at 600 and 300 turns a minute; one pound per 100 square feet is 0.4788 Pa",
    "read",
)
LAMINAR_PROFILE: Final = Source("laminar flow in a pipe", "shear stress linear in the radius, shear rate by the flow law, summed over the section", "derived")
DIMENSIONLESS: Final = Source("definition", "Reynolds and Hedstrom numbers", "derived")
WILSON_THOMAS_1985: Final = Source(
    "Wilson and Thomas (1985)",
    "Wilson K. C., Thomas A. D. 1985, A new analysis of the turbulent flow of non-Newtonian fluids, Canadian Journal of Chemical Engineering 63; "
    "Thomas A. D., Wilson K. C. 1987, New analysis of non-Newtonian turbulent flow, yield-power-law fluids, same journal 65",
    "from memory",
)
HEDSTROM_1952: Final = Source(
    "Hedstrom (1952)", "Hedstrom B. O. A. 1952, Flow of plastic materials in pipes, Industrial and Engineering Chemistry 44; taken as an upper bound", "read"
)
DARBY_MELSON_1981: Final = Source(
    "Darby and Melson (1981)", "Darby R., Melson J. 1981, How to predict the friction factor for flow of Bingham plastics, Chemical Engineering 28", "read"
)
COLEBROOK_1939: Final = Source(
    "Colebrook (1939)",
    "Colebrook C. F. 1939, Turbulent flow in pipes, Journal of the Institution of Civil Engineers 11; laminar by Hagen and Poiseuille",
    "recomputed",
)
DODGE_METZNER_1959: Final = Source(
    "Dodge and Metzner (1959)", "Dodge D. W., Metzner A. B. 1959, Turbulent flow of non-Newtonian systems, AIChE Journal 5", "from memory"
)
HANKS_1963: Final = Source("Hanks (1963)", "Hanks R. W. 1963, The laminar-turbulent transition for fluids with a yield stress, AIChE Journal 9", "recomputed")
SLATTER_WASP_2000: Final = Source(
    "Slatter and Wasp (2000)",
    "Slatter P. T., Wasp E. J. 2000, The laminar/turbulent transition in large pipes, Transport and Sedimentation of Solid Particles 10",
    "from memory",
)
DURAND_1953: Final = Source("Durand (1953)", "Durand R. 1953, Basic relationships of the transportation of solids in pipes, IAHR Minnesota", "from memory")
WASP_1977: Final = Source(
    "Wasp et al. (1977)", "Wasp E. J., Kenny J. P., Gandhi R. L. 1977, Solid-liquid flow: slurry pipeline transportation, Trans Tech", "from memory"
)
WILSON_1979: Final = Source(
    "Wilson (1979)",
    "Wilson K. C. 1979, Deposition-limit nomograms for particles of various densities in pipeline flow, Hydrotransport 6; "
    "Wilson, Addie, Sellgren and Clift, Slurry transport using centrifugal pumps",
    "read",
)
WILSON_NNADI_1990: Final = Source(
    "Wilson and Nnadi (1990)",
    "Wilson K. C., Nnadi F. N. 1990, Behaviour of mobile beds at high shear stress; as in Wilson, Addie, Sellgren and Clift, equation 5.1",
    "read",
)
THOMAS_1979: Final = Source(
    "Thomas (1979)", "Thomas A. D. 1979, The role of laminar/turbulent transition in determining the critical deposit velocity, Hydrotransport 6", "from memory"
)
STATIC_SUSPENSION: Final = Source(
    "balance of a grain", "buoyant weight of a grain against the yield stress on its surface, with a factor of experience", "from memory"
)
DURAND_CONDOLIOS_1952: Final = Source(
    "Durand and Condolios (1952)", "Durand R., Condolios E. 1952, The hydraulic transport of coal and solid materials in pipes", "from memory"
)
NEWITT_1955: Final = Source(
    "Newitt et al. (1955)",
    "Newitt D. M., Richardson J. F., Abbott M., Turtle R. B. 1955, Hydraulic conveying of solids in horizontal pipes, Transactions of the IChE 33",
    "from memory",
)
HYDROSTATICS: Final = Source("hydrostatics", "pressures along a line: friction, weight of the column, pumps", "derived")
JOUKOWSKY_1898: Final = Source("Joukowsky (1898)", "Joukowsky N. 1898, Water hammer: density times wave speed times change of velocity", "derived")
BOYLE: Final = Source("gas law", "a closed amount of gas keeps the product of absolute pressure and volume to the exponent", "derived")
PLITT_1976: Final = Source(
    "Plitt (1976)", "Plitt L. R. 1976, A mathematical model of the hydrocyclone classifier, CIM Bulletin 69; form of the partition curve", "from memory"
)
TANK_BALANCE: Final = Source("balance of a tank", "a mixed tank with constant inflow of fines and constant exchange", "derived")
WATER_BALANCE: Final = Source("balance of water", "pore water and water let in against moisture that leaves with the solids", "derived")
