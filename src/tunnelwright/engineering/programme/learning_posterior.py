"""The learning curve as the rings so far show it.

ln T_k = ln T_mature + ln(1 + (a - 1) exp(-k / n_c)) + e_k. Prior: T_mature lognormal, a and n_c even between their limits, e_k normal. For each a and
n_c the mature median is lognormal again; what remains are integrals over a and n_c, by Gauss's rule on a window that closes in on the posterior.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy import special

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.programme.sources import LEARNING_GRID
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

_NODES: Final = 48
_MOST_ROUNDS: Final = 12
# Logarithm of the share of the peak from which on a node counts as empty.
_NOTHING: Final = -32.0
_BISECTIONS: Final = 80


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LearningPosterior(Record):
    """What the rings so far say of the curve, and of the time that the others will take, in the unit of the ring times."""

    mature_mean: FloatArray
    mature_sd: FloatArray
    start_factor_mean: FloatArray
    ring_constant_mean: FloatArray
    remaining_p10: FloatArray
    remaining_p50: FloatArray
    remaining_p90: FloatArray


def _quantiles_in_order(values: Values) -> Any:
    low, middle, high = (np.asarray(values[f"remaining_p{share}"]) for share in (10, 50, 90))
    return ~((low > middle) | (middle > high))


def _inside(name: str) -> Any:
    def check(values: Values) -> Any:
        mean = np.asarray(values[f"{name}_mean"])
        return np.isnan(mean) | ((mean >= values[f"{name}_low"] * (1 - 1e-9)) & (mean <= values[f"{name}_high"] * (1 + 1e-9)))

    return check


def _stands_out(values: Values) -> Any:
    """Say whether a ring lies more than four spreads from the curve of the posterior means."""
    times = np.asarray(values["ring_time"], dtype=np.float64)
    excess = np.multiply.outer(np.asarray(values["start_factor_mean"]) - 1, np.ones(times.size))
    curve = 1 + excess * np.exp(-np.arange(times.size) / np.asarray(values["ring_constant_mean"])[..., None])
    misfit = np.log(times) - np.log(np.asarray(values["mature_mean"])[..., None] * curve)
    return np.any(np.abs(misfit) > 4 * np.asarray(values["log_sd"])[..., None])


@method(
    "programme.forecast.learning_posterior",
    found_by={
        "mature_mean": Algorithm("mean of the mature median, lognormal for each a and n_c, over both by quadrature", "T_mat"),
        "mature_sd": Algorithm("its standard deviation", "s_mat"),
        "start_factor_mean": Algorithm("mean of a over the posterior", "a", {"between its limits": _inside("start_factor")}),
        "ring_constant_mean": Algorithm("mean of n_c over the posterior", "n_c", {"between its limits": _inside("ring_constant")}),
        "remaining_p10": Algorithm("time of all median rings ahead that a tenth stays below", "R_10", {"in order": _quantiles_in_order}),
        "remaining_p50": Algorithm("the same for a half", "R_50"),
        "remaining_p90": Algorithm("the same for 90 %", "R_90"),
    },
    possible={
        "ring_time": (0.0, 1e9),
        "log_sd": (1e-3, 5.0),
        "prior_mature_median": (1e-9, 1e9),
        "prior_mature_log_sd": (1e-6, 5.0),
        "start_factor_low": (0.1, 100.0),
        "start_factor_high": (0.1, 100.0),
        "ring_constant_low": (0.1, 1e5),
        "ring_constant_high": (0.1, 1e5),
        "last_ring_count": (1.0, 1e6),
    },
    requires=(
        Require("ring_time", lambda v: ~np.any(v["ring_time"] <= 0), "must be above 0", "leave a ring without a time empty"),
        Require("start_factor_high", lambda v: ~(v["start_factor_high"] < v["start_factor_low"]), "must not be below start_factor_low"),
        Require("ring_constant_high", lambda v: ~(v["ring_constant_high"] < v["ring_constant_low"]), "must not be below ring_constant_low"),
        Require("last_ring_count", lambda v: ~(np.mod(v["last_ring_count"], 1) > 0), "must be a whole number"),
    ),
    remarks=(
        Remark(_stands_out, "a ring lies more than four spreads off the curve: book its stop apart, it draws all others with it"),
        Remark(lambda v: np.asarray(v["last_ring_count"]) <= np.size(v["ring_time"]), "all rings are recorded: nothing remains"),
    ),
    kind="mean",
    source=LEARNING_GRID,
)
def learning_posterior(
    ring_time: Series,
    log_sd: Number,
    prior_mature_median: Number,
    prior_mature_log_sd: Number,
    start_factor_low: Number,
    start_factor_high: Number,
    ring_constant_low: Number,
    ring_constant_high: Number,
    last_ring_count: Number,
) -> LearningPosterior:
    """Return the learning curve and the time ahead as plan and recorded rings together say.

    Parameters
    ----------
    ring_time : from the first ring on, in any unit, booked stops left out; a ring without a number does not count.
    log_sd : spread of the logarithm from ring to ring.
    prior_mature_median : of a ring when learning is over, as planned.
    prior_mature_log_sd : spread of its logarithm.
    start_factor_low, start_factor_high : limits of the factor of the first ring.
    ring_constant_low, ring_constant_high : limits of the rings after which the excess has fallen to 1/e.
    last_ring_count : rings of the whole drive.

    Notes
    -----
    The time ahead is that of the median curve: the spread of single rings about it, which averages out, is not in it.
    """

    def at_place(*numbers: float) -> tuple[float, ...]:
        return (np.nan,) * 7 if not np.all(np.isfinite(numbers)) else _Curve(ring_time, *numbers).posterior()

    numbers = (
        log_sd, prior_mature_median, prior_mature_log_sd, start_factor_low, start_factor_high, ring_constant_low, ring_constant_high, last_ring_count,
    )  # fmt: skip
    names = tuple(LearningPosterior.__dataclass_fields__)
    return LearningPosterior(**dict(zip(names, each_place(at_place, len(names), numbers), strict=True)))


@dataclass(frozen=True, slots=True)
class _Curve:
    """One posterior on nodes in a and n_c."""

    times: FloatArray
    log_sd: float
    median: float
    median_log_sd: float
    factor_low: float
    factor_high: float
    constant_low: float
    constant_high: float
    ring_count: float

    def posterior(self) -> tuple[float, ...]:
        """Return the moments and quantiles on the window that holds the posterior."""
        window = ((self.factor_low, self.factor_high), (self.constant_low, self.constant_high))
        for _ in range(_MOST_ROUNDS):
            (factors, factor_weights), (constants, constant_weights) = (_gauss(*limits) for limits in window)
            log_density, centre, spread = self._at_nodes(factors, constants)
            closer = _span(window[0], factors, log_density.max(axis=1)), _span(window[1], constants, log_density.max(axis=0))
            if all(new[1] - new[0] >= 0.7 * (old[1] - old[0]) for new, old in zip(closer, window, strict=True)):
                break
            window = closer
        weight = np.exp(log_density - log_density.max()) * np.multiply.outer(factor_weights, constant_weights)
        weight /= weight.sum()
        mature = float(np.sum(weight * np.exp(centre + spread**2 / 2)))
        square = float(np.sum(weight * np.exp(2 * centre + 2 * spread**2)))
        remaining = self._remaining(weight, centre, spread, self._rings_ahead(factors, constants))
        return (
            mature, float(np.sqrt(max(0.0, square - mature**2))), float(weight.sum(axis=1) @ factors), float(weight.sum(axis=0) @ constants), *remaining,
        )  # fmt: skip

    def _at_nodes(self, factors: FloatArray, constants: FloatArray) -> tuple[FloatArray, FloatArray, float]:
        """Return the logarithm of the density at every node, and mean and spread of the logarithm of the mature median there."""
        known = np.flatnonzero(np.isfinite(self.times))
        decay = np.exp(-known / constants[:, None])
        residual = np.log(self.times[known]) - np.log1p((factors[:, None, None] - 1) * decay)
        prior_precision, precision = self.median_log_sd**-2, known.size * self.log_sd**-2
        from_prior = residual - np.log(self.median)
        # Prior and mean residual meet as two normal readings of one number; what is left is the spread about the mean residual.
        mean = from_prior.mean(axis=-1) if known.size else np.zeros((factors.size, constants.size))
        about = np.sum(np.square(from_prior - mean[..., None]), axis=-1)
        total = prior_precision + precision
        log_density = -0.5 * (about / self.log_sd**2 + np.square(mean) * prior_precision * precision / total)
        return log_density, np.log(self.median) + mean * precision / total, float(total**-0.5)

    def _rings_ahead(self, factors: FloatArray, constants: FloatArray) -> FloatArray:
        """Return the sum of the factors of all rings ahead: a geometric series."""
        first, last = float(self.times.size), max(self.ring_count, float(self.times.size))
        tail = np.exp(-first / constants) * np.expm1(-(last - first) / constants) / np.expm1(-1 / constants)
        return np.asarray((last - first) + (factors[:, None] - 1) * tail)

    def _remaining(self, weight: FloatArray, centre: FloatArray, spread: float, ahead: FloatArray) -> tuple[float, ...]:
        if self.ring_count <= self.times.size:
            return 0.0, 0.0, 0.0
        middles = centre + np.log(ahead)
        quantiles = []
        for share in (0.1, 0.5, 0.9):
            low, high = float(middles.min() - 9 * spread), float(middles.max() + 9 * spread)
            for _ in range(_BISECTIONS):
                middle = (low + high) / 2
                is_early = np.sum(weight * special.ndtr((middle - middles) / spread)) < share
                low, high = (middle, high) if is_early else (low, middle)
            quantiles.append(float(np.exp((low + high) / 2)))
        return tuple(quantiles)


def _gauss(low: float, high: float) -> tuple[FloatArray, FloatArray]:
    """Return nodes and weights of an integral mean between two limits; limits that meet leave one place."""
    nodes, weights = special.roots_legendre(_NODES)
    return (low + high) / 2 + (high - low) / 2 * nodes, weights / 2


def _span(limits: tuple[float, float], nodes: FloatArray, log_density: FloatArray) -> tuple[float, float]:
    """Return the part of a window beyond whose limits the density is nothing, one node wider to each side."""
    counts = np.flatnonzero(log_density > log_density.max() + _NOTHING)
    edges = np.concatenate([[limits[0]], nodes, [limits[1]]])
    return float(edges[counts[0]]), float(edges[counts[-1] + 2])
