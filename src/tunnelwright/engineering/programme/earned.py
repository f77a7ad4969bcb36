"""Rings built against the planned curve, told as time."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tunnelwright.engineering.programme.sources import EARNED
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlannedRings(Table):
    """Rings planned to be built by a time, cumulative, time counted from the start in any unit."""

    time: FloatArray
    rings: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EarnedSchedule(Record):
    """When the plan had what has been built, and what follows for the end, in the unit of the planned time."""

    earned_time: FloatArray
    schedule_index: FloatArray
    schedule_variance: FloatArray
    estimated_duration: FloatArray


def _earliest(planned: PlannedRings, rings: Any) -> FloatArray:
    """Return the earliest time at which the plan has so many rings; its first or last time beyond its ends."""
    wanted = np.asarray(rings, dtype=np.float64)[..., None]
    at = np.argmax(planned.rings >= np.minimum(wanted, planned.rings[..., -1:]), axis=-1)[..., None]
    shape = at.shape[:-1]
    time, count = (np.broadcast_to(column, (*shape, column.shape[-1])) for column in (planned.time, planned.rings))
    before = np.maximum(at - 1, 0)
    (time_0, time_1), (count_0, count_1) = ([np.take_along_axis(column, place, -1)[..., 0] for place in (before, at)] for column in (time, count))
    rise = np.where(count_1 > count_0, count_1 - count_0, 1.0)
    share = np.clip((np.asarray(rings, dtype=np.float64) - count_0) / rise, 0.0, 1.0)
    return np.asarray(time_0 + (time_1 - time_0) * share)


def _plan_had_them(values: Values) -> Any:
    """Say whether the plan, read forward at the earned time, has the rings built."""
    planned, built = values["planned"], np.asarray(values["built_rings"])
    inside = (built >= planned.rings[0]) & (built <= planned.rings[-1])
    return ~inside | np.isclose(np.interp(values["earned_time"], planned.time, planned.rings), built)


@method(
    "programme.earned.schedule",
    formulas={"schedule_index": Formula("SPI_t", "ES / t"), "schedule_variance": Formula("SV_t", "ES - t")},
    found_by={
        "earned_time": Algorithm("earliest time at which the plan, linear between its points, has the rings built", "ES", {"it had them": _plan_had_them}),
        "estimated_duration": Algorithm("planned duration, or the earliest time at which the plan is whole, over SPI_t", "D_est"),
    },
    symbols={"now": "t", "built_rings": "b"},
    possible={"built_rings": (0.0, 1e6), "now": (1e-9, 1e12), "planned_duration": (1e-9, 1e12), "rings": (0.0, 1e6)},
    requires=(
        Require("planned.time", lambda v: np.all(np.diff(v["planned"].time, axis=-1) > 0), "must increase from row to row"),
        Require("planned.rings", lambda v: np.all(np.diff(v["planned"].rings, axis=-1) >= 0), "must not fall from row to row: it counts all rings so far"),
    ),
    remarks=(
        Remark(lambda v: v["built_rings"] > v["planned"].rings[..., -1], "more rings are built than the plan has: its end was taken"),
        Remark(lambda v: v["built_rings"] < v["planned"].rings[..., 0], "fewer rings are built than the plan begins with: its first time was taken"),
        Remark(lambda v: v["planned"].time[..., 0] > 0, "the plan does not begin at time 0: count time from the start of the drive"),
    ),
    kind="identity",
    source=EARNED,
)
def earned_schedule(planned: PlannedRings, built_rings: Number, now: Number, planned_duration: Number | None = None) -> EarnedSchedule:
    """Return how far in time the drive has come by the plan, and the duration if it goes on so.

    Parameters
    ----------
    planned : cumulative rings over time from the start.
    built_rings : built by now.
    now : time since the start, in the unit of the plan.
    planned_duration : of the drive; without it the time at which the plan is whole.
    """
    earned = _earliest(planned, built_rings)
    index = earned / now
    whole = _earliest(planned, planned.rings[..., -1]) if planned_duration is None else planned_duration
    with np.errstate(divide="ignore"):
        estimate = np.divide(whole, index)
    return EarnedSchedule(earned_time=earned, schedule_index=index, schedule_variance=earned - now, estimated_duration=estimate)
