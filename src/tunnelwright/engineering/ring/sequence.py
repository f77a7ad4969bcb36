"""Orientations of the rings ahead along a level circle or a straight line."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.ring.feasibility import POSITION_RULES, are_positions, are_whole, transitions
from tunnelwright.engineering.ring.geometry import GENTLE_TAPER, TaperKind, wedge_angle
from tunnelwright.engineering.ring.motions import ring_motion, start_pose
from tunnelwright.engineering.ring.search import LevelCircle, Sequence, Task, deviations_along, search
from tunnelwright.engineering.ring.sources import SEQUENCE_SEARCH
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import DERIVED, Count, FloatArray, Number, Record, Series, Values

_RINGS_MAX: Final = 7
_SEQUENCES_MAX: Final = 500_000
# Cost of the key's place: upper half, down to 4 and 8 o'clock, below.
_KEY_COST: Final = (0.0, 1.0, 3.0)
_KEY_LIMITS_RAD: Final = (np.pi / 2 + 1e-9, 2 * np.pi / 3 + 1e-9)
# Of these the values of one search, in this order.
_NUMBERS: Final = (
    "ring_outer_diameter_m",
    "ring_length_m",
    "taper_mm",
    "axis_radius_m",
    "start_lateral_mm",
    "start_vertical_mm",
    "start_heading_rad",
    "start_pitch_rad",
    "position_scale_mm",
    "angle_scale_rad",
    "key_weight",
    "key_to_widest_rad",
)


def key_cost(key_clock_angle_rad: FloatArray) -> FloatArray:
    """Return how unwanted a place of the key is: 0 in the upper half, 1 down to 4 and 8 o'clock, 3 below."""
    from_crown = np.abs(np.mod(key_clock_angle_rad + np.pi, 2 * np.pi) - np.pi)
    return np.asarray(np.select([from_crown <= _KEY_LIMITS_RAD[0], from_crown <= _KEY_LIMITS_RAD[1]], _KEY_COST[:2], _KEY_COST[2]))


def _task(given: Values, numbers: tuple[float, ...]) -> Task:
    """Return the task of one place of the broadcasting numbers."""
    one = dict(zip(_NUMBERS, numbers, strict=True))
    count = given["position_count"]
    widest = 2 * np.pi * np.arange(count) / count
    wedge = wedge_angle(one["ring_outer_diameter_m"], one["taper_mm"], given["taper_kind"])
    start = start_pose(one["start_heading_rad"], one["start_pitch_rad"], 0.0)
    start[1, 3], start[2, 3] = one["start_lateral_mm"] / 1000, -one["start_vertical_mm"] / 1000
    return Task(
        axis=LevelCircle(1 / one["axis_radius_m"]),
        start=start,
        motions=ring_motion(wedge, one["ring_length_m"], widest, given["taper_kind"]),
        follows=transitions(count, given["allowed_turns"], given["allowed_positions"]).astype(bool),
        previous=given["previous_position"],
        step_cost=one["key_weight"] * key_cost(widest - one["key_to_widest_rad"]),
        position_scale_m=one["position_scale_mm"] / 1000,
        angle_scale_rad=one["angle_scale_rad"],
        ring_count=given["ring_count"],
    )


def _row(task: Task, found: Sequence | None) -> tuple[Any, ...]:
    nothing = np.full(task.ring_count, np.nan)
    if found is None:
        return (np.nan, *(nothing,) * 5)
    off = deviations_along(task, found.positions)
    return found.cost, found.positions.astype(np.float64), 1000 * off.lateral_m, 1000 * off.vertical_m, off.heading_rad, off.pitch_rad


def _at_each_place(given: Values, solve: Callable[[Task], tuple[Any, ...]], result_count: int) -> tuple[FloatArray, ...]:
    numbers = [np.inf if given[name] is None else given[name] for name in _NUMBERS]
    nothing = (np.nan, *(np.full(given["ring_count"], np.nan),) * 5, np.nan)[:result_count]
    return each_place(lambda *one: solve(_task(given, one)) if np.all(~np.isnan(one)) else nothing, result_count, numbers)


def _obeys_the_turns(values: Values) -> bool:
    positions = values["positions"]
    if np.isnan(positions).any():
        return True
    steps = np.diff(positions, prepend=np.full((*positions.shape[:-1], 1), float(values["previous_position"])))
    return bool(np.isin(np.mod(steps, values["position_count"]), np.mod(values["allowed_turns"], values["position_count"])).all())


