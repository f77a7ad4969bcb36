"""Stroke, means, percentiles and times outside limits: everything that is weighted by the duration or the stroke of an interval.

An interval reaches from one sample to the next and carries the label of its end. Its value is the mean of its two ends.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.record.counter import times_in_order
from tunnelwright.engineering.record.sources import DEFINITION
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table

MM_S_PER_M_MIN: Final = 60000.0
ADVANCE_RATE: Final = Formula("v", "60000 * x_s / t_push")
_STROKE: Final = Algorithm(
    "over each run of advancing intervals, what the extension gains over its running maximum in that run; rises at rest never count",
    invariants={
        "not negative": lambda v: v["stroke_m"] >= 0,
        "not more than the extension ever spans, run by run": lambda v: _stroke_is_bounded(v["samples"], v["stroke_m"]),
    },
)
_PUSH_TIME: Final = Algorithm(
    "sum of the advancing intervals", invariants={"at most the whole time": lambda v: v["push_time_s"] <= np.ptp(v["samples"].time_s) + 1e-9}
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrokeSamples(Table):
    """Extension of the rams; advancing says whether the interval that ends here advanced."""

    time_s: FloatArray
    ram_extension_m: FloatArray
    advancing: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ValueSamples(Table):
    """A level that is to be averaged, with extension and label of the interval that ends there."""

    time_s: FloatArray
    ram_extension_m: FloatArray
    value: FloatArray
    advancing: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stroke(Record):
    """Stroke of a push."""

    stroke_m: FloatArray
    push_time_s: FloatArray
    advance_rate_mm_min: FloatArray


def runs_of(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last place of every run of true flags."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(first), int(beyond) - 1) for first, beyond in zip(edges[::2], edges[1::2], strict=True)]


def run_strokes_m(ram_extension_m: FloatArray, advancing: NDArray[np.bool_]) -> FloatArray:
    """Return the stroke of every interval; ``advancing`` has one entry per interval, one fewer than samples.

    Notes
    -----
    The running maximum starts with the sample at which the run starts, so noise is not booked as stroke again and again.
    """
    strokes_m = np.zeros(len(advancing))
    for first, last in runs_of(advancing):
        strokes_m[first : last + 1] = np.diff(np.maximum.accumulate(ram_extension_m[first : last + 2]))
    return strokes_m


def is_true(flag: FloatArray) -> NDArray[np.bool_]:
    """Return a column of zeros and ones as truth; missing is false."""
    return np.asarray(np.nan_to_num(flag) != 0)


def _stroke_is_bounded(samples: StrokeSamples | ValueSamples, stroke_m: FloatArray) -> bool:
    extension_m = samples.ram_extension_m
    runs = len(runs_of(is_true(samples.advancing)[1:]))
    return bool(np.all(stroke_m <= runs * np.ptp(extension_m[np.isfinite(extension_m)]) + 1e-12))


@method(
    "record.stroke.run_maximum",
    formulas={"advance_rate_mm_min": ADVANCE_RATE},
    found_by={"stroke_m": _STROKE, "push_time_s": _PUSH_TIME},
    requires=(times_in_order("samples"),),
    kind="identity",
    source=DEFINITION,
)
def stroke_run_maximum(samples: StrokeSamples) -> Stroke:
    """Return the stroke of a push from noisy ram extensions.

    Parameters
    ----------
    samples : time, extension and whether the interval ending there advanced, in order of time; rows without an extension are passed over.

    Notes
    -----
    Adding up every positive difference books noise as stroke: 1 mm of noise at one sample a second and 40 mm/min adds some 40 per cent.
    """

    def of_push(time_s: FloatArray, extension_m: FloatArray, advancing: FloatArray) -> tuple[float, float]:
        present = np.isfinite(extension_m)
        moving = is_true(advancing[present])[1:]
        return float(run_strokes_m(extension_m[present], moving).sum()), float(np.diff(time_s[present])[moving].sum())

    stroke_m, push_time_s = each_place(of_push, 2, lists=(samples.time_s, samples.ram_extension_m, samples.advancing))
    return Stroke(stroke_m=stroke_m, push_time_s=push_time_s, advance_rate_mm_min=_rate_mm_min(stroke_m, push_time_s))


def _rate_mm_min(stroke_m: FloatArray, push_time_s: FloatArray) -> FloatArray:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(MM_S_PER_M_MIN * stroke_m / push_time_s)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightedMeans(Record):
    """Means of a level over the advancing part of a push."""

    time_mean: FloatArray
    stroke_mean: FloatArray
    stroke_m: FloatArray
    push_time_s: FloatArray
    advance_rate_mm_min: FloatArray


_BETWEEN: Final = {
    "between the least and the greatest value": lambda v: _mean_is_inside(v["samples"], v["time_mean"]) and _mean_is_inside(v["samples"], v["stroke_mean"])
}


def _mean_is_inside(samples: ValueSamples, mean: FloatArray) -> bool:
    value = samples.value
    slack = 1e-9 * (1 + np.nanmax(np.abs(value)))
    return bool(np.all(np.isnan(mean) | ((mean >= np.nanmin(value) - slack) & (mean <= np.nanmax(value) + slack))))


@method(
    "record.mean.weighted",
    formulas={"advance_rate_mm_min": ADVANCE_RATE},
    found_by={
        "time_mean": Algorithm("sum of interval value times duration over the sum of durations, advancing intervals only", invariants=_BETWEEN),
        "stroke_mean": Algorithm("sum of interval value times stroke over the sum of strokes, advancing intervals only"),
        "stroke_m": _STROKE,
        "push_time_s": _PUSH_TIME,
    },
    requires=(times_in_order("samples"),),
    kind="identity",
    source=DEFINITION,
)
def mean_weighted(samples: ValueSamples) -> WeightedMeans:
    """Return the mean of a level over a push, weighted by duration and by stroke.

    Parameters
    ----------
    samples : time, extension, value and whether the interval ending there advanced, in order of time; rows with a missing value are passed over.

    Notes
    -----
    What is compared with the ground (thrust, torque) is weighted by stroke: each millimetre of ground counts once. The ring's advance
    rate is stroke over net push time, which is the stroke-weighted harmonic mean of the speed.
    """

    def of_push(time_s: FloatArray, extension_m: FloatArray, value: FloatArray, advancing: FloatArray) -> tuple[float, float, float, float]:
        present = np.isfinite(extension_m) & np.isfinite(value)
        moving = is_true(advancing[present])[1:]
        level = (value[present][1:] + value[present][:-1]) / 2
        duration_s = np.where(moving, np.diff(time_s[present]), 0.0)
        strokes_m = run_strokes_m(extension_m[present], moving)
        return _mean(level, duration_s), _mean(level, strokes_m), float(strokes_m.sum()), float(duration_s.sum())

    columns = (samples.time_s, samples.ram_extension_m, samples.value, samples.advancing)
    time_mean, stroke_mean, stroke_m, push_time_s = each_place(of_push, 4, lists=columns)
    return WeightedMeans(
        time_mean=time_mean, stroke_mean=stroke_mean, stroke_m=stroke_m, push_time_s=push_time_s, advance_rate_mm_min=_rate_mm_min(stroke_m, push_time_s)
    )


def _mean(level: FloatArray, weight: FloatArray) -> float:
    total = float(weight.sum())
    return float(np.sum(level * weight)) / total if total > 0 else math.nan


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightedSamples(Table):
    """Values and how much each counts."""

    value: FloatArray
    weight: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightedPercentile(Record):
    """A percentile of the step distribution."""

    percentile: FloatArray


@method(
    "record.percentile.weighted",
    found_by={
        "percentile": Algorithm(
            "smallest value up to which at least the share p of the weight lies; nothing is interpolated",
            invariants={
                "one of the values": lambda v: np.all(np.isin(v["percentile"], v["samples"].value)),
                "enough weight up to it": lambda v: all(
                    np.sum(v["samples"].weight[v["samples"].value <= found]) >= p * np.sum(v["samples"].weight) * (1 - 1e-9)
                    for found, p in zip(np.ravel(v["percentile"]), np.ravel(v["probability"]), strict=False)
                ),
            },
        )
    },
    kind="identity",
    source=DEFINITION,
)
def percentile_weighted(samples: WeightedSamples, probability: Number) -> WeightedPercentile:
    """Return a weighted percentile as the inverse of the step distribution.

    Parameters
    ----------
    samples : values and weights, usually the durations of intervals; rows with a missing value or weight are passed over.
    probability : share of the weight that must lie at or below the result.
    """

    def of_list(probability: float, value: FloatArray, weight: FloatArray) -> tuple[float]:
        present = np.isfinite(value) & (weight > 0)
        order = np.argsort(value[present], kind="stable")
        value, reached = value[present][order], np.cumsum(weight[present][order])
        if math.isnan(probability) or not len(value):
            return (math.nan,)
        # A share that is met exactly must not be missed by rounding.
        place = int(np.searchsorted(reached, probability * reached[-1] * (1 - 1e-12), side="left"))
        return (float(value[min(place, len(value) - 1)]),)

    (percentile,) = each_place(of_list, 1, (probability,), (samples.value, samples.weight))
    return WeightedPercentile(percentile=percentile)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelSamples(Table):
    """Samples of a level; a missing one is NaN."""

    time_s: FloatArray
    value: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TimeOutside(Record):
    """How long, how far and how long at a stretch a level lay outside its limits."""

    time_below_s: FloatArray
    depth_integral_below: FloatArray
    longest_below_s: FloatArray
    time_above_s: FloatArray
    depth_integral_above: FloatArray
    longest_above_s: FloatArray


_LONGEST: Final = "longest stretch of such intervals; a gap ends it"


@method(
    "record.limit.time_outside",
    found_by={
        "time_below_s": Algorithm(
            "sum of the intervals whose mean lies below the lower limit",
            invariants={"covers its longest stretch": lambda v: v["time_below_s"] >= v["longest_below_s"]},
        ),
        "depth_integral_below": Algorithm("sum of depth below the limit times duration"),
        "longest_below_s": Algorithm(_LONGEST),
        "time_above_s": Algorithm(
            "sum of the intervals whose mean lies above the upper limit",
            invariants={"covers its longest stretch": lambda v: v["time_above_s"] >= v["longest_above_s"]},
        ),
        "depth_integral_above": Algorithm("sum of height above the limit times duration"),
        "longest_above_s": Algorithm(_LONGEST),
    },
    units={"depth_integral_below": "s", "depth_integral_above": "s"},
    requires=(times_in_order("samples"),),
    kind="identity",
    source=DEFINITION,
)
def time_outside(samples: LevelSamples, lower_limit: Number = -math.inf, upper_limit: Number = math.inf, gap_limit_s: Number | None = None) -> TimeOutside:
    """Return how long and how deep a level lay below its lower and above its upper limit.

    Parameters
    ----------
    samples : time and value, in order of time; rows without a value are passed over.
    lower_limit : below it (strictly) is outside.
    upper_limit : above it (strictly) is outside.
    gap_limit_s : a longer interval counts for nothing and ends a stretch; without it there are no gaps.
    """

    def outside(lower: float, upper: float, gap_limit: float, time_s: FloatArray, value: FloatArray) -> tuple[float, ...]:
        present = np.isfinite(value)
        duration_s = np.diff(time_s[present])
        level = (value[present][1:] + value[present][:-1]) / 2
        known = ~(duration_s > gap_limit)
        return (*_beyond(lower - level, duration_s, known), *_beyond(level - upper, duration_s, known))

    found = each_place(outside, 6, (lower_limit, upper_limit, gap_limit_s), (samples.time_s, samples.value))
    return TimeOutside(
        time_below_s=found[0],
        depth_integral_below=found[1],
        longest_below_s=found[2],
        time_above_s=found[3],
        depth_integral_above=found[4],
        longest_above_s=found[5],
    )


def _beyond(depth: FloatArray, duration_s: FloatArray, known: NDArray[np.bool_]) -> tuple[float, float, float]:
    beyond = (depth > 0) & known
    stretches_s = [float(duration_s[first : last + 1].sum()) for first, last in runs_of(beyond)]
    return sum(stretches_s), float(np.sum(depth[beyond] * duration_s[beyond])), max(stretches_s, default=0.0)
