r"""Pushes and ring builds in a log: which cycle every sample belongs to.

Extension of the rams over two cycles; the state turns HIGH above the upper threshold and LOW below the lower one::

    e |        /\                  /\
      |- - - -/- \--------------- /- \-   e_lo + 0.60 L
      |      /    \_/\_          /    \
      |- - -/- - - - -\- - - - -/- - -     e_lo + 0.35 L
      |    /           \_______/
      +--- push ---- build -- wait -- push ---> time

A cycle starts with the first advancing interval after a change from HIGH to LOW, so build and wait stay with their push.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.record.counter import times_in_order
from tunnelwright.engineering.record.sources import LOG_PRACTICE
from tunnelwright.engineering.record.weighted import MM_S_PER_M_MIN, run_strokes_m, runs_of
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table

HIGH_SHARE: Final = 0.60
LOW_SHARE: Final = 0.35
THRUST_SHARE: Final = 0.3
SPEED_HALF_WINDOW_S: Final = 15.0
HOLD_S: Final = 60.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushSamples(Table):
    """Samples of extension (median of the ram groups) and thrust; a missing value is NaN."""

    time_s: FloatArray
    ram_extension_m: FloatArray
    thrust_kn: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SchmittTransitions(Record):
    """Changes from HIGH to LOW."""

    transition_count: FloatArray
    transition_index: Series


def is_transition(ram_extension_m: FloatArray, ring_length_m: float, rest_extension_m: float) -> NDArray[np.bool_]:
    """Return at which samples the state changes from HIGH to LOW; before the first threshold is passed there is no state."""
    high = ram_extension_m > rest_extension_m + HIGH_SHARE * ring_length_m
    low = ram_extension_m < rest_extension_m + LOW_SHARE * ring_length_m
    state = np.where(high, 1, np.where(low, 0, -1))
    known = np.flatnonzero(state >= 0)
    falls = np.zeros(len(state), dtype=bool)
    falls[known[1:]] = (state[known[1:]] == 0) & (state[known[:-1]] == 1)
    return falls


@method(
    "record.cycle.schmitt_transitions",
    found_by={
        "transition_count": Algorithm(
            "changes of state from HIGH (above e_lo + 0.60 L) to LOW (below e_lo + 0.35 L)",
            invariants={"one index per change": lambda v: v["transition_count"] == np.sum(np.isfinite(v["transition_index"]), axis=-1)},
        ),
        "transition_index": Algorithm("first sample of each LOW state, counted from 0"),
    },
    kind="identity",
    source=LOG_PRACTICE,
)
def schmitt_transitions(ram_extension_m: Series, ring_length_m: Number, rest_extension_m: Number) -> SchmittTransitions:
    """Return where the extension of the rams falls from the end of a push to the end of a build.

    Parameters
    ----------
    ram_extension_m : median over the ram groups, sample by sample; NaN keeps the state.
    ring_length_m : length by which a push extends the rams.
    rest_extension_m : extension at the start of a push, stored once for the drive.
    """

    def transitions(length_m: float, rest_m: float, extension_m: FloatArray) -> tuple[float, FloatArray]:
        places = np.flatnonzero(is_transition(extension_m, length_m, rest_m)).astype(np.float64)
        return float(len(places)), places

    count, index = each_place(transitions, 2, (ring_length_m, rest_extension_m), (ram_extension_m,))
    return SchmittTransitions(transition_count=count, transition_index=index)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cycles(Record):
    """Cycle of every sample and what each cycle holds."""

    cycle: Series
    cycle_count: FloatArray
    transition_count: FloatArray
    push_net_s: Series
    stroke_m: Series


@method(
    "record.cycle.schmitt",
    found_by={
        "cycle": Algorithm(
            "number of HIGH to LOW changes so far, taken on at advancing intervals and kept in between; -1 before the first push",
            invariants={"never falls": lambda v: np.all(np.diff(v["cycle"], axis=-1) >= 0)},
        ),
        "cycle_count": Algorithm(
            "different cycles with an advancing interval",
            invariants={"one push time per cycle": lambda v: np.all(v["cycle_count"] <= v["push_net_s"].shape[-1])},
        ),
        "transition_count": Algorithm("changes of state from HIGH (above e_lo + 0.60 L) to LOW (below e_lo + 0.35 L)"),
        "push_net_s": Algorithm("sum of the advancing intervals of each cycle", invariants={"not negative": lambda v: not np.any(v["push_net_s"] < 0)}),
        "stroke_m": Algorithm("gain of the extension over its running maximum in each advancing run, per cycle"),
    },
    possible={"high_thrust_kn": (0.0, 3e5), "least_speed_mm_min": (0.0, 300.0), "least_run_s": (0.0, 3600.0)},
    requires=(times_in_order("samples"),),
    kind="identity",
    source=LOG_PRACTICE,
    dimensional=True,
)
def schmitt_cycles(
    samples: PushSamples,
    ring_length_m: Number,
    rest_extension_m: Number,
    high_thrust_kn: Number,
    least_speed_mm_min: Number = 2.0,
    least_run_s: Number = 20.0,
) -> Cycles:
    """Return the cycles of push, build and wait in a log, from extension and thrust alone.

    Parameters
    ----------
    samples : time, extension and thrust in order of time; a missing value is bridged by its last one for up to 60 s.
    ring_length_m : length by which a push extends the rams.
    rest_extension_m : extension at the start of a push (second percentile of the extension), stored once for the drive.
    high_thrust_kn : ninetieth percentile of the thrust, stored once for the drive; below three tenths of it nothing advances.
    least_speed_mm_min : slower is not advancing.
    least_run_s : shorter runs of advancing intervals are dropped.

    Notes
    -----
    Speed is the slope from the first to the last sample within 15 s on either side; where the log is coarser, from the sample before to the one after.
    """

    def cycles(*given: float | FloatArray) -> tuple[FloatArray, float, float, FloatArray, FloatArray]:
        length_m, rest_m, thrust_kn, speed, run_s, time_s, extension, thrust = given
        return _cycles(PushRules(length_m, rest_m, thrust_kn, speed, run_s), np.asarray(time_s), np.asarray(extension), np.asarray(thrust))  # type: ignore[arg-type]

    numbers = (ring_length_m, rest_extension_m, high_thrust_kn, least_speed_mm_min, least_run_s)
    found = each_place(cycles, 5, numbers, (samples.time_s, samples.ram_extension_m, samples.thrust_kn))
    return Cycles(cycle=found[0], cycle_count=found[1], transition_count=found[2], push_net_s=found[3], stroke_m=found[4])


@dataclass(frozen=True, slots=True)
class PushRules:
    """What counts as a push."""

    ring_length_m: float
    rest_extension_m: float
    high_thrust_kn: float
    least_speed_mm_min: float
    least_run_s: float


def _cycles(rules: PushRules, time_s: FloatArray, extension_m: FloatArray, thrust_kn: FloatArray) -> tuple[FloatArray, float, float, FloatArray, FloatArray]:
    held_m, held_kn = _held(extension_m, time_s), _held(thrust_kn, time_s)
    advancing = advancing_intervals(rules, time_s, held_m, held_kn)
    falls = is_transition(extension_m, rules.ring_length_m, rules.rest_extension_m)
    cycle = _carried(np.cumsum(falls), np.concatenate([[False], advancing])[: len(time_s)])
    strokes_m = run_strokes_m(np.nan_to_num(held_m), advancing)
    of_interval = cycle[1:]
    numbers = np.unique(of_interval[advancing])
    duration_s = np.diff(time_s)
    push_net_s = np.array([duration_s[advancing & (of_interval == one)].sum() for one in numbers])
    stroke_m = np.array([strokes_m[advancing & (of_interval == one)].sum() for one in numbers])
    return cycle, float(len(numbers)), float(falls.sum()), push_net_s, stroke_m


def advancing_intervals(rules: PushRules, time_s: FloatArray, extension_m: FloatArray, thrust_kn: FloatArray) -> NDArray[np.bool_]:
    """Return which intervals advance, one entry fewer than samples; runs that are too short are dropped."""
    speed_mm_min = MM_S_PER_M_MIN * centred_slope(time_s, extension_m)
    moving = ((speed_mm_min > rules.least_speed_mm_min) & (thrust_kn > THRUST_SHARE * rules.high_thrust_kn))[1:]
    duration_s = np.diff(time_s)
    for first, last in runs_of(moving):
        if duration_s[first : last + 1].sum() < rules.least_run_s:
            moving[first : last + 1] = False
    return np.asarray(moving)


def centred_slope(time_s: FloatArray, values: FloatArray) -> FloatArray:
    """Return the slope of each sample's surroundings, per second."""
    places = np.arange(len(time_s))
    first = np.searchsorted(time_s, time_s - SPEED_HALF_WINDOW_S, side="left")
    last = np.searchsorted(time_s, time_s + SPEED_HALF_WINDOW_S, side="right") - 1
    alone = time_s[last] == time_s[first]
    first = np.where(alone, np.maximum(places - 1, 0), first)
    last = np.where(alone, np.minimum(places + 1, len(time_s) - 1), last)
    elapsed_s = time_s[last] - time_s[first]
    return np.divide(values[last] - values[first], elapsed_s, out=np.full(len(time_s), np.nan), where=elapsed_s > 0)


def _held(values: FloatArray, time_s: FloatArray) -> FloatArray:
    """Return the values with missing ones bridged by the last valid one for a limited time."""
    place = np.maximum.accumulate(np.where(np.isfinite(values), np.arange(len(values)), -1))
    fresh = (place >= 0) & (time_s - time_s[np.maximum(place, 0)] <= HOLD_S)
    return np.where(fresh, values[np.maximum(place, 0)], math.nan)


def _carried(count: NDArray[np.int_], advancing: NDArray[np.bool_]) -> FloatArray:
    """Return the count at the last advancing sample up to each sample; -1 before the first."""
    place = np.maximum.accumulate(np.where(advancing, np.arange(len(count)), -1))
    return np.where(place >= 0, count[np.maximum(place, 0)], -1).astype(np.float64)
