"""Belt, skips and the pit: can the muck go away as fast as it comes."""

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.muck.screw import M3_H_PER_M2_MM_MIN
from tunnelwright.engineering.muck.sources import LOGISTICS
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

STEP_H: Final = 0.25
STEPS_PER_DAY: Final = 96
_DAYS_PER_WEEK: Final = 7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BeltRate(Record):
    """Mass rate that the belt must take."""

    belt_rate_t_h: FloatArray


@method(
    "muck.logistics.belt_rate",
    formulas={"belt_rate_t_h": Formula("Q_belt", "0.06 * A_f * v * rho * (1 + q_add)")},
    symbols={"additions_ratio": "q_add"},
    possible={"additions_ratio": (0.0, 3.0)},
    kind="identity",
    source=LOGISTICS,
)
def belt_rate(face_area_m2: Number, advance_rate_mm_min: Number, density_t_m3: Number, additions_ratio: Number = 0.0) -> BeltRate:
    """Return the mass rate on the belt at full speed; the belt needs a reserve of 10 to 25 per cent on top.

    Parameters
    ----------
    face_area_m2 : bored area.
    advance_rate_mm_min : peak, not the mean.
    density_t_m3 : in the ground.
    additions_ratio : added mass over mass of soil.
    """
    return BeltRate(belt_rate_t_h=M3_H_PER_M2_MM_MIN * np.multiply(face_area_m2, advance_rate_mm_min) * density_t_m3 * np.add(1.0, additions_ratio))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Skips(Record):
    """Skips for the muck of one ring."""

    loose_volume_m3: FloatArray
    skip_count: FloatArray


@method(
    "muck.logistics.skips",
    formulas={"loose_volume_m3": Formula("V_l", "B_f * V"), "skip_count": Formula("n_skip", "max(0, ceil(V_l / (V_skip * q_fill) - 1e-9))")},
    symbols={"skip_volume_m3": "V_skip", "fill_ratio": "q_fill"},
    possible={"skip_volume_m3": (0.1, 200.0), "fill_ratio": (0.05, 1.2)},
    kind="identity",
    source=LOGISTICS,
)
def skips(excavated_volume_m3: Number, bulking_factor: Number, skip_volume_m3: Number, fill_ratio: Number = 0.9) -> Skips:
    """Return how many skips one ring fills; a train that carries fewer stops the push midway.

    Parameters
    ----------
    excavated_volume_m3 : volume in the ground.
    bulking_factor : loose volume over volume in the ground.
    skip_volume_m3 : of one skip.
    fill_ratio : how full a skip gets.
    """
    loose_m3 = np.multiply(bulking_factor, excavated_volume_m3)
    return Skips(loose_volume_m3=loose_m3, skip_count=np.maximum(0.0, np.ceil(loose_m3 / np.multiply(skip_volume_m3, fill_ratio) - 1e-9)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PitStock(Record):
    """Muck in the pit."""

    pit_peak_m3: FloatArray
    pit_end_m3: FloatArray


@method(
    "muck.logistics.pit_simulation",
    found_by={
        "pit_peak_m3": Algorithm(
            "greatest stock right after a ring has arrived, in steps of 15 min", invariants={"at least the end": lambda v: v["pit_peak_m3"] >= v["pit_end_m3"]}
        ),
        "pit_end_m3": Algorithm("stock after the last step", invariants={"not negative": lambda v: not np.any(v["pit_end_m3"] < 0)}),
    },
    possible={
        "loose_volume_per_ring_m3": (0.0, 1e4),
        "ring_interval_s": (60.0, 1e6),
        "work_start_h": (0.0, 24.0),
        "work_end_h": (0.0, 24.0),
        "work_days_per_week": (0.0, 7.0),
        "truck_rate_m3_h": (0.0, 1e4),
        "truck_start_h": (0.0, 24.0),
        "truck_end_h": (0.0, 24.0),
        "truck_days_per_week": (0.0, 7.0),
        "day_count": (0.0, 3660.0),
    },
    requires=(Require("day_count", lambda v: v["day_count"] >= 1, "must be 1 or more"),),
    remarks=(
        Remark(lambda v: v["pit_end_m3"] > 0.5 * v["pit_peak_m3"], "the pit is more than half as full at the end as it ever was: removal may not keep up"),
    ),
    kind="identity",
    source=LOGISTICS,
    dimensional=True,
)
def pit_simulation(
    loose_volume_per_ring_m3: Number,
    ring_interval_s: Number,
    work_start_h: Number,
    work_end_h: Number,
    work_days_per_week: Number,
    truck_rate_m3_h: Number,
    truck_start_h: Number,
    truck_end_h: Number,
    truck_days_per_week: Number,
    day_count: Number,
) -> PitStock:
    """Return how full the muck pit gets when rings come by working hours and trucks load by theirs.

    Parameters
    ----------
    loose_volume_per_ring_m3 : of one ring in the pit.
    ring_interval_s : working time per ring.
    work_start_h, work_end_h : hours of the day between which rings are driven; an end before the start runs over midnight, the same hour means all day.
    work_days_per_week : from the first day of the week on; the simulation starts on that day.
    truck_rate_m3_h : volume loaded per hour.
    truck_start_h, truck_end_h : hours of the day between which trucks load.
    truck_days_per_week : from the first day of the week on.
    day_count : days simulated.

    Notes
    -----
    Steps of 15 min; in a step a finished ring arrives before trucks load.
    """
    numbers = (
        loose_volume_per_ring_m3, ring_interval_s, work_start_h, work_end_h, work_days_per_week,
        truck_rate_m3_h, truck_start_h, truck_end_h, truck_days_per_week, day_count,
    )  # fmt: skip
    peak_m3, end_m3 = each_place(_stock, 2, numbers)
    return PitStock(pit_peak_m3=peak_m3, pit_end_m3=end_m3)


def _stock(ring_m3: float, interval_s: float, *calendar: Any) -> tuple[float, float]:
    work_start_h, work_end_h, work_days, truck_m3_h, truck_start_h, truck_end_h, truck_days, day_count = calendar
    if not all(math.isfinite(one) for one in (ring_m3, interval_s, *calendar)):
        return math.nan, math.nan
    step = np.arange(round(day_count) * STEPS_PER_DAY)
    worked_s = np.cumsum(_is_open(step, work_start_h, work_end_h, work_days)) * STEP_H * 3600
    # A ring that ends with a step must not fall into the next one by rounding.
    finished = np.floor(worked_s / interval_s + 1e-9)
    arriving_m3 = ring_m3 * np.diff(finished, prepend=0.0)
    loading_m3 = truck_m3_h * STEP_H * _is_open(step, truck_start_h, truck_end_h, truck_days)
    stock = peak = 0.0
    for arrived, loaded in zip(arriving_m3, loading_m3, strict=True):
        stock += float(arrived)
        peak = max(peak, stock)
        stock = max(0.0, stock - float(loaded))
    return peak, stock


def _is_open(step: FloatArray, start_h: float, end_h: float, days: float) -> FloatArray:
    """Return which steps begin within working hours, by the day they begin on."""
    hour, day = (step % STEPS_PER_DAY) * STEP_H, (step // STEPS_PER_DAY) % _DAYS_PER_WEEK
    within = (hour >= start_h) & (hour < end_h) if start_h < end_h else (hour >= start_h) | (hour < end_h)
    return np.asarray(within & (day < days))
