"""Movement at points from all rings of one or several drives: every piece of a ring is a source of its own.

Curves, gradients, stopped rings, unequal loss and several drives need nothing more than their own rows.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.movement.depth import DepthModel, HorizontalFocus, width_and_focus
from tunnelwright.engineering.movement.sources import RING_SUM
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values

# Two middles are neighbours when no more than so many ring lengths lie between them: a gap is another drive or a shaft.
_NEIGHBOUR_LENGTHS: Final = 1.5
_BLOCK: Final = 2_000_000
_REACH_WIDTHS: Final = 5.0
_MOST_PIECES: Final = 1000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingSources(Table):
    """Rings in drive order; position of the ring's middle; ``released_share`` left out means all of it."""

    east_m: FloatArray
    north_m: FloatArray
    axis_depth_m: FloatArray
    ring_length_m: FloatArray
    trough_volume_m3_m: FloatArray
    trough_width_factor: FloatArray
    released_share: FloatArray | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundPoints(Table):
    """Points looked at; depth below the surface."""

    east_m: FloatArray
    north_m: FloatArray
    depth_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PointMovement(Record):
    """Movement per point; NaN at and below the axis of a ring that reaches the point."""

    settlement_m: Series
    horizontal_displacement_east_m: Series
    horizontal_displacement_north_m: Series


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pieces:
    """Rings cut into pieces: where each lies, its volume and the row it came from."""

    east_m: FloatArray
    north_m: FloatArray
    volume_m3: FloatArray
    row: FloatArray


def _too_deep(values: Values) -> bool:
    return bool(np.any(np.isnan(values["settlement_m"])))


@method(
    "movement.field.ring_sum",
    found_by={
        "settlement_m": Algorithm("sum over pieces of rings of volume / (2 pi i^2) exp(-rho^2 / (2 i^2)), rho the distance in plan", "S"),
        "horizontal_displacement_east_m": Algorithm("each piece's settlement times its eastward distance over the focus distance, towards the piece"),
        "horizontal_displacement_north_m": Algorithm("the same northward"),
    },
    possible={
        "east_m": (-1e8, 1e8),
        "north_m": (-1e8, 1e8),
        "axis_depth_m": (0.5, 400.0),
        "ring_length_m": (0.01, 10.0),
        "step_length_m": (0.01, 100.0),
        "released_share": (-0.5, 1.5),
    },
    remarks=(Remark(_too_deep, "not checked: a point lies at or below the axis of a ring that reaches it"),),
    kind="mean",
    source=RING_SUM,
)
def ring_sum(
    rings: RingSources,
    points: GroundPoints,
    depth_model: DepthModel = "mair 1993 scaled",
    horizontal_focus: HorizontalFocus = "of the depth model",
    step_length_m: Number = 0.5,
) -> PointMovement:
    """Return the movement of points from the rings driven so far.

    Parameters
    ----------
    rings : in drive order, one drive after the other; volume of the trough per metre, share of it released.
    points : places looked at.
    depth_model : how the trough narrows with depth.
    horizontal_focus : the point to which the ground moves: the one that keeps the volume, or the axis, which gives more at the surface.
    step_length_m : longest piece into which a ring is cut, along the line through the neighbouring middles; a quarter of the width is short enough.

    Notes
    -----
    A ring without neighbour stays in one piece. Cost: points times pieces, worked through in blocks.
    """

    def at_step(step_m: float) -> tuple[FloatArray, ...]:
        return _moved(rings, points, depth_model, horizontal_focus, step_m)

    settlement_m, east_m, north_m = each_place(at_step, 3, [step_length_m])
    return PointMovement(settlement_m=settlement_m, horizontal_displacement_east_m=east_m, horizontal_displacement_north_m=north_m)


