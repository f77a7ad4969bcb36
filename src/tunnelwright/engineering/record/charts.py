"""Control charts over rings: moving average with fading memory, cumulative sum, and the base they stand on."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.record.pressure import median_of_rows
from tunnelwright.engineering.record.sources import HAMPEL_1974, PAGE_1954, ROBERTS_1959
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series

# Makes the median absolute deviation of normal values their standard deviation.
NORMAL_MAD: Final = 1.4826
POSITIVE_SD: Final = Require("standard_deviation", lambda v: v["standard_deviation"] > 0, "must be above 0")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MovingAverageChart(Record):
    """Exponentially weighted moving average and its limits."""

    statistic: Series
    limit: Series
    first_alarm_position: FloatArray


def first_position(alarm: NDArray[np.bool_], known: NDArray[np.bool_], none: float) -> FloatArray:
    """Return the place of the first alarm along the last axis, counted from 1; ``none`` where there is none, NaN where nothing is known."""
    found = np.where(alarm.any(axis=-1), np.argmax(alarm, axis=-1) + 1.0, none) if alarm.shape[-1] else np.full(alarm.shape[:-1], none)
    return np.where(known, found, np.nan)


@method(
    "record.trend.ewma",
    found_by={
        "statistic": Algorithm(
            "lam times the value plus (1 - lam) times the statistic before, starting at the target",
            invariants={"last value has the weight lam": lambda v: _has_weight(v["statistic"], v["value"], v["smoothing_factor"])},
        ),
        "limit": Algorithm(
            "L s sqrt(lam / (2 - lam) (1 - (1 - lam)^(2 j))) for the j-th value",
            invariants={"starts at L s lam": lambda v: np.allclose(v["limit"][..., 0], v["limit_factor"] * v["standard_deviation"] * v["smoothing_factor"])},
        ),
        "first_alarm_position": Algorithm("first value whose statistic lies further from the target than the limit, counted from 1"),
    },
    requires=(POSITIVE_SD, Require("smoothing_factor", lambda v: v["smoothing_factor"] > 0, "must be above 0")),
    kind="identity",
    source=ROBERTS_1959,
)
def ewma_chart(value: Series, target: Number, standard_deviation: Number, smoothing_factor: Number = 0.2, limit_factor: Number = 2.962) -> MovingAverageChart:
    """Return the moving average of ring values that fades with age, its limits and the first alarm.

    Parameters
    ----------
    value : one per ring, in order; a missing one leaves the statistic as it was.
    target : where the values should lie.
    standard_deviation : of one value when all is well.
    smoothing_factor : weight of the newest value.
    limit_factor : half width of the limits in standard deviations of the statistic.

    Notes
    -----
    The limits widen from ring to ring towards L s sqrt(lam / (2 - lam)), because the first values know little.
    """
    centre, sd, lam, factor = np.broadcast_arrays(*(np.asarray(one, dtype=np.float64) for one in (target, standard_deviation, smoothing_factor, limit_factor)))
    position = np.arange(1, len(value) + 1)
    statistic = np.empty((*centre.shape, len(value)))
    current = np.array(centre)
    for place, one in enumerate(value):
        current = current if np.isnan(one) else lam * one + (1 - lam) * current
        statistic[..., place] = current
    lam, sd, factor = lam[..., None], sd[..., None], factor[..., None]
    limit = factor * sd * np.sqrt(lam / (2 - lam) * (1 - (1 - lam) ** (2 * position)))
    alarm = np.abs(statistic - centre[..., None]) > limit
    known = np.isfinite(centre + sd[..., 0] + lam[..., 0] + factor[..., 0])
    return MovingAverageChart(statistic=statistic, limit=limit, first_alarm_position=first_position(alarm, known, np.nan))


def _has_weight(statistic: FloatArray, value: FloatArray, weight: Number) -> bool:
    expected = np.asarray(weight)[..., None] * value[1:] + (1 - np.asarray(weight)[..., None]) * statistic[..., :-1]
    return bool(np.allclose(np.where(np.isnan(value[1:]), statistic[..., 1:], expected), statistic[..., 1:], equal_nan=True))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CumulativeSumChart(Record):
    """Cumulative sums of what lies beyond the reference, upwards and downwards, both positive, in standard deviations."""

    upper_sum: Series
    lower_sum: Series
    first_alarm_position: FloatArray


@method(
    "record.trend.cusum",
    found_by={
        "upper_sum": Algorithm(
            "max(0, sum before + x - k) with x in standard deviations from the target",
            invariants={"never negative": lambda v: not np.any(v["upper_sum"] < 0)},
        ),
        "lower_sum": Algorithm("max(0, sum before - x - k)", invariants={"never negative": lambda v: not np.any(v["lower_sum"] < 0)}),
        "first_alarm_position": Algorithm("first value at which one of the sums is strictly above h, counted from 1"),
    },
    valid={"decision_limit": Range(2.0, 12.0, "outside it a chart alarms every few rings or hardly ever")},
    requires=(POSITIVE_SD,),
    kind="identity",
    source=PAGE_1954,
)
def cusum_chart(value: Series, target: Number, standard_deviation: Number, reference_shift: Number = 0.5, decision_limit: Number = 5.0) -> CumulativeSumChart:
    """Return the two-sided cumulative sums of ring values and the first alarm.

    Parameters
    ----------
    value : one per ring, in order; a missing one leaves the sums as they were.
    target : where the values should lie.
    standard_deviation : of one value when all is well.
    reference_shift : half of the shift that should be found soon, in standard deviations.
    decision_limit : a sum strictly above it is an alarm, in standard deviations.

    Notes
    -----
    The false-alarm rate in force is that of ``record.trend.cusum_run_length`` and holds for independent values only.
    """
    numbers = (np.asarray(one, dtype=np.float64) for one in (target, standard_deviation, reference_shift, decision_limit))
    centre, sd, reference, limit = np.broadcast_arrays(*numbers)
    upper, lower = np.zeros((*centre.shape, len(value))), np.zeros((*centre.shape, len(value)))
    high, low = np.zeros(centre.shape), np.zeros(centre.shape)
    for place, one in enumerate(value):
        if not np.isnan(one):
            deviation = (one - centre) / sd
            high, low = np.maximum(0.0, high + deviation - reference), np.maximum(0.0, low - deviation - reference)
        upper[..., place], lower[..., place] = high, low
    alarm = (upper > limit[..., None]) | (lower > limit[..., None])
    known = np.isfinite(centre + sd + reference + limit)
    return CumulativeSumChart(upper_sum=upper, lower_sum=lower, first_alarm_position=first_position(alarm, known, np.nan))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RobustBase(Record):
    """Middle and spread that single wrong values do not move."""

    median: FloatArray
    standard_deviation: FloatArray


@method(
    "record.trend.robust_base",
    found_by={
        "median": Algorithm(
            "middle value", invariants={"half lies on either side": lambda v: np.nansum(v["value"] < v["median"]) <= np.sum(np.isfinite(v["value"])) / 2}
        ),
        "standard_deviation": Algorithm(
            "1.4826 times the median distance from the median", invariants={"not negative": lambda v: not np.any(v["standard_deviation"] < 0)}
        ),
    },
    kind="mean",
    source=HAMPEL_1974,
)
def robust_base(value: Series) -> RobustBase:
    """Return median and robust standard deviation of undisturbed rings, the base of a chart.

    Parameters
    ----------
    value : one per ring, at least ten, better twenty; missing ones are left out.
    """
    middle = median_of_rows(value)
    return RobustBase(median=middle, standard_deviation=NORMAL_MAD * median_of_rows(np.abs(value - middle[..., None])))
