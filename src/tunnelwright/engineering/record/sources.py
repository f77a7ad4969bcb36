"""Sources of the methods that turn samples into rings."""

from typing import Final

from tunnelwright.vocabulary.source import Source

DEFINITION: Final = Source("definition", "arithmetic of sums over intervals between samples; follows from what the words mean", "derived")
LOG_PRACTICE: Final = Source(
    "practice of machine logs", "rules for counters, phases and ring numbers of shield logs, checked on logs whose truth was known", "recomputed"
)
LEAST_SQUARES_FREE: Final = Source(
    "Theil (1950), Sen (1968)",
    "Theil H. 1950, A rank-invariant method of linear and polynomial regression analysis, Indagationes Mathematicae 12; "
    "Sen P. K. 1968, Estimates of the regression coefficient based on Kendall's tau, J. Am. Statistical Association 63, 1379-1389",
    "recomputed",
)
ROBERTS_1959: Final = Source(
    "Roberts (1959), Lucas and Saccucci (1990)",
    "Roberts S. W. 1959, Control chart tests based on geometric moving averages, Technometrics 1, 239-250; Lucas J. M., Saccucci M. S. 1990, "
    "Exponentially weighted moving average control schemes: properties and enhancements, Technometrics 32, 1-12",
    "recomputed",
)
PAGE_1954: Final = Source(
    "Page (1954), Lucas and Crosier (1982)",
    "Page E. S. 1954, Continuous inspection schemes, Biometrika 41, 100-115; Lucas J. M., Crosier R. B. 1982, "
    "Fast initial response for CUSUM quality-control schemes, Technometrics 24, 199-205",
    "recomputed",
)
SHEWHART_1931: Final = Source("Shewhart (1931)", "Shewhart W. A. 1931, Economic control of quality of manufactured product, Van Nostrand", "recomputed")
KILLICK_2012: Final = Source(
    "Jackson et al. (2005), Killick, Fearnhead and Eckley (2012)",
    "Jackson B. et al. 2005, An algorithm for optimal partitioning of data on an interval, IEEE Signal Processing Letters 12, 105-108; "
    "Killick R., Fearnhead P., Eckley I. A. 2012, "
    "Optimal detection of changepoints with a linear computational cost, J. Am. Statistical Association 107, 1590-1598",
    "from memory",
)
HAMPEL_1974: Final = Source(
    "Hampel (1974)", "Hampel F. R. 1974, The influence curve and its role in robust estimation, J. Am. Statistical Association 69, 383-393", "recomputed"
)
