"""Search for the orientations of the rings ahead.

The state after each ring is the pose of its front plane and its orientation. A step appends every orientation that may follow, adds the cost of the new
plane's deviations, merges states that are as good as the same, and keeps the cheapest ones. Without merging and limit it enumerates all sequences.
"""

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.ring.motions import heading_of, pitch_of
from tunnelwright.vocabulary.types import FloatArray

# States closer than these shares of the scales in position and angle are taken as the same: 1 mm and 0.1 mrad with the usual scales.
_MERGE_POSITION: Final = 0.1
_MERGE_ANGLE: Final = 0.03
# Digits to which costs are compared, so that a sequence and its mirror image tie and the lower orientation wins on every machine.
_COST_DIGITS: Final = 9


@dataclass(frozen=True, slots=True)
class Deviations:
    """Deviations of ring planes from the axis at the foot of their centres: right, up, heading right, pitch up."""

    lateral_m: FloatArray
    vertical_m: FloatArray
    heading_rad: FloatArray
    pitch_rad: FloatArray


class Axis(Protocol):
    """Where ring planes lie against a designed axis, in the axes forward, right, down in which poses are given."""

    def deviations(self, pose: FloatArray) -> Deviations:
        """Return the deviations of poses (..., 4, 4)."""


@dataclass(frozen=True, slots=True)
class LevelCircle:
    """A level circle that starts at the origin along the forward axis; curvature 0 is a straight line."""

    curvature_1_m: float

    def deviations(self, pose: FloatArray) -> Deviations:
        """Return the deviations of poses against the foot of their centres on the circle."""
        forward, right, down = pose[..., 0, 3], pose[..., 1, 3], pose[..., 2, 3]
        if self.curvature_1_m == 0:
            lateral, direction = right, np.zeros_like(right)
        else:
            radius, side = 1 / abs(self.curvature_1_m), np.sign(self.curvature_1_m)
            to_centre = radius - side * right
            lateral, direction = side * (radius - np.hypot(forward, to_centre)), side * np.arctan2(forward, to_centre)
        heading = np.mod(heading_of(pose) - direction + np.pi, 2 * np.pi) - np.pi
        return Deviations(lateral_m=lateral, vertical_m=-down, heading_rad=heading, pitch_rad=pitch_of(pose))


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What a search has to find.

    Parameters
    ----------
    start : pose of the last plane built.
    motions : motion of a ring in each orientation.
    follows : for each pair of orientations whether the second may follow the first.
    previous : orientation of the last ring built.
    step_cost : what each orientation costs by itself.
    """

    axis: Axis
    start: FloatArray
    motions: FloatArray
    follows: NDArray[np.bool_]
    previous: int
    step_cost: FloatArray
    position_scale_m: float
    angle_scale_rad: float
    ring_count: int

    def open_ends(self) -> list[NDArray[np.bool_]]:
        """Return for each number of rings still to build from which orientations they can be built at all."""
        ends: list[NDArray[np.bool_]] = [np.ones(len(self.motions), dtype=np.bool_)]
        for _ in range(self.ring_count):
            ends.append(np.asarray(np.any(self.follows & ends[-1], axis=1)))
        return ends

    def has_answer(self) -> bool:
        """Return whether any sequence obeys the rules."""
        return bool(self.open_ends()[self.ring_count][self.previous])


@dataclass(frozen=True, slots=True)
class Sequence:
    """The cheapest sequence found."""

    cost: float
    positions: NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _States:
    """Sequences so far, always in the order of their orientations read as words, so that the first of equals is the lowest."""

    pose: FloatArray
    position: NDArray[np.intp]
    cost: FloatArray
    history: NDArray[np.intp]

    def chosen(self, which: NDArray[np.intp]) -> "_States":
        return _States(self.pose[which], self.position[which], self.cost[which], self.history[which])


def deviation_cost(task: Task, off: Deviations) -> FloatArray:
    """Return what deviations cost."""
    position = (np.square(off.lateral_m) + np.square(off.vertical_m)) / task.position_scale_m**2
    return np.asarray(position + (np.square(off.heading_rad) + np.square(off.pitch_rad)) / task.angle_scale_rad**2)


def _grown(task: Task, states: _States, can_go_on: NDArray[np.bool_], ring: int) -> tuple[_States, Deviations]:
    parent, position = np.nonzero(task.follows[states.position] & can_go_on)
    pose = states.pose[parent] @ task.motions[position]
    off = task.axis.deviations(pose)
    history = states.history[parent]
    history[:, ring] = position
    return _States(pose, position, states.cost[parent] + deviation_cost(task, off) + task.step_cost[position], history), off


def _merged(task: Task, states: _States, off: Deviations) -> _States:
    """Return the states without those for which a cheaper one stands in the same orientation at as good as the same pose."""
    cell = np.column_stack(
        [
            states.position,
            np.round(off.lateral_m / (_MERGE_POSITION * task.position_scale_m)),
            np.round(off.vertical_m / (_MERGE_POSITION * task.position_scale_m)),
            np.round(off.heading_rad / (_MERGE_ANGLE * task.angle_scale_rad)),
            np.round(off.pitch_rad / (_MERGE_ANGLE * task.angle_scale_rad)),
        ]
    )
    cheapest_first = np.argsort(np.round(states.cost, _COST_DIGITS), kind="stable")
    _, first = np.unique(cell[cheapest_first], axis=0, return_index=True)
    return states.chosen(np.sort(cheapest_first[first]))


def search(task: Task, breadth: int | None) -> Sequence | None:
    """Return the cheapest sequence found, None when the rules admit none.

    Parameters
    ----------
    task : what has to be found.
    breadth : states kept after each ring; 1 takes the best next ring each time; None keeps all of them and merges none.
    """
    if not task.has_answer():
        return None
    ends = task.open_ends()
    states = _States(task.start[None], np.array([task.previous]), np.zeros(1), np.zeros((1, task.ring_count), dtype=np.intp))
    for ring in range(task.ring_count):
        states, off = _grown(task, states, ends[task.ring_count - ring - 1], ring)
        if breadth is not None:
            states = _merged(task, states, off)
            states = states.chosen(np.sort(np.argsort(np.round(states.cost, _COST_DIGITS), kind="stable")[:breadth]))
    best = int(np.argmin(np.round(states.cost, _COST_DIGITS)))
    return Sequence(cost=float(states.cost[best]), positions=states.history[best])


def deviations_along(task: Task, positions: NDArray[np.intp]) -> Deviations:
    """Return the deviations of every plane of a sequence."""
    poses = [task.start]
    for position in positions:
        poses.append(poses[-1] @ task.motions[position])
    return task.axis.deviations(np.array(poses[1:]).reshape(-1, 4, 4))