def _has_answer(values: Values) -> bool:
    if not (are_positions(values) and are_whole(values["allowed_turns"]) and values["previous_position"] < values["position_count"]):
        return True
    follows = transitions(values["position_count"], values["allowed_turns"], values["allowed_positions"]).astype(bool)
    can_go_on: NDArray[np.bool_] = np.ones(values["position_count"], dtype=np.bool_)
    for _ in range(values["ring_count"]):
        can_go_on = np.asarray(np.any(follows & can_go_on, axis=1))
    return bool(can_go_on[values["previous_position"]])


_COST_HOW: Final = "squared deviations of every new plane over their squared scales, plus the weighted cost of the key's place, summed over the rings"
_FOUND: Final = {
    "lateral_mm": Algorithm("of each new plane's centre from its foot on the axis, right positive", "y_n"),
    "vertical_mm": Algorithm("of the same, up positive", "z_n"),
    "heading_deviation_rad": Algorithm("of each new plane against the axis at its foot, right positive", "dpsi_n"),
    "pitch_deviation_rad": Algorithm("of the same, up positive", "dpitch_n"),
}
_RULES: Final = (
    *POSITION_RULES,
    GENTLE_TAPER,
    Require("ring_count", lambda v: v["ring_count"] >= 1, "must be 1 or more"),
    Require("previous_position", lambda v: v["previous_position"] < v["position_count"], "must be less than position_count"),
    Require("axis_radius_m", lambda v: v["axis_radius_m"] is None or np.all(~(np.abs(v["axis_radius_m"]) < 10)), "must be 10 m or more, left negative"),
    Require("allowed_turns", _has_answer, "must leave a sequence through the allowed positions", "allow more turns or positions"),
)
_DERIVED: Final = {"angle_scale_rad": Formula("s_a", "atan(T_w / (2000 * D_o))")}


def _leaves_the_axis(values: Values) -> bool:
    return bool(np.any(np.hypot(values["lateral_mm"], values["vertical_mm"]) > 50))


