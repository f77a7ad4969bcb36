"""Sources of the methods of the programme."""

from typing import Final

from tunnelwright.vocabulary.source import Source

DEFINITION: Final = Source("definition", "time is way over speed; what is counted is counted once", "derived")
EXPONENTIAL_LEARNING: Final = Source(
    "common practice, no source", "the excess over the mature cycle time decays by the same share with every ring; summed as a geometric series", "recomputed"
)
RAMP: Final = Source("common practice, no source", "performance grows evenly from a share at launch to the whole", "from memory")
WRIGHT: Final = Source(
    "Wright (1936)",
    "Wright T. P. 1936, Factors affecting the cost of airplanes, J. Aeronautical Sciences 3",
    "recomputed",
)
DE_JONG: Final = Source(
    "De Jong (1957)", "De Jong J. R. 1957, The effects of increasing skill on cycle time and its consequences for time standards, Ergonomics 1", "recomputed"
)
BOUNDS: Final = Source(
    "Denning and Buzen (1978)",
    "Denning P. J., Buzen J. P. 1978, The operational analysis of queueing network models, Computing Surveys 10: asymptotic bounds of a closed network",
    "recomputed",
)
MEAN_VALUES: Final = Source(
    "Reiser and Lavenberg (1980)",
    "Reiser M., Lavenberg S. S. 1980, Mean-value analysis of closed multichain queuing networks, J. ACM 27",
    "recomputed",
)
MACHINE_REPAIR: Final = Source(
    "Peck and Hazelwood (1958)",
    "Peck L. G., Hazelwood R. N. 1958, Finite queuing tables, Wiley; birth and death equations of one server and a finite number of sources",
    "recomputed",
)
POLLACZEK: Final = Source(
    "Pollaczek and Khinchine (1930, 1932)", "mean queue of one server with Poisson arrivals and any service, by the spread of the service", "recomputed"
)
CALENDAR: Final = Source("definition", "working time is what the shifts hold between two moments, by the clock of the place", "derived")
PROBABILITY: Final = Source("probability", "mean and variance of sums, products and random sums of independent variables", "derived")
PERT: Final = Source(
    "Malcolm et al. (1959)",
    "Malcolm D. G., Roseboom J. H., Clark C. E., Fazar W. 1959, Application of a technique for research and development program evaluation, "
    "Operations Research 7; the beta variable whose mean is (low + 4 mode + high) / 6",
    "recomputed",
)
CLARK: Final = Source("Clark (1961)", "Clark C. E. 1961, The greatest of a finite set of random variables, Operations Research 9", "recomputed")
NORMAL_INVERSE_GAMMA: Final = Source(
    "Murphy (2007)", "Murphy K. P. 2007, Conjugate Bayesian analysis of the Gaussian distribution, technical report; normal and inverse gamma", "recomputed"
)
CONJUGATE: Final = Source("probability", "gamma prior of a Poisson rate; two levels of normal variables; both in closed form", "recomputed")
LEARNING_GRID: Final = Source(
    "Bayes' theorem", "lognormal ring times about the learning curve; the mature median in closed form, start factor and ring constant by quadrature", "derived"
)
EARNED: Final = Source("Lipke (2003)", "Lipke W. 2003, Schedule is different, The Measurable News", "recomputed")