def _moved(rings: RingSources, points: GroundPoints, depth_model: DepthModel, horizontal_focus: str, step_m: float) -> tuple[FloatArray, ...]:
    count = points.row_count
    if np.isnan(step_m):
        return tuple(np.full(count, np.nan) for _ in range(3))
    pieces = _cut(rings, step_m)
    moved = np.zeros((3, count))
    for some in _blocks(count, pieces.row.size):
        width_m, focus_m = width_and_focus(depth_model, rings.trough_width_factor, rings.axis_depth_m, points.depth_m[some, None])
        if horizontal_focus == "axis":
            focus_m = rings.axis_depth_m - points.depth_m[some, None]
        of_piece = pieces.row.astype(np.int64)
        width_m, focus_m = width_m[:, of_piece], np.broadcast_to(focus_m, width_m.shape)[:, of_piece]
        east_m = points.east_m[some, None] - pieces.east_m
        north_m = points.north_m[some, None] - pieces.north_m
        square = np.square(east_m) + np.square(north_m)
        # A ring out of reach of a point must not blank it, however deep the point lies.
        away = square > np.square(_REACH_WIDTHS * (rings.trough_width_factor * rings.axis_depth_m)[of_piece])
        width_m, focus_m = np.where(away & np.isnan(width_m), 1.0, width_m), np.where(away & ~(focus_m > 0), 1.0, focus_m)
        dimple_m = np.where(away, 0.0, pieces.volume_m3 / (2 * np.pi * np.square(width_m)) * np.exp(-0.5 * square / np.square(width_m)))
        moved[:, some] = np.stack([dimple_m.sum(axis=1), (-dimple_m * east_m / focus_m).sum(axis=1), (-dimple_m * north_m / focus_m).sum(axis=1)])
    return tuple(moved)


def _blocks(point_count: int, piece_count: int) -> Iterator[slice]:
    step = max(1, _BLOCK // max(piece_count, 1))
    return (slice(first, min(first + step, point_count)) for first in range(0, point_count, step))


def _cut(rings: RingSources, step_m: float) -> _Pieces:
    """Return the rings cut into pieces no longer than a step."""
    east_step, north_step = _directions(rings)
    has_direction = np.hypot(east_step, north_step) > 0
    counts = np.where(has_direction, np.clip(np.ceil(rings.ring_length_m / step_m - 1e-9), 1, _MOST_PIECES), 1).astype(np.int64)
    row = np.repeat(np.arange(rings.row_count), counts)
    within = np.arange(row.size) - np.repeat(np.cumsum(counts) - counts, counts)
    from_middle_m = rings.ring_length_m[row] * ((within + 0.5) / counts[row] - 0.5)
    share = np.ones(rings.row_count) if rings.released_share is None else np.where(np.isnan(rings.released_share), 1.0, rings.released_share)
    return _Pieces(
        east_m=rings.east_m[row] + from_middle_m * east_step[row],
        north_m=rings.north_m[row] + from_middle_m * north_step[row],
        volume_m3=(rings.trough_volume_m3_m * rings.ring_length_m * share / counts)[row],
        row=row.astype(np.float64),
    )


def _directions(rings: RingSources) -> tuple[FloatArray, FloatArray]:
    """Return the unit vector of each ring: from the middle before to the middle after, where these are neighbours; zero without any."""
    east_m, north_m, length_m = np.diff(rings.east_m), np.diff(rings.north_m), rings.ring_length_m
    apart_m = np.hypot(east_m, north_m)
    is_neighbour = (apart_m > 0) & (apart_m <= _NEIGHBOUR_LENGTHS * (length_m[1:] + length_m[:-1]) / 2)
    nothing = np.zeros(1)
    parts = []
    for difference in (east_m, north_m):
        kept = np.where(is_neighbour, difference, 0.0)
        parts.append(np.concatenate([nothing, kept]) + np.concatenate([kept, nothing]))
    size = np.hypot(*parts)
    size = np.where(size > 0, size, 1.0)
    return parts[0] / size, parts[1] / size
