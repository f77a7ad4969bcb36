"""Pressures of the ram groups that give a wanted thrust and wanted moments, as even as the bounds allow.

The spread about the plain mean is least under three equations (thrust and two moments) and bounds on every pressure: a convex
quadratic programme of as many unknowns as groups, solved exactly by an active-set method.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy.optimize import lsq_linear

from tunnelwright.engineering.machine.sources import LEAST_SQUARES
from tunnelwright.engineering.machine.steering import lever_arm_m
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import BoolArray, FloatArray, Number, Record, Series, Table, Values

# Share of the thrust by which the equations may be missed before the wish counts as out of reach.
REACH: Final = 1e-8
ROUNDING: Final = 1e-10
STEPS_PER_GROUP: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RamAreas(Table):
    """Groups of rams with their piston areas, one row each."""

    ram_area_m2: FloatArray
    clock_angle_rad: FloatArray
    half_angle_rad: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupPressures(Record):
    """Pressure and force of each group, and whether the wish can be met."""

    group_pressure_kpa: Series
    group_force_kn: Series
    feasible: FloatArray


def _moments_met(values: Values) -> Any:
    """Return whether forces and moments are those wanted, wherever they can be."""
    groups, force_kn = values["groups"], values["group_force_kn"]
    arm_m = lever_arm_m(values["ram_circle_radius_m"], groups.half_angle_rad)
    sums = (
        (np.sum(force_kn, axis=-1), values["thrust_kn"]),
        (-np.sum(force_kn * arm_m * np.cos(groups.clock_angle_rad), axis=-1), values["moment_nose_up_knm"]),
        (-np.sum(force_kn * arm_m * np.sin(groups.clock_angle_rad), axis=-1), values["moment_nose_right_knm"]),
    )
    met = [np.abs(got - wanted) <= 1e-6 * np.abs(values["thrust_kn"]) + 1e-9 for got, wanted in sums]
    return np.all(met, axis=0) | (values["feasible"] == 0)


def _within_bounds(values: Values) -> Any:
    pressure = values["group_pressure_kpa"]
    slack = 1e-9 * np.abs(values["pressure_max_kpa"])[..., None]
    return (pressure >= values["pressure_min_kpa"][..., None] - slack) & (pressure <= values["pressure_max_kpa"][..., None] + slack)


@method(
    "machine.steering.group_pressures",
    found_by={
        "group_pressure_kpa": Algorithm(
            "pressures with the least spread about their plain mean that give thrust and moments within the bounds; where none does, those that come closest",
            symbol="p_g",
            invariants={"thrust and moments are those wanted": _moments_met, "within the bounds": _within_bounds},
        ),
        "group_force_kn": Algorithm(
            "pressure times piston area",
            symbol="F_g",
            invariants={"p A": lambda v: np.isclose(v["group_force_kn"], v["group_pressure_kpa"] * v["groups"].ram_area_m2)},
        ),
        "feasible": Algorithm("1 where the bounds allow thrust and moments, else 0"),
    },
    possible={"ram_area_m2": (1e-4, 20.0), "pressure_min_kpa": (0.0, 1e5), "pressure_max_kpa": (0.0, 1e5)},
    requires=(Require("pressure_max_kpa", lambda v: v["pressure_max_kpa"] > v["pressure_min_kpa"], "must be more than the least pressure"),),
    remarks=(
        Remark(
            lambda v: v["feasible"] == 0,
            "the groups cannot give this thrust with these moments: the pressures come as close as they can; ask for less moment or more thrust, act",
        ),
    ),
    kind="identity",
    source=LEAST_SQUARES,
)
def group_pressures(
    groups: RamAreas,
    ram_circle_radius_m: Number,
    thrust_kn: Number,
    moment_nose_up_knm: Number,
    moment_nose_right_knm: Number,
    pressure_min_kpa: Number,
    pressure_max_kpa: Number,
) -> GroupPressures:
    """Return the most even pressures of the ram groups that push and steer as wanted.

    Parameters
    ----------
    groups : piston area, clock angle of the middle and half the arc of each group; half angle 0 stands for a single ram.
    ram_circle_radius_m : on which the rams stand.
    thrust_kn : wanted.
    moment_nose_up_knm : wanted from the rams.
    moment_nose_right_knm : wanted from the rams.
    pressure_min_kpa : below which no group may fall.
    pressure_max_kpa : above which no group may rise.
    """
    pressure_kpa, feasible = each_place(
        _at_one_place,
        2,
        (ram_circle_radius_m, thrust_kn, moment_nose_up_knm, moment_nose_right_knm, pressure_min_kpa, pressure_max_kpa),
        (groups.ram_area_m2, groups.clock_angle_rad, groups.half_angle_rad),
    )
    if pressure_kpa.size == 0:
        pressure_kpa = np.empty((*feasible.shape, groups.row_count))
    return GroupPressures(group_pressure_kpa=pressure_kpa, group_force_kn=pressure_kpa * groups.ram_area_m2, feasible=feasible)


def _at_one_place(
    radius_m: float, thrust_kn: float, up_knm: float, right_knm: float, low_kpa: float, high_kpa: float, area: FloatArray, clock: FloatArray, half: FloatArray
) -> tuple[FloatArray, float]:
    """Return the pressures of one set of wishes and whether they meet it."""
    if not np.isfinite([radius_m, thrust_kn, up_knm, right_knm, low_kpa, high_kpa]).all() or not np.isfinite([area, clock, half]).all():
        return np.full(area.shape, np.nan), np.nan
    # Moments are divided by the ram circle's radius and all by the thrust of the whole range, so that the three equations weigh alike.
    arm = np.sinc(half / np.pi)
    rows = np.stack([area, -area * arm * np.cos(clock), -area * arm * np.sin(clock)])
    wanted = np.array([thrust_kn, up_knm / radius_m, right_knm / radius_m])
    span_kpa = high_kpa - low_kpa
    scale_kn = span_kpa * area.sum()
    # In the unknowns (p - low) / span every bound is 0 to 1.
    equations = rows * span_kpa / scale_kn
    target = (wanted - rows.sum(axis=1) * low_kpa) / scale_kn
    start = np.clip(lsq_linear(equations, target, bounds=(0.0, 1.0), method="bvls", tol=1e-15).x, 0.0, 1.0)
    missed = float(np.max(np.abs(equations @ start - target)))
    share = _most_even(equations, start)
    return low_kpa + span_kpa * share, float(missed <= REACH)


def _most_even(equations: FloatArray, start: FloatArray) -> FloatArray:
    """Return the unknowns between 0 and 1 with the least spread that keep the equations as they stand at the start."""
    unknowns = start.copy()
    held = (unknowns <= ROUNDING) | (unknowns >= 1 - ROUNDING)
    unknowns[held] = np.round(unknowns[held])
    for _ in range(STEPS_PER_GROUP * unknowns.size):
        step, pull = _step(equations, unknowns, held)
        if np.max(np.abs(step)) <= ROUNDING:
            # A bound may go when the spread would shrink by leaving it: pull points inwards.
            inwards = np.where(held, np.where(unknowns < 0.5, pull, -pull), 0.0)
            freed = int(np.argmax(inwards))
            if inwards[freed] <= ROUNDING:
                break
            held[freed] = False
            continue
        room = np.where(step > 0, 1 - unknowns, -unknowns)
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = np.where(np.abs(step) > ROUNDING, room / step, np.inf)
        reach[held] = np.inf
        first = int(np.argmin(reach))
        length = min(1.0, float(reach[first]))
        unknowns = np.clip(unknowns + length * step, 0.0, 1.0)
        if reach[first] <= 1.0:
            held[first] = True
            unknowns[first] = np.round(unknowns[first])
    return unknowns


def _step(equations: FloatArray, unknowns: FloatArray, held: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Return the step of the free unknowns to the least spread, and how strongly the spread pulls each unknown up once it is reached."""
    count = unknowns.size
    spread = np.eye(count) - 1.0 / count
    free = ~held
    matrix = np.block([[spread[np.ix_(free, free)], equations[:, free].T], [equations[:, free], np.zeros((3, 3))]])
    downhill = -(spread @ unknowns)
    solution = np.linalg.lstsq(matrix, np.concatenate([downhill[free], np.zeros(3)]), rcond=None)[0]
    step = np.zeros(count)
    step[free] = solution[: int(free.sum())]
    multipliers = solution[int(free.sum()) :]
    pull = -(spread @ (unknowns + step)) - equations.T @ multipliers
    return step, pull
