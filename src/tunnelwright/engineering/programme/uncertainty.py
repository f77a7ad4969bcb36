"""Spread of sums: rings that hang together, delays by chance, and the two shapes in which a person gives a range."""

from dataclasses import dataclass

import numpy as np
from scipy import special

from tunnelwright.engineering.programme.sources import PERT, PROBABILITY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TotalVariation(Record):
    """Relative spread of a sum of rings."""

    total_variation: FloatArray


@method(
    "programme.uncertainty.sum_of_rings",
    formulas={"total_variation": Formula("c_T", "sqrt((1 + c_S^2) * c_R^2 / n_r + c_S^2)")},
    symbols={"ring_variation": "c_R", "systematic_variation": "c_S"},
    possible={"ring_count": (1.0, 1e6), "systematic_variation": (0.0, 10.0)},
    remarks=(
        Remark(
            lambda v: (v["systematic_variation"] == 0) & (v["ring_count"] > 50),
            "rings that know nothing of each other average out: a drive shares crew, ground and machine, give their common spread too",
        ),
    ),
    kind="identity",
    source=PROBABILITY,
)
def sum_of_rings(ring_count: Number, ring_variation: Number, systematic_variation: Number = 0.0) -> TotalVariation:
    """Return the relative spread of the time of all rings.

    Parameters
    ----------
    ring_count : rings in the sum.
    ring_variation : relative spread from ring to ring.
    systematic_variation : relative spread of a factor that all rings share.
    """
    shared = np.square(systematic_variation)
    return TotalVariation(total_variation=np.sqrt((1 + shared) * np.square(ring_variation) / ring_count + shared))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CompoundPoisson(Record):
    """Sum of a random number of delays."""

    total_mean_s: FloatArray
    total_sd_s: FloatArray
    probability_none: FloatArray


@method(
    "programme.uncertainty.compound_poisson",
    formulas={
        "total_mean_s": Formula("M", "n_e * m_d"),
        "total_sd_s": Formula("s_M", "m_d * sqrt(n_e * (1 + c_d^2))"),
        "probability_none": Formula("P_none", "exp(-n_e)"),
    },
    symbols={"expected_count": "n_e", "delay_mean_s": "m_d", "delay_variation": "c_d"},
    possible={"expected_count": (0.0, 1e6), "delay_mean_s": (0.0, 1e10), "delay_variation": (0.0, 20.0)},
    kind="identity",
    source=PROBABILITY,
)
def compound_poisson(expected_count: Number, delay_mean_s: Number, delay_variation: Number) -> CompoundPoisson:
    """Return mean and spread of all delays when their number is a Poisson variable.

    Parameters
    ----------
    expected_count : events expected over the stretch.
    delay_mean_s : of one event.
    delay_variation : relative spread of one event's delay.
    """
    count, delay = np.asarray(expected_count), np.asarray(delay_mean_s)
    return CompoundPoisson(total_mean_s=count * delay, total_sd_s=delay * np.sqrt(count * (1 + np.square(delay_variation))), probability_none=np.exp(-count))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PertRange(Record):
    """Moments, exponents and one quantile of a beta variable over a range."""

    mean: FloatArray
    standard_deviation: FloatArray
    alpha: FloatArray
    beta: FloatArray
    quantile: FloatArray


def _quantile_has_its_chance(values: Values) -> FloatArray:
    share = (np.asarray(values["quantile"]) - values["low"]) / (np.asarray(values["high"]) - values["low"])
    again = special.betainc(values["alpha"], values["beta"], np.clip(share, 0, 1))
    return np.asarray(np.isnan(again) | (np.abs(again - values["probability"]) < 1e-9))


@method(
    "programme.uncertainty.pert",
    formulas={
        "mean": Formula("mu", "(x_low + 4 * x_mode + x_high) / 6"),
        "standard_deviation": Formula("s", "sqrt((mu - x_low) * (x_high - mu) / 7)"),
        "alpha": Formula("alpha", "1 + 4 * (x_mode - x_low) / (x_high - x_low)"),
        "beta": Formula("beta", "1 + 4 * (x_high - x_mode) / (x_high - x_low)"),
    },
    found_by={
        "quantile": Algorithm("low + (high - low) times the inverse of the incomplete beta function", "x_p", {"has its chance": _quantile_has_its_chance})
    },
    symbols={"low": "x_low", "mode": "x_mode", "high": "x_high", "probability": "p"},
    requires=(
        Require("high", lambda v: ~(v["high"] <= v["low"]), "must be above low", "swapped?"),
        Require("mode", lambda v: ~((v["mode"] < v["low"]) | (v["mode"] > v["high"])), "must lie between low and high"),
    ),
    kind="identity",
    source=PERT,
)
def pert(low: Number, mode: Number, high: Number, probability: Number = 0.8) -> PertRange:
    """Return mean, spread and a quantile of what a person gave as lowest, most likely and highest.

    Parameters
    ----------
    low : lowest value possible.
    mode : most likely value.
    high : highest value possible.
    probability : not to exceed the quantile.
    """
    bottom, width = np.asarray(low, dtype=np.float64), np.subtract(high, low)
    mean = (bottom + 4 * np.asarray(mode) + high) / 6
    first, second = 1 + 4 * np.subtract(mode, low) / width, 1 + 4 * np.subtract(high, mode) / width
    return PertRange(
        mean=mean,
        standard_deviation=np.sqrt((mean - low) * (high - mean) / 7),
        alpha=first,
        beta=second,
        quantile=bottom + width * special.betaincinv(first, second, probability),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LognormalQuantile(Record):
    """One quantile and the mean of a lognormal variable."""

    quantile: FloatArray
    mean: FloatArray


@method(
    "programme.uncertainty.lognormal_quantile",
    formulas={"quantile": Formula("x_p", "x_50 * exp(s_ln * Phi_inverse(p))"), "mean": Formula("mu", "x_50 * exp(s_ln^2 / 2)")},
    symbols={"median": "x_50", "probability": "p"},
    possible={"median": (0.0, np.inf), "probability": (1e-12, 1 - 1e-12)},
    kind="identity",
    source=PROBABILITY,
)
def lognormal_quantile(median: Number, log_sd: Number, probability: Number) -> LognormalQuantile:
    """Return a quantile and the mean of a lognormal variable.

    Parameters
    ----------
    median : value with half of the chance below it.
    log_sd : standard deviation of the logarithm.
    probability : not to exceed the quantile.
    """
    return LognormalQuantile(quantile=median * np.exp(np.asarray(log_sd) * special.ndtri(probability)), mean=median * np.exp(np.square(log_sd) / 2))
