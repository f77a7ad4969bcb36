"""A chain of elements in the plan, in the frame of its start: x along the first tangent, y to the right of it.

N = N1 + x cos(beta1) - y sin(beta1)          E = E1 + x sin(beta1) + y cos(beta1)
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.alignment.laws import ElementType, curvature, displacement, turn
from tunnelwright.vocabulary.types import FloatArray, Number, Table, Values

IntArray: TypeAlias = NDArray[np.intp]
# An end is still the end when rounding put a chainage this share of the length beyond it.
_END_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Elements(Table):
    """Elements of the plan in drive order; curvature positive right."""

    element_type: ElementType
    length_m: FloatArray
    start_curvature_1_m: FloatArray
    end_curvature_1_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanPoints:
    """Points of a chain in the frame of its start; ``bearing_rad`` is counted from the first tangent and is not wrapped."""

    along_m: FloatArray
    across_m: FloatArray
    bearing_rad: FloatArray
    curvature_1_m: FloatArray


class PlanCurve:
    """A chain of elements with the state at the start of each of them.

    States are summed once, element by element; a query is one quadrature from the start of its element, so no error grows from sample to sample.
    """

    def __init__(self, elements: Elements) -> None:
        self.law = np.asarray(elements.element_type)
        self.length_m = np.asarray(elements.length_m)
        self.start_curvature_1_m = np.asarray(elements.start_curvature_1_m)
        self.end_curvature_1_m = np.asarray(elements.end_curvature_1_m)
        count = len(self.law)
        ends = self._inside(np.arange(count), self.length_m)
        self.start_m = np.concatenate([[0.0], np.cumsum(self.length_m)])
        self.start_bearing_rad = np.concatenate([[0.0], np.cumsum(ends.bearing_rad)])
        cosine, sine = np.cos(self.start_bearing_rad[:-1]), np.sin(self.start_bearing_rad[:-1])
        self.start_along_m = np.concatenate([[0.0], np.cumsum(ends.along_m * cosine - ends.across_m * sine)])
        self.start_across_m = np.concatenate([[0.0], np.cumsum(ends.along_m * sine + ends.across_m * cosine)])

    @property
    def total_length_m(self) -> float:
        """Return the length of the whole chain."""
        return float(self.start_m[-1])

    def at(self, distance_m: Number) -> PlanPoints:
        """Return the points at distances from the start; beyond an end along its tangent, with curvature 0."""
        shape = np.shape(distance_m)
        distance = np.ravel(np.asarray(distance_m, dtype=np.float64))
        inside = np.clip(distance, 0.0, self.total_length_m)
        beyond = distance - inside
        beyond = np.where(np.abs(beyond) <= _END_ROUNDING * self.total_length_m, 0.0, beyond)
        element = np.clip(np.searchsorted(self.start_m, inside, side="right") - 1, 0, len(self.law) - 1)
        local = self._inside(element, inside - self.start_m[element])
        bearing = self.start_bearing_rad[element] + local.bearing_rad
        cosine, sine = np.cos(self.start_bearing_rad[element]), np.sin(self.start_bearing_rad[element])
        along = self.start_along_m[element] + local.along_m * cosine - local.across_m * sine + beyond * np.cos(bearing)
        across = self.start_across_m[element] + local.along_m * sine + local.across_m * cosine + beyond * np.sin(bearing)
        bend = np.where(beyond == 0, local.curvature_1_m, 0.0 * local.curvature_1_m)
        return PlanPoints(along_m=along.reshape(shape), across_m=across.reshape(shape), bearing_rad=bearing.reshape(shape), curvature_1_m=bend.reshape(shape))

    def _inside(self, element: IntArray, distance_m: FloatArray) -> PlanPoints:
        """Return points by element and distance in it, both one-dimensional, in the frame of that element's start."""
        along, across, bearing, bend = (np.full(np.shape(distance_m), np.nan) for _ in range(4))
        for law in np.unique(self.law):
            chosen = self.law[element] == law
            if not chosen.any():
                continue
            which = element[chosen]
            inputs = (str(law), self.length_m[which], self.start_curvature_1_m[which], self.end_curvature_1_m[which], distance_m[chosen])
            along[chosen], across[chosen] = displacement(*inputs)
            bearing[chosen], bend[chosen] = turn(*inputs), curvature(*inputs)
        return PlanPoints(along_m=along, across_m=across, bearing_rad=bearing, curvature_1_m=bend)


def on_grid(along_m: Number, across_m: Number, start_northing_m: Number, start_easting_m: Number, start_bearing_rad: Number) -> tuple[FloatArray, FloatArray]:
    """Return northing and easting of points given along and right of the first tangent."""
    cosine, sine = np.cos(start_bearing_rad), np.sin(start_bearing_rad)
    return start_northing_m + along_m * cosine - across_m * sine, start_easting_m + along_m * sine + across_m * cosine


def straight_and_arc_keep_their_curvature(inputs: Values) -> bool:
    """Say whether lines have no curvature and arcs one only."""
    elements = inputs["elements"]
    law = np.asarray(elements.element_type)
    start, end = np.asarray(elements.start_curvature_1_m), np.asarray(elements.end_curvature_1_m)
    return bool(np.all(~np.isin(law, ("line", "circular_arc")) | (start == end)) and np.all((law != "line") | (start == 0)))
