"""Spread of ground values: averaging over a length, adding up sources of spread, the lognormal law."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import erf, ndtri

from tunnelwright.engineering.ground.sources import LOGNORMAL_LAW, PHOON_KULHAWY_1999, VANMARCKE_1977
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

# Below these ratios of length to scale the closed form loses digits; the series does not.
_SHORT_MARKOV: Final = 1e-3
_SHORT_SQUARED: Final = 1e-2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VarianceReduction(Record):
    """Factor by which averaging over a length reduces the variance."""

    variance_reduction: FloatArray


_LENGTHS = {"averaging_length_m": "L", "fluctuation_scale_m": "theta"}
_POSSIBLE = {"fluctuation_scale_m": (1e-6, 1e4)}


@method(
    "ground.variance_reduction.markov",
    formulas={
        "variance_reduction": Formula(
            "Gamma_sq",
            "0.5 * (theta / L)^2 * (2 * L / theta - 1 + exp(-2 * L / theta)) if L > 0.001 * theta else 1 - 2 * L / (3 * theta) + (2 * L / theta)^2 / 12",
        )
    },
    symbols=_LENGTHS,
    possible=_POSSIBLE,
    kind="mean",
    source=VANMARCKE_1977,
)
def variance_reduction_markov(averaging_length_m: Number, fluctuation_scale_m: Number) -> VarianceReduction:
    """Return the variance of a mean over that of a point, for the correlation exp(-2 t / theta).

    Parameters
    ----------
    averaging_length_m : over which the ground averages out.
    fluctuation_scale_m : theta, distance within which values hang together.
    """
    ratio = np.divide(averaging_length_m, fluctuation_scale_m)
    is_long = ratio > _SHORT_MARKOV
    twice = 2 * np.where(is_long, ratio, 1.0)
    long = 2 / twice**2 * (twice - 1 + np.exp(-twice))
    return VarianceReduction(variance_reduction=np.where(is_long, long, 1 - 2 * ratio / 3 + (2 * ratio) ** 2 / 12))


@method(
    "ground.variance_reduction.squared_exponential",
    formulas={
        "variance_reduction": Formula(
            "Gamma_sq",
            "theta / L * erf(sqrt(pi) * L / theta) - theta^2 / (pi * L^2) * (1 - exp(-pi * L^2 / theta^2)) if L > 0.01 * theta "
            "else 1 - pi * (L / theta)^2 / 6 + pi^2 * (L / theta)^4 / 30",
        )
    },
    symbols=_LENGTHS,
    possible=_POSSIBLE,
    kind="mean",
    source=VANMARCKE_1977,
)
def variance_reduction_squared_exponential(averaging_length_m: Number, fluctuation_scale_m: Number) -> VarianceReduction:
    """Return the variance of a mean over that of a point, for the correlation exp(-pi t^2 / theta^2).

    Parameters
    ----------
    averaging_length_m : over which the ground averages out.
    fluctuation_scale_m : theta, distance within which values hang together.
    """
    ratio = np.divide(averaging_length_m, fluctuation_scale_m)
    is_long = ratio > _SHORT_SQUARED
    held = np.where(is_long, ratio, 1.0)
    long = erf(np.sqrt(np.pi) * held) / held - (1 - np.exp(-np.pi * held**2)) / (np.pi * held**2)
    return VarianceReduction(variance_reduction=np.where(is_long, long, 1 - np.pi * ratio**2 / 6 + np.pi**2 * ratio**4 / 30))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TotalSpread(Record):
    """Coefficient of variation of a design property."""

    coefficient_of_variation: FloatArray


@method(
    "ground.total_spread.phoon_kulhawy_1999",
    formulas={"coefficient_of_variation": Formula("V_x", "sqrt(Gamma_sq * V_i^2 + V_m^2 + V_t^2)")},
    symbols={"inherent_variation": "V_i", "measurement_variation": "V_m", "transformation_variation": "V_t"},
    possible={"inherent_variation": (0.0, 10.0), "measurement_variation": (0.0, 10.0), "transformation_variation": (0.0, 10.0)},
    kind="mean",
    source=PHOON_KULHAWY_1999,
)
def total_spread(
    inherent_variation: Number, variance_reduction: Number = 1.0, measurement_variation: Number = 0.10, transformation_variation: Number = 0.0
) -> TotalSpread:
    """Return the spread of a design property from its three sources, of which the inherent one averages out.

    Parameters
    ----------
    inherent_variation : of the ground itself, as a ratio.
    variance_reduction : by averaging, product over the axes.
    measurement_variation : of the test.
    transformation_variation : of a correlation, 0 for a direct measurement.
    """
    squares = variance_reduction * np.square(inherent_variation) + np.square(measurement_variation) + np.square(transformation_variation)
    return TotalSpread(coefficient_of_variation=np.sqrt(squares))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lognormal(Record):
    """A lognormal law by the moments of its logarithm."""

    log_mean: FloatArray
    log_standard_deviation: FloatArray
    median: FloatArray
    quantile: FloatArray


@method(
    "ground.lognormal.mean_cov",
    formulas={
        "log_mean": Formula("mu_ln", "ln(m) - s_ln^2 / 2"),
        "log_standard_deviation": Formula("s_ln", "sqrt(ln(1 + V_x^2))"),
        "median": Formula("x_50", "exp(mu_ln)"),
        "quantile": Formula("x_p", "exp(mu_ln + s_ln * Phi_inverse(P))"),
    },
    symbols={"mean": "m", "probability": "P"},
    possible={"mean": (1e-300, 1e300)},
    kind="identity",
    source=LOGNORMAL_LAW,
)
def lognormal(mean: Number, coefficient_of_variation: Number, probability: Number = 0.05) -> Lognormal:
    """Return a lognormal law from its mean and spread.

    Parameters
    ----------
    mean : of the variable itself, in any unit.
    coefficient_of_variation : standard deviation over mean.
    probability : of the quantile.
    """
    log_standard_deviation = np.sqrt(np.log1p(np.square(coefficient_of_variation)))
    log_mean = np.log(mean) - log_standard_deviation**2 / 2
    return Lognormal(
        log_mean=log_mean,
        log_standard_deviation=log_standard_deviation,
        median=np.exp(log_mean),
        quantile=np.exp(log_mean + log_standard_deviation * ndtri(probability)),
    )
