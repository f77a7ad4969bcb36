"""Numbers and places of rings: the keyed number made whole, the ring that the grout surrounds, the time muck takes on the belt."""

import math
from collections import Counter
from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.record.sources import DEFINITION, LOG_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table

_HALF_WINDOW: Final = 2
_FIRST_CYCLES: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingNumbers(Record):
    """Ring number of every cycle."""

    ring_number: Series
    corrected_index: Series
    rings_missing: Series


@method(
    "record.ring_number.chain",
    found_by={
        "ring_number": Algorithm(
            "cycle number plus the accepted offset: the running mode of keyed minus cycle number over five cycles, changed only where the chainage confirms it",
            invariants={"rises by one or more": lambda v: not np.any(np.diff(v["ring_number"], axis=-1) < 1)},
        ),
        "corrected_index": Algorithm("cycles whose keyed number differs from the ring number, counted from 0"),
        "rings_missing": Algorithm("numbers passed over where the chainage confirms that rings ran unseen"),
    },
    possible={"ring_length_m": (0.1, 4.0), "first_chainage_m": (-1e5, 1e6)},
    requires=(
        Require(
            "chainage_m",
            lambda v: (
                v["chainage_m"] is None
                or (len(v["chainage_m"]) == len(v["keyed_number"]) and v["ring_length_m"] is not None and v["first_chainage_m"] is not None)
            ),
            "must have one entry per keyed number, and come with ring_length_m and first_chainage_m",
        ),
    ),
    kind="identity",
    source=LOG_PRACTICE,
)
def ring_number_chain(
    keyed_number: Series, chainage_m: Series | None = None, ring_length_m: Number | None = None, first_chainage_m: Number | None = None
) -> RingNumbers:
    """Return the ring number of every cycle from numbers keyed late, mistyped or not at all.

    Parameters
    ----------
    keyed_number : number on the operator's screen during each cycle, in order; NaN where there was none.
    chainage_m : at the start of each cycle.
    ring_length_m : mean length of a ring.
    first_chainage_m : chainage at the start of ring 1.

    Notes
    -----
    A number that differs by itself is a typing fault: the chain wins. A lasting step is taken on only when the chainage says the same.
    """
    numbers, corrected, missing = each_place(_chained, 3, (ring_length_m, first_chainage_m), (keyed_number, chainage_m))
    return RingNumbers(ring_number=numbers, corrected_index=corrected, rings_missing=missing)


def _chained(length_m: float, first_m: float, keyed: FloatArray, chainage_m: FloatArray | None) -> tuple[FloatArray, FloatArray, FloatArray]:
    cycles = np.arange(len(keyed))
    keyed_offset = keyed - cycles
    seen_offset = np.full(len(keyed), math.nan) if chainage_m is None else np.round((chainage_m - first_m) / length_m) + 1 - cycles
    accepted = _mode(keyed_offset[:_FIRST_CYCLES], math.nan)
    numbers = np.full(len(keyed), math.nan)
    missing: list[float] = []
    for cycle in cycles:
        running = _mode(keyed_offset[max(0, cycle - _HALF_WINDOW) : cycle + _HALF_WINDOW + 1], seen_offset[cycle])
        if running > accepted and seen_offset[cycle] == running:
            missing += [float(number) for number in np.arange(cycle + accepted, cycle + running)]
            accepted = running
        numbers[cycle] = cycle + accepted
    corrected = np.flatnonzero(numbers != keyed).astype(np.float64)
    return numbers, corrected, np.array(missing, dtype=np.float64)


def _mode(offsets: FloatArray, preferred: float) -> float:
    """Return the most frequent offset; of equals the preferred one, else the first."""
    counts = Counter(offsets[np.isfinite(offsets)].tolist())
    if not counts:
        return preferred
    most = max(counts.values())
    return preferred if counts.get(preferred) == most else next(offset for offset, count in counts.items() if count == most)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroutRingShift(Record):
    """How many rings back the grout goes in."""

    ring_shift_count: FloatArray


@method(
    "record.grout.ring_shift",
    formulas={"ring_shift_count": Formula("n_tail", "floor(d / L + 1e-9)")},
    symbols={"outlet_distance_m": "d", "ring_length_m": "L"},
    possible={"outlet_distance_m": (0.0, 40.0), "ring_length_m": (0.1, 4.0)},
    kind="identity",
    source=DEFINITION,
)
def grout_ring_shift(outlet_distance_m: Number, ring_length_m: Number) -> GroutRingShift:
    """Return how many rings behind the one being pushed the grout outlet lies.

    Parameters
    ----------
    outlet_distance_m : from the front of the ring being pushed back to the outlet.
    ring_length_m : length of a ring.
    """
    # A billionth of a ring keeps an outlet exactly at a joint on the far side of rounding.
    return GroutRingShift(ring_shift_count=np.floor(np.asarray(outlet_distance_m) / ring_length_m + 1e-9))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BeltSpeeds(Table):
    """Belt speed as steps: each holds from its start to the next, the last one for ever."""

    start_s: FloatArray
    belt_speed_m_s: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BeltArrival(Record):
    """When muck passes a point down the belt."""

    arrival_time_s: FloatArray


@method(
    "record.belt.arrival_time",
    found_by={
        "arrival_time_s": Algorithm(
            "first time at which the integral of the belt speed since the drop reaches the distance; none when the belt stays still",
            invariants={"not before the drop": lambda v: not np.any(v["arrival_time_s"] < v["dropped_at_s"])},
        )
    },
    possible={"distance_m": (0.0, 1e5)},
    requires=(
        Require("belt_speeds.start_s", lambda v: np.all(np.diff(v["belt_speeds"].start_s, axis=-1) > 0), "must rise from one row to the next"),
        Require("dropped_at_s", lambda v: v["dropped_at_s"] >= v["belt_speeds"].start_s[..., 0], "must not lie before the first belt speed"),
    ),
    kind="identity",
    source=DEFINITION,
)
def belt_arrival_time(belt_speeds: BeltSpeeds, distance_m: Number, dropped_at_s: Number = 0.0) -> BeltArrival:
    """Return when muck that was dropped on the belt passes the weigher.

    Parameters
    ----------
    belt_speeds : start and speed of every step, in order of time.
    distance_m : along the belt from the drop to the weigher.
    dropped_at_s : time of the drop.
    """
    (arrival_s,) = each_place(_arrival_s, 1, (distance_m, dropped_at_s), (belt_speeds.start_s, belt_speeds.belt_speed_m_s))
    return BeltArrival(arrival_time_s=arrival_s)


def _arrival_s(distance_m: float, dropped_at_s: float, start_s: FloatArray, speed_m_s: FloatArray) -> tuple[float]:
    if math.isnan(distance_m) or math.isnan(dropped_at_s) or dropped_at_s < start_s[0]:
        return (math.nan,)
    now_s, travelled_m = dropped_at_s, 0.0
    for row in range(int(np.searchsorted(start_s, dropped_at_s, side="right")) - 1, len(start_s)):
        end_s = float(start_s[row + 1]) if row + 1 < len(start_s) else math.inf
        speed, left_m = float(speed_m_s[row]), distance_m - travelled_m
        if left_m <= 0:
            return (now_s,)
        if speed > 0 and now_s + left_m / speed <= end_s:
            return (now_s + left_m / speed,)
        if math.isinf(end_s):
            break
        travelled_m += speed * (end_s - now_s)
        now_s = end_s
    return (math.nan,)
