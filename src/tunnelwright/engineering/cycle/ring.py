"""From the push to the ring and from the ring to the week.

push, short stops, build, change-over, all times the learning factor  --.
                                                                         >  the slower one, then extension and maintenance
one period of the supply of segments, grout and muck  ------------------'
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.cycle.sources import SUM_OF_TIMES
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray

_ANY_TIME: Final = (0.0, 1e8)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingCycle(Record):
    """Time of one ring, and whether the machine or its supply sets it."""

    push_time_s: FloatArray
    cycle_time_s: FloatArray
    binding: TextArray


@method(
    "cycle.ring.deterministic",
    formulas={
        "push_time_s": Formula("t_push", "60000 * L / v"),
        "cycle_time_s": Formula("T_cyc", "max(f_k * (t_push + t_short + t_build + t_fix), T_log) + E_k + M_k"),
    },
    found_by={"binding": Algorithm("machine, or logistics where one period of the supply is longer")},
    symbols={
        "short_stop_time_s": "t_short",
        "fixed_time_s": "t_fix",
        "logistics_time_s": "T_log",
        "extension_time_s": "E_k",
        "maintenance_time_s": "M_k",
    },
    possible={
        "advance_rate_mm_min": (0.01, 300.0),
        "ring_length_m": (0.1, 4.0),
        "learning_factor": (0.1, 100.0),
        "fixed_time_s": _ANY_TIME,
        "logistics_time_s": _ANY_TIME,
        "extension_time_s": _ANY_TIME,
        "maintenance_time_s": _ANY_TIME,
    },
    kind="mean",
    source=SUM_OF_TIMES,
)
def ring_cycle(
    ring_length_m: Number,
    advance_rate_mm_min: Number,
    build_time_s: Number,
    short_stop_time_s: Number = 0.0,
    fixed_time_s: Number = 0.0,
    learning_factor: Number = 1.0,
    logistics_time_s: Number = 0.0,
    extension_time_s: Number = 0.0,
    maintenance_time_s: Number = 0.0,
) -> RingCycle:
    """Return the time of one ring from push to push.

    Parameters
    ----------
    ring_length_m : way of the push.
    advance_rate_mm_min : in the ground of this ring.
    build_time_s : to build the ring.
    short_stop_time_s : stops within the push.
    fixed_time_s : change-over that no ring is spared.
    learning_factor : lengthens what the crew does, not the supply nor what is booked by the calendar.
    logistics_time_s : period of the supply at this distance; 0 where it never binds.
    extension_time_s : to extend belt, rail, pipes or cable at this ring; 0 where that runs beside.
    maintenance_time_s : maintenance or intervention booked on this ring.
    """
    push_s = 60_000 * np.divide(ring_length_m, advance_rate_mm_min)
    machine_s = np.asarray(learning_factor * (push_s + short_stop_time_s + build_time_s + fixed_time_s))
    slower_s = np.maximum(machine_s, logistics_time_s)
    word = np.where(logistics_time_s > machine_s, "logistics", "machine")
    return RingCycle(push_time_s=push_s, cycle_time_s=slower_s + extension_time_s + maintenance_time_s, binding=np.where(np.isnan(slower_s), "none", word))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeekAdvance(Record):
    """Rings and metres of one week."""

    rings_per_week: FloatArray
    advance_per_week_m: FloatArray


@method(
    "cycle.week.advance",
    formulas={"rings_per_week": Formula("n_w", "3600 * H_w * A_v / T_cyc"), "advance_per_week_m": Formula("L_w", "n_w * L")},
    symbols={"scheduled_time_h": "H_w", "availability": "A_v"},
    valid={"advance_per_week_m": Range(40.0, 250.0, "usual weeks of a good drive after learning have 90 to 150 m: check rate, hours and availability")},
    possible={"cycle_time_s": (1.0, 1e8), "scheduled_time_h": (0.0, 168.0)},
    kind="mean",
    source=SUM_OF_TIMES,
)
def week_advance(cycle_time_s: Number, ring_length_m: Number, scheduled_time_h: Number, availability: Number) -> WeekAdvance:
    """Return the rings and metres of a week.

    Parameters
    ----------
    cycle_time_s : mean time of a ring, waits within the cycle included.
    ring_length_m : length of a ring.
    scheduled_time_h : hours of all shifts of the week.
    availability : share left after breakdowns; waits that are in the cycle already must not be taken off again.
    """
    rings = 3600 * np.multiply(scheduled_time_h, availability) / cycle_time_s
    return WeekAdvance(rings_per_week=rings, advance_per_week_m=rings * ring_length_m)
