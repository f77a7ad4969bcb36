"""Totalisers: what a counter really counted, and whether it agrees with the integral of its rate.

A reading is compared with the last reading that was kept. Short falls that heal by themselves are taken out first: otherwise
the whole total would be booked twice.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.record.sources import DEFINITION, LOG_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, TextArray, TextSeries, Values

LOOK_AHEAD: Final = 5
PASSES: Final = 5


def times_in_order(table: str) -> Require:
    """Return the condition that the times of a table of samples never fall."""

    def holds(values: Values) -> bool:
        return bool(np.all(np.diff(values[table].time_s, axis=-1) >= 0))

    return Require(f"{table}.time_s", holds, "must not fall from one row to the next", "sort the samples by time first")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CounterReadings(Table):
    """Readings of a totaliser; a missing one is NaN."""

    time_s: FloatArray
    counter: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CounterIncrements(Record):
    """What was counted, in total and reading by reading."""

    total: FloatArray
    increments: Series
    flags: TextSeries


@method(
    "record.counter.difference",
    found_by={
        "total": Algorithm(
            "sum of the increments",
            invariants={"the total is the sum of the increments": lambda v: np.isclose(v["total"], np.nansum(v["increments"], axis=-1))},
        ),
        "increments": Algorithm(
            "difference to the last reading kept; a roll-over adds the modulus, a reset counts from zero, spikes and glitches are dropped",
            invariants={
                "nothing is counted faster than the largest rate": lambda v: np.all(
                    np.diff(v["readings"].time_s) * v["largest_rate"] + v["tolerance"] >= v["increments"][1:] - _spread_over_dropped(v)
                )
            },
        ),
        "flags": Algorithm("one word per reading: ok, roll over, reset, spike, glitch, fault, missing"),
    },
    units={"largest_rate": "1/s"},
    possible={"largest_rate": (0.0, math.inf), "tolerance": (0.0, math.inf), "modulus": (0.0, math.inf)},
    requires=(times_in_order("readings"),),
    kind="identity",
    source=LOG_PRACTICE,
)
def counter_difference(readings: CounterReadings, largest_rate: Number, tolerance: Number = 0.0, modulus: Number | None = None) -> CounterIncrements:
    """Return what a totaliser counted, with roll-overs, resets, spikes and glitches told apart.

    Parameters
    ----------
    readings : time and reading, in order of time.
    largest_rate : fastest that it can count, counter units per second.
    tolerance : creep of the reading that means nothing.
    modulus : reading at which it starts again at zero (100 000 for one that shows 0 to 99 999); without it none.

    Notes
    -----
    A glitch is a fall that heals within five readings to what the largest rate allows. A jump is a spike when the next reading falls back, else a
    fault that counts as nothing. What ran between the last reading and a reset is lost; it is bounded by the largest rate times the interval.
    """
    total, increments, flags = each_place(_differences, 3, (largest_rate, tolerance, modulus), (readings.time_s, readings.counter))
    return CounterIncrements(total=total, increments=increments, flags=flags)


def _spread_over_dropped(values: Values) -> FloatArray:
    """Return what an increment may have more than its own interval allows, because readings before it were dropped."""
    time_s, flags = values["readings"].time_s, values["flags"]
    extra = np.zeros(max(len(time_s) - 1, 0))
    for at in range(1, len(time_s)):
        before = at - 1
        while before > 0 and flags[before] in ("spike", "glitch", "missing"):
            before -= 1
        extra[at - 1] = values["largest_rate"] * (time_s[at - 1] - time_s[before]) + 1e-9 * (1 + abs(values["total"]))
    return extra


def _differences(largest_rate: float, tolerance: float, modulus: float, time_s: FloatArray, counter: FloatArray) -> tuple[float, FloatArray, TextArray]:
    increments = np.zeros(len(counter))
    flags = np.full(len(counter), "ok", dtype="<U9")
    present = np.flatnonzero(np.isfinite(counter))
    flags[~np.isfinite(counter)] = "missing"
    healed = present[_glitches(time_s[present], counter[present], largest_rate, tolerance)]
    flags[healed] = "glitch"
    valid = present[~np.isin(present, healed)]
    kept = -1
    for place, at in enumerate(valid):
        if kept < 0:
            kept = at
            continue
        following = float(counter[valid[place + 1]]) if place + 1 < len(valid) else math.inf
        allowed = largest_rate * (time_s[at] - time_s[kept]) + tolerance
        flags[at], increments[at] = _judged(float(counter[kept]), float(counter[at]), following, allowed, tolerance, modulus)
        if flags[at] not in ("spike", "glitch"):
            kept = at
    return float(increments.sum()), increments, flags


def _judged(last: float, reading: float, following: float, allowed: float, tolerance: float, modulus: float) -> tuple[str, float]:
    """Return the word for one reading and what it adds."""
    gained = reading - last
    if gained > allowed:
        return ("spike", 0.0) if following < reading - tolerance else ("fault", 0.0)
    if gained >= -tolerance:
        return "ok", gained
    if 0 <= gained + modulus <= allowed:
        return "roll over", gained + modulus
    if -tolerance <= reading <= allowed:
        return "reset", reading
    return "glitch", 0.0


def _glitches(time_s: FloatArray, counter: FloatArray, largest_rate: float, tolerance: float) -> NDArray[np.bool_]:
    """Return where the counter falls and comes back within the next readings; a run of zeros is eaten from its front, one per pass."""
    glitch = np.zeros(len(counter), dtype=bool)
    for _ in range(PASSES):
        known = np.where(glitch, np.nan, counter)
        last, last_s = _last_before(known, time_s)
        highest, highest_s = _highest_ahead(known, time_s)
        fell = known < last - tolerance
        back = (highest >= last - tolerance) & (highest <= last + largest_rate * (highest_s - last_s) + tolerance)
        found = fell & back
        if not found.any():
            break
        glitch |= found
    return glitch


def _last_before(known: FloatArray, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    place = np.maximum.accumulate(np.where(np.isfinite(known), np.arange(len(known)), -1)) if len(known) else np.array([], dtype=int)
    before = np.concatenate([[-1], place[:-1]]).astype(int)[: len(known)]
    has = before >= 0
    return np.where(has, known[before], np.nan), np.where(has, time_s[before], np.nan)


def _highest_ahead(known: FloatArray, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    highest, highest_s = np.full(len(known), np.nan), np.full(len(known), np.nan)
    for step in range(1, LOOK_AHEAD + 1):
        ahead = np.concatenate([known[step:], np.full(min(step, len(known)), np.nan)])
        ahead_s = np.concatenate([time_s[step:], np.full(min(step, len(known)), np.nan)])
        higher = ~(ahead <= highest) & np.isfinite(ahead)
        highest, highest_s = np.where(higher, ahead, highest), np.where(higher, ahead_s, highest_s)
    return highest, highest_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CounterAgreement(Record):
    """Integral of a rate against its counter."""

    difference_ratio: FloatArray
    state: TextArray


@method(
    "record.ratio.methods_disagree",
    formulas={"difference_ratio": Formula("q", "0 if I == D else abs(I - D) / abs(D)")},
    found_by={
        "state": Algorithm(
            "watch above the limit, in order up to it, not checked where one of the two is missing",
            invariants={"watch exactly above the limit": lambda v: (np.asarray(v["state"]) == "watch") == (v["difference_ratio"] > v["limit_ratio"])},
        )
    },
    symbols={"integral": "I", "counter_total": "D"},
    possible={"limit_ratio": (0.0, 1.0)},
    kind="screening",
    source=DEFINITION,
)
def methods_disagree(integral: Number, counter_total: Number, limit_ratio: Number = 0.02) -> CounterAgreement:
    """Return how far the integral of a rate lies from its counter, and whether that is too far.

    Parameters
    ----------
    integral : of the rate over the ring.
    counter_total : counted over the same ring.
    limit_ratio : share of the counter beyond which neither is taken without a look.
    """
    apart = np.abs(np.subtract(integral, counter_total))
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(apart == 0, 0.0, apart / np.abs(counter_total))
    state = np.where(np.isnan(ratio) | np.isnan(limit_ratio), "not checked", np.where(ratio > limit_ratio, "watch", "in order"))
    return CounterAgreement(difference_ratio=ratio, state=state)
