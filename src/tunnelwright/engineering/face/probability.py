"""How likely a face pressure is too low or too high: sampling, first-order reliability, and two normal limits.

Limits go in without factors: factors and probability together would count safety twice.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy import special

from tunnelwright.engineering.face import siblings, undrained, wedge
from tunnelwright.engineering.face.random_inputs import Correlations, LimitMethod, RandomInputs, RandomLimit
from tunnelwright.engineering.face.sources import MONTE_CARLO, NORMAL_LIMITS, RACKWITZ_FIESSLER_1978
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Table, TextArray, Values

# The modules whose methods give the limits; importing them puts these into the registry.
LIMIT_MODULES: Final = (siblings, undrained, wedge)
_POSSIBLE: Final = {
    "support_pressure_kpa": (-1000.0, 5000.0),
    "mean": (-1e6, 1e6),
    "coefficient_of_variation": (1e-6, 3.0),
    "correlation": (-0.999, 0.999),
}
_FACTORED: Final = Remark(
    lambda values: values["limit_method"] == "face.undrained_support.davis_lower" and values["fixed_inputs"].get("strength_factor", 1.5) != 1,
    "the strength still carries a factor: give strength_factor = 1, factors and probability together count safety twice",
)
_WIDE_NORMAL: Final = Remark(
    lambda values: (
        np.char.startswith(np.asarray(values["random_inputs"].law, dtype=np.str_), "normal") & (values["random_inputs"].coefficient_of_variation > 0.3)
    ),
    "normal law with a coefficient of variation above 0.3: values below 0 occur; take the lognormal law for strength",
)
_ITERATIONS: Final = 100
_DIFFERENCE: Final = 1e-4
_CONVERGED: Final = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledProbability(Record):
    """Share of samples in which a pressure is too low, and what the limit looks like."""

    failure_probability: FloatArray
    failure_probability_standard_error: FloatArray
    limit_mean_kpa: FloatArray
    limit_standard_deviation_kpa: FloatArray
    limit_quantile_95_kpa: FloatArray


def _is_share(values: Values) -> Any:
    share = np.asarray(values["failure_probability"])
    return np.isnan(share) | ((share >= 0) & (share <= 1))


@method(
    "face.window_probability.monte_carlo",
    found_by={
        "failure_probability": Algorithm("share of samples in which the limit is greater than the pressure", "P_f", {"it is a share": _is_share}),
        "limit_mean_kpa": Algorithm("mean of the samples", "L_mean"),
        "limit_standard_deviation_kpa": Algorithm("standard deviation of the samples", "L_sd"),
        "limit_quantile_95_kpa": Algorithm("value that 95 % of the samples stay below", "L_95"),
    },
    formulas={"failure_probability_standard_error": Formula("s_P", "sqrt(P_f * (1 - P_f) / n)")},
    symbols={"sample_count": "n", "failure_probability": "P_f", "failure_probability_standard_error": "s_P", "support_pressure_kpa": "p"},
    possible=_POSSIBLE,
    requires=(Require("sample_count", lambda values: values["sample_count"] >= 2, "must be 2 or more"),),
    remarks=(
        _FACTORED,
        _WIDE_NORMAL,
        Remark(
            lambda values: np.multiply(values["failure_probability"], values["sample_count"]) < 10,
            "fewer than ten samples fail: the probability is hardly known; take more samples or the first-order method",
        ),
    ),
    kind="mean",
    source=MONTE_CARLO,
    dimensional=True,
)
def monte_carlo(
    limit_method: LimitMethod,
    fixed_inputs: Mapping[str, Any],
    random_inputs: RandomInputs,
    support_pressure_kpa: Number,
    correlations: Correlations | None = None,
    sample_count: Count = 10000,
    seed: Count = 1,
) -> SampledProbability:
    """Return how often a support pressure is less than the least one when the ground is sampled.

    Parameters
    ----------
    limit_method : method whose raw value is the least pressure.
    fixed_inputs : its inputs that are not random, by name.
    random_inputs : its inputs that are, with law, mean and coefficient of variation.
    support_pressure_kpa : of the kind that the method gives.
    correlations : between the standard normals behind pairs of inputs.
    sample_count : number of samples.
    seed : of the random streams; each input has its own, so that one more input does not change the others.

    Raises
    ------
    InputRefused
        with the Faults of the inner inputs.
    """
    limit = RandomLimit.read(limit_method, fixed_inputs, random_inputs, correlations)
    streams = np.random.SeedSequence(seed).spawn(len(limit.names))
    normals = np.stack([np.random.default_rng(stream).standard_normal(sample_count) for stream in streams], axis=1)
    samples = np.sort(limit.limit_kpa(normals))
    pressure = np.asarray(support_pressure_kpa, dtype=np.float64)
    share = np.where(np.isnan(pressure), np.nan, (sample_count - np.searchsorted(samples, pressure, side="right")) / sample_count)
    return SampledProbability(
        failure_probability=share,
        failure_probability_standard_error=np.sqrt(share * (1 - share) / sample_count),
        limit_mean_kpa=np.asarray(np.mean(samples)),
        limit_standard_deviation_kpa=np.asarray(np.std(samples, ddof=1)),
        limit_quantile_95_kpa=np.asarray(np.quantile(samples, 0.95)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Importance(Table):
    """Share of each independent standard normal variable in the variance at the design point, in the order of the inputs."""

    name: TextArray
    alpha_squared: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reliability(Record):
    """Distance of the likeliest failure from the mean, in standard deviations."""

    reliability_index: FloatArray
    failure_probability: FloatArray
    importance: Importance


def _sums_to_one(values: Values) -> Any:
    total = np.sum(values["importance"].alpha_squared, axis=-1)
    return np.isnan(total) | np.isclose(total, 1.0)


@method(
    "face.window_probability.form",
    formulas={"failure_probability": Formula("P_f", "Phi(-beta)")},
    found_by={
        "reliability_index": Algorithm(
            "nearest point to the origin of standard normal space at which pressure and limit are equal, negative if the mean fails", "beta"
        ),
        "importance": Algorithm("squared direction cosines of that point", "", {"shares sum to 1": _sums_to_one}),
    },
    symbols={"reliability_index": "beta", "failure_probability": "P_f", "support_pressure_kpa": "p"},
    possible=_POSSIBLE,
    remarks=(
        _FACTORED,
        _WIDE_NORMAL,
        Remark(lambda values: np.isnan(values["reliability_index"]), "the search for the design point did not settle: use samples"),
        Remark(lambda values: values["reliability_index"] < 3, "reliability index below 3, a usual screening value"),
    ),
    kind="mean",
    source=RACKWITZ_FIESSLER_1978,
    dimensional=True,
)
def first_order(
    limit_method: LimitMethod,
    fixed_inputs: Mapping[str, Any],
    random_inputs: RandomInputs,
    support_pressure_kpa: Number,
    correlations: Correlations | None = None,
) -> Reliability:
    """Return the first-order reliability of a support pressure against the least one.

    Parameters
    ----------
    limit_method : method whose raw value is the least pressure.
    fixed_inputs : its inputs that are not random, by name.
    random_inputs : its inputs that are, with law, mean and coefficient of variation.
    support_pressure_kpa : of the kind that the method gives.
    correlations : between the standard normals behind pairs of inputs.

    Raises
    ------
    InputRefused
        with the Faults of the inner inputs.
    """
    limit = RandomLimit.read(limit_method, fixed_inputs, random_inputs, correlations)
    pressure = np.asarray(support_pressure_kpa, dtype=np.float64)
    found = [_design_point(limit, float(one)) for one in pressure.reshape(-1)]
    index = np.array([beta for beta, _ in found]).reshape(pressure.shape)
    shares = np.array([alpha for _, alpha in found]).reshape(*pressure.shape, len(limit.names))
    return Reliability(
        reliability_index=index, failure_probability=special.ndtr(-index), importance=Importance(name=np.array(random_inputs.name), alpha_squared=shares)
    )


def _design_point(limit: RandomLimit, pressure: float) -> tuple[float, FloatArray]:
    """Return reliability index and squared direction cosines; NaN where the search does not settle.

    The step of Hasofer, Lind, Rackwitz and Fiessler, halved as long as it does not lower a merit of distance and misfit.
    """
    nothing = np.nan, np.full(len(limit.names), np.nan)
    point = np.zeros(len(limit.names))
    margin, slope = _margin_with_slope(limit, pressure, point)
    sign = np.sign(margin) or 1.0
    for _ in range(_ITERATIONS):
        steepness = float(np.linalg.norm(slope))
        if not (np.isfinite(steepness) and steepness > 0):
            return nothing
        goal = slope * (slope @ point - margin) / steepness**2
        if np.linalg.norm(goal - point) < _CONVERGED:
            return sign * float(np.linalg.norm(goal)), np.square(slope / steepness)
        point = _step(limit, pressure, point, goal - point, margin, steepness)
        margin, slope = _margin_with_slope(limit, pressure, point)
    return nothing


def _step(limit: RandomLimit, pressure: float, point: FloatArray, direction: FloatArray, margin: float, steepness: float) -> FloatArray:
    weight = 2 * float(np.linalg.norm(point)) / steepness + 10 / steepness
    shares = 0.5 ** np.arange(8)
    trials = point + shares[:, None] * direction
    merits = 0.5 * np.sum(np.square(trials), axis=1) + weight * np.abs(pressure - limit.limit_kpa(trials))
    lower = np.flatnonzero(merits < 0.5 * point @ point + weight * abs(margin))
    return np.asarray(trials[lower[0] if lower.size else -1])


def _margin_with_slope(limit: RandomLimit, pressure: float, point: FloatArray) -> tuple[float, FloatArray]:
    """Return pressure less limit and its gradient by central differences."""
    moves = _DIFFERENCE * np.eye(len(point))
    values = pressure - limit.limit_kpa(np.concatenate([point[None, :], point + moves, point - moves]))
    return float(values[0]), (values[1 : len(point) + 1] - values[len(point) + 1 :]) / (2 * _DIFFERENCE)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowProbability(Record):
    """Probabilities of a pressure against two uncertain limits."""

    probability_below_lower: FloatArray
    probability_above_upper: FloatArray
    probability_in_window: FloatArray


def _shares_add_up(values: Values) -> Any:
    inside, below, above = (np.asarray(values[name]) for name in ("probability_in_window", "probability_below_lower", "probability_above_upper"))
    return np.isnan(inside + below + above) | ((inside + below + above >= 1 - 1e-9) & (inside <= 1 - np.maximum(below, above) + 1e-9))


@method(
    "face.window_probability.normal_limits",
    formulas={
        "probability_below_lower": Formula("P_low", "Phi((mu_L - p) / s_L)"),
        "probability_above_upper": Formula("P_high", "Phi((p - mu_U) / s_U)"),
    },
    found_by={
        "probability_in_window": Algorithm(
            "share with the lower limit at or below and the upper limit at or above the pressure, from the joint normal distribution of both",
            "P_in",
            {"shares add up to at least 1": _shares_add_up},
        )
    },
    symbols={
        "lower_mean_kpa": "mu_L",
        "lower_standard_deviation_kpa": "s_L",
        "upper_mean_kpa": "mu_U",
        "upper_standard_deviation_kpa": "s_U",
        "correlation": "rho",
        "face_pressure_crown_kpa": "p",
        "probability_below_lower": "P_low",
        "probability_above_upper": "P_high",
    },
    possible={
        "lower_mean_kpa": (-1000.0, 5000.0),
        "upper_mean_kpa": (-1000.0, 10000.0),
        "lower_standard_deviation_kpa": (1e-6, 1000.0),
        "upper_standard_deviation_kpa": (1e-6, 1000.0),
        "correlation": (-0.999, 0.999),
        "face_pressure_crown_kpa": (-1000.0, 5000.0),
    },
    remarks=(Remark(lambda values: np.asarray(values["lower_mean_kpa"]) > np.asarray(values["upper_mean_kpa"]), "the mean limits leave no window"),),
    kind="identity",
    source=NORMAL_LIMITS,
)
def normal_limits(
    lower_mean_kpa: Number,
    lower_standard_deviation_kpa: Number,
    upper_mean_kpa: Number,
    upper_standard_deviation_kpa: Number,
    face_pressure_crown_kpa: Number,
    correlation: Number = 0.0,
) -> WindowProbability:
    """Return the probabilities that a face pressure is below, above and within two limits that are jointly normal.

    Parameters
    ----------
    lower_mean_kpa, lower_standard_deviation_kpa : of the true least pressure, without factors.
    upper_mean_kpa, upper_standard_deviation_kpa : of the true greatest pressure.
    face_pressure_crown_kpa : pressure looked at, at the level of the limits.
    correlation : of both limits; weight of the ground and water drive both.
    """
    above_lower = np.divide(np.subtract(face_pressure_crown_kpa, lower_mean_kpa), lower_standard_deviation_kpa)
    above_upper = np.divide(np.subtract(face_pressure_crown_kpa, upper_mean_kpa), upper_standard_deviation_kpa)
    both = _both_below(above_lower, above_upper, np.asarray(correlation, dtype=np.float64))
    return WindowProbability(
        probability_below_lower=special.ndtr(-above_lower),
        probability_above_upper=special.ndtr(above_upper),
        probability_in_window=np.clip(special.ndtr(above_lower) - both, 0.0, 1.0),
    )


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)


def _both_below(first: FloatArray, second: FloatArray, correlation: FloatArray) -> FloatArray:
    """Return the probability that two standard normals are both below their values.

    The derivative by the correlation is the joint density; integrated from 0 over the arcsine of the correlation it is smooth.
    """
    half = np.arcsin(correlation)[..., None] / 2
    sine = np.sin(half * (1 + _NODES))
    one, other = first[..., None], second[..., None]
    density = np.exp(-(one**2 + other**2 - 2 * one * other * sine) / (2 * (1 - sine**2)))
    return np.asarray(special.ndtr(first) * special.ndtr(second) + np.sum(density * _WEIGHTS * half, axis=-1) / (2 * np.pi))