_REMARKS: Final = (
    Remark(_leaves_the_axis, "a ring plane lies more than 50 mm off the axis: the rules leave too little curvature, see ring.feasibility.residual"),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Enumerated(Record):
    """The cheapest of all sequences."""

    cost: FloatArray
    positions: Series
    lateral_mm: Series
    vertical_mm: Series
    heading_deviation_rad: Series
    pitch_deviation_rad: Series


@method(
    "ring.sequence.exhaustive",
    found_by={
        "cost": Algorithm(f"least over all sequences that the rules admit: {_COST_HOW}", "J", {"nothing costs less than nothing": lambda v: ~(v["cost"] < 0)}),
        "positions": Algorithm("the cheapest sequence; of equals the one with the lower orientation first", "k_n", {"each turn is allowed": _obeys_the_turns}),
        **_FOUND,
    },
    derived=_DERIVED,
    requires=(
        *_RULES,
        Require("ring_count", lambda v: v["ring_count"] <= _RINGS_MAX, f"must be at most {_RINGS_MAX}", "use ring.sequence.beam for more rings"),
        Require(
            "allowed_turns",
            lambda v: v["allowed_turns"].size ** min(v["ring_count"], _RINGS_MAX) <= _SEQUENCES_MAX,
            f"must leave at most {_SEQUENCES_MAX} sequences",
            "use fewer rings or ring.sequence.beam",
        ),
    ),
    remarks=_REMARKS,
    kind="identity",
    source=SEQUENCE_SEARCH,
)
def exhaustive(
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    taper_mm: Number,
    position_count: Count,
    allowed_turns: Series,
    ring_count: Count,
    previous_position: Count = 0,
    axis_radius_m: Number | None = None,
    allowed_positions: Series | None = None,
    start_lateral_mm: Number = 0.0,
    start_vertical_mm: Number = 0.0,
    start_heading_rad: Number = 0.0,
    start_pitch_rad: Number = 0.0,
    position_scale_mm: Number = 10.0,
    angle_scale_rad: Number = DERIVED,
    key_weight: Number = 0.0,
    key_to_widest_rad: Number = 0.0,
    taper_kind: TaperKind = "double",
) -> Enumerated:
    """Return the cheapest orientations of a few rings ahead, of all that the rules admit.

    Parameters
    ----------
    ring_outer_diameter_m : at which the taper is given.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge.
    position_count : orientations round the turn; number 0 has the longest edge at the crown.
    allowed_turns : relative turns from ring to ring, in positions.
    ring_count : rings looked ahead, at most 7.
    previous_position : orientation of the last ring built.
    axis_radius_m : of a level circle, right-hand positive; straight when left out.
    allowed_positions : orientations that may be used; all when left out.
    start_lateral_mm, start_vertical_mm : centre of the last plane off the axis, right and up.
    start_heading_rad, start_pitch_rad : last plane against the axis, right and up.
    position_scale_mm : deviation of a centre that costs one.
    angle_scale_rad : deviation of a plane that costs one; half the wedge angle of a double taper when left out.
    key_weight : weight of the key's place: 0 in the upper half, 1 down to 4 and 8 o'clock, 3 below.
    key_to_widest_rad : from the key's centre to the longest edge, clockwise; only for the cost of the key.
    taper_kind : ``double`` with both faces inclined by half, ``single`` with a square rear face.
    """
    given = dict(locals())
    cost, positions, lateral, vertical, heading, pitch = _at_each_place(given, lambda task: _row(task, search(task, None)), 6)
    return Enumerated(cost=cost, positions=positions, lateral_mm=lateral, vertical_mm=vertical, heading_deviation_rad=heading, pitch_deviation_rad=pitch)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Planned(Record):
    """A cheap sequence, and what taking the best next ring each time would cost."""

    cost: FloatArray
    positions: Series
    lateral_mm: Series
    vertical_mm: Series
    heading_deviation_rad: Series
    pitch_deviation_rad: Series
    greedy_cost: FloatArray


@method(
    "ring.sequence.beam",
    found_by={
        "cost": Algorithm(
            f"beam search: the cheapest states kept after each ring, those at the same pose merged; {_COST_HOW}",
            "J",
            {
                "nothing costs less than nothing": lambda v: ~(v["cost"] < 0),
                "no worse than the best next ring each time": lambda v: ~(v["cost"] > v["greedy_cost"] + 1e-9),
            },
        ),
        "positions": Algorithm(
            "the cheapest sequence found; of equals the one with the lower orientation first", "k_n", {"each turn is allowed": _obeys_the_turns}
        ),
        **_FOUND,
        "greedy_cost": Algorithm("the same with the best next ring taken each time", "J_1"),
    },
    derived=_DERIVED,
    requires=(*_RULES, Require("breadth", lambda v: v["breadth"] >= 1, "must be 1 or more")),
    remarks=_REMARKS,
    kind="identity",
    source=SEQUENCE_SEARCH,
)
def beam(
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    taper_mm: Number,
    position_count: Count,
    allowed_turns: Series,
    ring_count: Count,
    previous_position: Count = 0,
    axis_radius_m: Number | None = None,
    allowed_positions: Series | None = None,
    breadth: Count = 1000,
    start_lateral_mm: Number = 0.0,
    start_vertical_mm: Number = 0.0,
    start_heading_rad: Number = 0.0,
    start_pitch_rad: Number = 0.0,
    position_scale_mm: Number = 10.0,
    angle_scale_rad: Number = DERIVED,
    key_weight: Number = 0.0,
    key_to_widest_rad: Number = 0.0,
    taper_kind: TaperKind = "double",
) -> Planned:
    """Return good orientations of the rings ahead, by a search that keeps the cheapest states after each ring.

    Parameters
    ----------
    ring_outer_diameter_m : at which the taper is given.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge.
    position_count : orientations round the turn; number 0 has the longest edge at the crown.
    allowed_turns : relative turns from ring to ring, in positions.
    ring_count : rings planned.
    previous_position : orientation of the last ring built.
    axis_radius_m : of a level circle, right-hand positive; straight when left out.
    allowed_positions : orientations that may be used; all when left out.
    breadth : states kept after each ring; 1 takes the best next ring each time.
    start_lateral_mm, start_vertical_mm : centre of the last plane off the axis, right and up.
    start_heading_rad, start_pitch_rad : last plane against the axis, right and up.
    position_scale_mm : deviation of a centre that costs one.
    angle_scale_rad : deviation of a plane that costs one; half the wedge angle of a double taper when left out.
    key_weight : weight of the key's place: 0 in the upper half, 1 down to 4 and 8 o'clock, 3 below.
    key_to_widest_rad : from the key's centre to the longest edge, clockwise; only for the cost of the key.
    taper_kind : ``double`` with both faces inclined by half, ``single`` with a square rear face.

    Notes
    -----
    A schedule is a forecast of orientations and quantities. The instruction for the next ring is planned anew from the last measured plane.
    """
    given = dict(locals())

    def solve(task: Task) -> tuple[Any, ...]:
        greedy = search(task, 1)
        found = search(task, breadth)
        # A narrow beam may lose the greedy path on the way.
        best = min((one for one in (found, greedy) if one is not None), key=lambda one: one.cost, default=None)
        return (*_row(task, best), np.nan if greedy is None else greedy.cost)

    cost, positions, lateral, vertical, heading, pitch, greedy_cost = _at_each_place(given, solve, 7)
    return Planned(
        cost=cost,
        positions=positions,
        lateral_mm=lateral,
        vertical_mm=vertical,
        heading_deviation_rad=heading,
        pitch_deviation_rad=pitch,
        greedy_cost=greedy_cost,
    )
