"""Which curvature a set of orientations and turns can keep up for ever.

A long drive at constant curvature is a circulation: so many rings in each orientation, as many turned into it as out of it. Its mean bend is linear
in these shares, so the reachable radius and the least residual are linear programmes. Orientations that cannot reach each other again and again
cannot be mixed; each set that can is solved by itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, sparse
from scipy.sparse import csgraph

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.ring.sources import TURN_NETWORK
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Series, Values

# Least bend, as a share of that of rings in one orientation, that counts as reachable.
_LEAST_BEND: Final = 1e-7


def are_whole(numbers: FloatArray | None) -> bool:
    """Return whether all numbers of a list are whole."""
    return numbers is None or bool(np.all(numbers == np.round(numbers)))


def are_positions(values: Values) -> bool:
    """Return whether the allowed positions are whole numbers that the ring has."""
    positions = values["allowed_positions"]
    return positions is None or bool(are_whole(positions) and positions.size and np.all((positions >= 0) & (positions < values["position_count"])))


POSITION_RULES: Final = (
    Require("position_count", lambda v: v["position_count"] >= 1, "must be 1 or more"),
    Require("allowed_turns", lambda v: are_whole(v["allowed_turns"]) and v["allowed_turns"].size > 0, "must be whole numbers of positions"),
    Require("allowed_positions", are_positions, "must be whole numbers from 0 to one less than position_count"),
)


def transitions(position_count: int, turns: FloatArray, positions: FloatArray | None) -> FloatArray:
    """Return for each pair of orientations whether the second may follow the first, 1 or 0."""
    allowed = np.zeros(position_count, dtype=bool)
    allowed[np.arange(position_count) if positions is None else positions.astype(int)] = True
    follows = np.zeros((position_count, position_count))
    start = np.arange(position_count)
    for turn in turns.astype(int):
        follows[start, (start + turn) % position_count] = 1.0
    return follows * allowed * allowed[:, None]


@dataclass(frozen=True, slots=True)
class _Circulation:
    """Edges of one set of orientations that reach each other: where each leads, the bend built there, and what every circulation obeys."""

    position: NDArray[np.intp]
    balance: FloatArray
    right: FloatArray
    up: FloatArray

    def shares(self, frequency: FloatArray, position_count: int) -> FloatArray:
        return np.asarray(np.bincount(self.position, weights=np.clip(frequency, 0, None), minlength=position_count), dtype=np.float64)


def _circulations(position_count: int, turns: FloatArray, positions: FloatArray | None) -> Iterator[_Circulation]:
    follows = transitions(position_count, turns, positions)
    _, group = csgraph.connected_components(sparse.csr_matrix(follows), directed=True, connection="strong")
    first, second = np.nonzero(follows)
    for number in np.unique(group):
        edges = (group[first] == number) & (group[second] == number)
        if edges.any():
            start, end = first[edges], second[edges]
            flow = np.zeros((position_count, start.size))
            np.add.at(flow, (start, np.arange(start.size)), 1.0)
            np.add.at(flow, (end, np.arange(start.size)), -1.0)
            widest = 2 * np.pi * end / position_count
            yield _Circulation(position=end, balance=np.vstack([flow, np.ones(start.size)]), right=-np.sin(widest), up=-np.cos(widest))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReachableRadius(Record):
    """Tightest curve that can be kept up in one direction, and the orientations that build it."""

    reachable_radius_m: FloatArray
    position_shares: Series


def _tightest(ring_radius_m: float, bend_rad: float, turns: FloatArray, positions: FloatArray | None, position_count: int) -> tuple[float, FloatArray]:
    best, shares = 0.0, np.full(position_count, np.nan)
    for one in _circulations(position_count, turns, positions) if np.isfinite(bend_rad) else ():
        along = one.right * np.sin(bend_rad) + one.up * np.cos(bend_rad)
        across = one.right * np.cos(bend_rad) - one.up * np.sin(bend_rad)
        found = optimize.linprog(-along, A_eq=np.vstack([one.balance, across]), b_eq=[*np.zeros(position_count), 1.0, 0.0], bounds=(0, None))
        if found.status == 0 and -found.fun > max(best, _LEAST_BEND):
            best, shares = -found.fun, one.shares(found.x, position_count)
    return ring_radius_m / best if best > 0 else np.nan, shares


@method(
    "ring.feasibility.reachable_radius",
    found_by={
        "reachable_radius_m": Algorithm(
            "linear programme: greatest mean bend in the direction over all circulations of orientations, none across it; none where there is no bend",
            "R_reach",
            {"never tighter than rings in one orientation": lambda v: ~(v["reachable_radius_m"] < v["ring_radius_m"] * (1 - 1e-9))},
        ),
        "position_shares": Algorithm(
            "share of the rings in each orientation in that circulation; one of them where several build the same curve",
            "x",
            {"shares add up to one": lambda v: np.isnan(v["reachable_radius_m"]) | (np.abs(v["position_shares"].sum(axis=-1) - 1) < 1e-9)},
        ),
    },
    requires=POSITION_RULES,
    kind="identity",
    source=TURN_NETWORK,
)
def reachable_radius(
    ring_radius_m: Number, position_count: Count, allowed_turns: Series, bend_clock_angle_rad: Number, allowed_positions: Series | None = None
) -> ReachableRadius:
    """Return the tightest curve that rings can keep up towards one side with the turns that stagger leaves.

    Parameters
    ----------
    ring_radius_m : with all rings in one orientation.
    position_count : orientations round the turn; number 0 has the longest edge at the crown.
    allowed_turns : relative turns from ring to ring, in positions.
    bend_clock_angle_rad : towards the centre of the curve, a quarter turn for a right-hand curve, 0 for a sag.
    allowed_positions : orientations that may be used; all when left out.

    Notes
    -----
    The bend across the direction is held at zero. Without that, a set of rings would seem to turn right while it dives.
    """
    radius, shares = each_place(
        lambda one, bend, turns, positions: _tightest(one, bend, turns, positions, position_count),
        2,
        [ring_radius_m, bend_clock_angle_rad],
        [allowed_turns, allowed_positions],
    )
    return ReachableRadius(reachable_radius_m=radius, position_shares=shares)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BendResidual(Record):
    """Bend that is missing, as a share of that of rings in one orientation, and the orientations that come nearest."""

    residual: FloatArray
    position_shares: Series


def _nearest(
    ring_radius_m: float, axis_radius_m: float, bend_rad: float, turns: FloatArray, positions: FloatArray | None, position_count: int
) -> tuple[float, FloatArray]:
    bend = ring_radius_m / axis_radius_m
    best, shares = np.nan, np.full(position_count, np.nan)
    for one in _circulations(position_count, turns, positions) if np.isfinite(bend + bend_rad) else ():
        count = one.right.size
        # Two pairs of slacks take up what is missing to the right and upwards.
        slack = np.array([[1.0, -1.0, 0.0, 0.0], [0.0, 0.0, 1.0, -1.0]])
        rows = np.vstack([np.hstack([one.balance, np.zeros((position_count + 1, 4))]), np.hstack([np.vstack([one.right, one.up]), slack])])
        wanted = [*np.zeros(position_count), 1.0, bend * np.sin(bend_rad), bend * np.cos(bend_rad)]
        found = optimize.linprog([*np.zeros(count), 1.0, 1.0, 1.0, 1.0], A_eq=rows, b_eq=wanted, bounds=(0, None))
        if found.status == 0 and not found.fun >= best:
            best, shares = float(found.fun), one.shares(found.x[:count], position_count)
    return best, shares


@method(
    "ring.feasibility.residual",
    found_by={
        "residual": Algorithm(
            "linear programme: least sum of the bend missing to the right and upwards over all circulations of orientations",
            "delta_b",
            {"it is none or more than none": lambda v: ~(v["residual"] < -1e-9)},
        ),
        "position_shares": Algorithm(
            "share of the rings in each orientation in that circulation",
            "x",
            {"shares add up to one": lambda v: np.isnan(v["residual"]) | (np.abs(v["position_shares"].sum(axis=-1) - 1) < 1e-9)},
        ),
    },
    possible={"axis_radius_m": (10.0, np.inf)},
    valid={"residual": Range(-np.inf, 1e-6, "the curve cannot be kept up with these orientations: the tunnel would leave the axis")},
    requires=POSITION_RULES,
    kind="identity",
    source=TURN_NETWORK,
)
def residual(
    ring_radius_m: Number,
    position_count: Count,
    allowed_turns: Series,
    axis_radius_m: Number | None = None,
    bend_clock_angle_rad: Number = 0.0,
    allowed_positions: Series | None = None,
) -> BendResidual:
    """Return how much bend is missing when rings follow a curve for ever; none means that the curve can be kept up.

    Parameters
    ----------
    ring_radius_m : with all rings in one orientation.
    position_count : orientations round the turn; number 0 has the longest edge at the crown.
    allowed_turns : relative turns from ring to ring, in positions.
    axis_radius_m : radius of the axis in space; straight when left out.
    bend_clock_angle_rad : towards the centre of the curve, a quarter turn for a right-hand curve, 0 for a sag.
    allowed_positions : orientations that may be used; all when left out.
    """
    missing, shares = each_place(
        lambda one, axis, bend, turns, positions: _nearest(one, axis, bend, turns, positions, position_count),
        2,
        [ring_radius_m, np.inf if axis_radius_m is None else axis_radius_m, bend_clock_angle_rad],
        [allowed_turns, allowed_positions],
    )
    return BendResidual(residual=missing, position_shares=shares)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PairShares(Record):
    """Shares of ring types in a curve."""

    curve_side_share: FloatArray
    other_side_share: FloatArray
    straight_share: FloatArray


@method(
    "ring.feasibility.left_right_shares",
    formulas={
        "curve_side_share": Formula("x_curve", 'R_ring / R_a if straight_rings == "yes" else (1 + R_ring / R_a) / 2'),
        "other_side_share": Formula("x_other", '0 if straight_rings == "yes" else 1 - x_curve'),
        "straight_share": Formula("x_straight", "1 - x_curve - x_other"),
    },
    possible={"axis_radius_m": (10.0, np.inf)},
    valid={"curve_side_share": Range(0.0, 1.0, "the curve is tighter than the ring can build")},
    kind="identity",
    source=TURN_NETWORK,
)
def left_right_shares(ring_radius_m: Number, axis_radius_m: Number, straight_rings: Literal["yes", "no"] = "no") -> PairShares:
    """Return how many rings of each type a curve takes with a pair of left and right rings.

    Parameters
    ----------
    ring_radius_m : with rings of one side only.
    axis_radius_m : of the curve.
    straight_rings : whether straight rings are in stock.
    """
    bend = np.asarray(ring_radius_m) / axis_radius_m
    curve = bend if straight_rings == "yes" else (1 + bend) / 2
    other = np.zeros_like(curve) if straight_rings == "yes" else 1 - curve
    return PairShares(curve_side_share=curve, other_side_share=other, straight_share=1 - curve - other)
