"""Where a chainage of a drive lies in plan, and what lies beside it."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from examples.brennholt.ground_truth import AxisElement, DriveAxis
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
STEP_M = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The axis in plan at small steps of chainage."""

    chainage_m: Array
    easting_m: Array
    northing_m: Array
    bearing_rad: Array

    def beside(self, chainage_m: ArrayLike, offset_m: ArrayLike = 0.0) -> tuple[Array, Array]:
        """Return easting and northing at chainages and offsets, right positive; beyond the ends straight on."""
        chainage, offset = np.broadcast_arrays(np.asarray(chainage_m, dtype=float), np.asarray(offset_m, dtype=float))
        inside = np.clip(chainage, self.chainage_m[0], self.chainage_m[-1])
        bearing = np.interp(inside, self.chainage_m, self.bearing_rad)
        east, north = np.interp(inside, self.chainage_m, self.easting_m), np.interp(inside, self.chainage_m, self.northing_m)
        ahead = chainage - inside
        return east + ahead * np.sin(bearing) + offset * np.cos(bearing), north + ahead * np.cos(bearing) - offset * np.sin(bearing)

    def bearing_deg(self, chainage_m: float) -> float:
        """Return the bearing at a chainage."""
        return float(np.degrees(np.interp(chainage_m, self.chainage_m, self.bearing_rad)))


@cache
def plan_of(axis: DriveAxis) -> Plan:
    """Return the plan of an axis, turned and summed in small steps."""
    curvatures = _curvatures(axis.elements)
    ends = np.concatenate([[0.0], np.cumsum([element.length_m for element in axis.elements])])
    chainage = np.arange(0.0, ends[-1] + STEP_M / 2, STEP_M)
    middle = chainage[:-1] + STEP_M / 2
    element = np.clip(np.searchsorted(ends, middle, side="right") - 1, 0, len(axis.elements) - 1)
    share = (middle - ends[element]) / np.diff(ends)[element]
    curvature = curvatures[element, 0] * (1 - share) + curvatures[element, 1] * share
    bearing = np.radians(axis.start_bearing_deg) + np.concatenate([[0.0], np.cumsum(curvature * STEP_M)])
    between = (bearing[:-1] + bearing[1:]) / 2
    return Plan(
        chainage_m=chainage,
        easting_m=axis.start_easting_m + np.concatenate([[0.0], np.cumsum(np.sin(between) * STEP_M)]),
        northing_m=axis.start_northing_m + np.concatenate([[0.0], np.cumsum(np.cos(between) * STEP_M)]),
        bearing_rad=bearing,
    )


def _curvatures(elements: tuple[AxisElement, ...]) -> Array:
    """Return the curvature at both ends of every element, right positive; a clothoid joins its neighbours."""
    own = [(0.0 if one.radius_m is None else (1 if one.turn == "right" else -1) / one.radius_m) for one in elements]
    rows = [(own[place - 1], own[place + 1]) if one.element_type == "clothoid" else (own[place], own[place]) for place, one in enumerate(elements)]
    return np.array(rows)
