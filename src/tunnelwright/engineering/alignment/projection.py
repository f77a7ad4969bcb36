"""The place of surveyed points on the axis.

             P
             |  lateral deviation y, positive right
-----C(s)----+----------------->  axis, chainage s
(P - C(s)) . tangent = 0
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.alignment.chain import KEEP_CURVATURE
from tunnelwright.engineering.alignment.plan_curve import Elements, IntArray, PlanCurve
from tunnelwright.engineering.alignment.sources import GEOMETRY
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

_NET_M: Final = 5.0
_NET_SHARE_OF_RADIUS: Final = 0.1
_NODES_MAX: Final = 40_000
# Points are compared with the net in chunks of about this many distances, to keep memory flat.
_CHUNK: Final = 500_000
_ITERATIONS_MAX: Final = 60
_STOP_SHARE: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaceOnAxis(Record):
    """Chainage and lateral deviation of points."""

    chainage_m: FloatArray
    lateral_deviation_m: FloatArray


class _Net:
    """Nodes on a chain, close enough that between two of them the distance to a point has one least value."""

    def __init__(self, curve: PlanCurve) -> None:
        sharpest = float(np.max(np.abs([curve.start_curvature_1_m, curve.end_curvature_1_m]), initial=0.0))
        total = curve.total_length_m
        spacing = min(_NET_M, _NET_SHARE_OF_RADIUS / sharpest) if sharpest > 0 else _NET_M
        count = int(np.clip(np.ceil(total / spacing), 2, _NODES_MAX)) + 1
        self.curve = curve
        self.distance_m = np.linspace(0.0, total, count)
        self.points = curve.at(self.distance_m)

    def squared_distances(self, along_m: FloatArray, across_m: FloatArray) -> FloatArray:
        """Return the squared distance of every point (rows) from every node."""
        return np.square(along_m[:, None] - self.points.along_m) + np.square(across_m[:, None] - self.points.across_m)


def _is_least_locally(squared: FloatArray) -> NDArray[np.bool_]:
    edge = np.full((len(squared), 1), np.inf)
    return (squared <= np.hstack([edge, squared[:, :-1]])) & (squared < np.hstack([squared[:, 1:], edge]))


def _nearest_nodes(net: _Net, along: FloatArray, across: FloatArray, expected: FloatArray, radius: FloatArray) -> IntArray:
    """Return the node from which each point's foot is sought: of the near local minima that next to the expected place, else the nearest of all."""
    nodes = np.empty(len(along), dtype=np.intp)
    rows = max(1, _CHUNK // len(net.distance_m))
    for first in range(0, len(along), rows):
        part = slice(first, first + rows)
        squared = net.squared_distances(along[part], across[part])
        reachable = _is_least_locally(squared) & (squared <= np.square(radius[part])[:, None])
        from_expected = np.abs(net.distance_m - expected[part, None])
        by_expectation = np.where(reachable, np.nan_to_num(from_expected, nan=np.inf), np.inf)
        nearest = np.argmin(np.nan_to_num(squared, nan=np.inf), axis=1)
        choosable = np.isfinite(by_expectation).any(axis=1)
        nodes[part] = np.where(choosable, np.argmin(by_expectation, axis=1), nearest)
    return nodes


def _feet(net: _Net, along: FloatArray, across: FloatArray, nodes: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return distance along the chain and lateral deviation of the feet, by Newton's rule kept inside a bracket."""
    last = len(net.distance_m) - 1
    low, high = net.distance_m[np.maximum(nodes - 1, 0)], net.distance_m[np.minimum(nodes + 1, last)]
    place = net.distance_m[nodes]
    total = net.curve.total_length_m
    for _ in range(_ITERATIONS_MAX):
        ahead, lateral, bend = _seen_from(net.curve, place, along, across)
        low, high = np.where(ahead > 0, np.maximum(low, np.minimum(place, high)), low), np.where(ahead < 0, np.minimum(high, np.maximum(place, low)), high)
        rate = 1 - bend * lateral
        newton = place + ahead / np.where(rate == 0, 1.0, rate)
        before, after = (place < 0) | ((place == 0) & (ahead < 0)), (place > total) | ((place == total) & (ahead > 0))
        usable = (newton >= low) & (newton <= high) & (np.abs(rate) >= 0.2)
        # Beyond an end the tangent is straight: one step is exact.
        following = np.where(before | after, place + ahead, np.where(usable, newton, (low + high) / 2))
        step, place = np.abs(following - place), following
        if not np.any(step > _STOP_SHARE * max(total, 1e-9)):
            break
    _, lateral, _ = _seen_from(net.curve, place, along, across)
    return place, lateral


def _seen_from(curve: PlanCurve, distance: FloatArray, along: FloatArray, across: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return how far points lie ahead and to the right of places on the chain, and the curvature there."""
    points = curve.at(distance)
    x, y = along - points.along_m, across - points.across_m
    cosine, sine = np.cos(points.bearing_rad), np.sin(points.bearing_rad)
    return x * cosine + y * sine, y * cosine - x * sine, points.curvature_1_m


def _into_frame(values: Values) -> tuple[FloatArray, FloatArray]:
    north = np.subtract(values["northing_m"], values["start_northing_m"])
    east = np.subtract(values["easting_m"], values["start_easting_m"])
    cosine, sine = np.cos(values["start_bearing_rad"]), np.sin(values["start_bearing_rad"])
    return north * cosine + east * sine, east * cosine - north * sine


def _one_foot_or_told_which(values: Values) -> bool:
    """Say whether each point has one foot within the search radius, or an expected chainage that tells which is meant."""
    if values["expected_chainage_m"] is not None:
        return True
    along, across, radius = (np.atleast_1d(one).ravel() for one in np.broadcast_arrays(*_into_frame(values), values["search_radius_m"]))
    net = _Net(PlanCurve(values["elements"]))
    squared = net.squared_distances(along, across)
    feet = (_is_least_locally(squared) & (squared <= np.square(radius)[:, None])).sum(axis=1)
    return bool(np.all(feet <= 1))


def _beyond(values: Values) -> FloatArray:
    distance = values["chainage_m"] - values["start_chainage_m"]
    total = float(np.sum(values["elements"].length_m))
    return (distance < -1e-9 * total) | (distance > total * (1 + 1e-9))


def _square_to_the_axis(values: Values) -> FloatArray:
    along, across = _into_frame(values)
    curve = PlanCurve(values["elements"])
    ahead, lateral, _ = _seen_from(curve, np.subtract(values["chainage_m"], values["start_chainage_m"]), along, across)
    scale = 1 + np.abs(lateral)
    return np.isnan(ahead) | ((np.abs(ahead) < 1e-6 * scale) & (np.abs(lateral - values["lateral_deviation_m"]) < 1e-6 * scale))


@method(
    "alignment.horizontal.project_point",
    found_by={
        "chainage_m": Algorithm(
            "nearest node of a net on the axis, then Newton's rule inside a bracket until the step vanishes; beyond an end along its tangent",
            "s",
            {"the point lies square to the axis": _square_to_the_axis},
        ),
        "lateral_deviation_m": Algorithm("distance from the foot along the normal, positive right", "y"),
    },
    possible={"length_m": (0.0, 1e6), "search_radius_m": (1e-3, 1e5), "expected_chainage_m": (-1e5, 1e6)},
    requires=(
        KEEP_CURVATURE,
        Require(
            "expected_chainage_m",
            _one_foot_or_told_which,
            "must be given where a point has several feet within the search radius",
            "give the chainage of the ring, or a smaller search radius",
        ),
    ),
    remarks=(Remark(_beyond, "a point lies beyond an end of the axis: the end tangent is extended there"),),
    kind="identity",
    source=GEOMETRY,
)
def project_point(
    elements: Elements,
    northing_m: Number,
    easting_m: Number,
    start_chainage_m: Number = 0.0,
    start_northing_m: Number = 0.0,
    start_easting_m: Number = 0.0,
    start_bearing_rad: Number = 0.0,
    expected_chainage_m: Number | None = None,
    search_radius_m: Number = 30.0,
) -> PlaceOnAxis:
    """Return chainage and lateral deviation of surveyed points, square to the axis in the plan.

    Parameters
    ----------
    elements : of the axis, in drive order.
    northing_m, easting_m : of the points, one or many.
    start_chainage_m, start_northing_m, start_easting_m, start_bearing_rad : state at the start of the first element.
    expected_chainage_m : chooses among several feet; without it the nearest is taken.
    search_radius_m : feet farther away than this are looked at only when none is nearer.
    """
    inputs = {
        "northing_m": northing_m,
        "easting_m": easting_m,
        "start_northing_m": start_northing_m,
        "start_easting_m": start_easting_m,
        "start_bearing_rad": start_bearing_rad,
    }
    expected = np.nan if expected_chainage_m is None else np.subtract(expected_chainage_m, start_chainage_m)
    along, across, expected, radius, start = np.broadcast_arrays(*_into_frame(inputs), expected, search_radius_m, start_chainage_m)
    net = _Net(PlanCurve(elements))
    nodes = _nearest_nodes(net, along.ravel(), across.ravel(), expected.ravel(), radius.ravel())
    place, lateral = _feet(net, along.ravel(), across.ravel(), nodes)
    return PlaceOnAxis(chainage_m=start + place.reshape(along.shape), lateral_deviation_m=lateral.reshape(along.shape))
