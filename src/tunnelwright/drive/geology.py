"""Boundaries of the ground units along a drive, from boreholes: where they run and how far off they may be.

A hole proves the top of every unit it reached. A unit that a hole does not show, though it went deep enough, has no thickness there: its top is that of the
next unit below. What lies below the end of a hole is unknown, not absent, and takes no part in the interpolation.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from tunnelwright.drive.axis import DriveCase, axis_points
from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.project import Borehole, Pick
from tunnelwright.vocabulary.remark import Caution
from tunnelwright.vocabulary.types import FloatArray

# Accuracy of a pick by the way the hole was made; common practice, no source.
PICK_ACCURACY_M = {"cored": 0.10, "cone": 0.15, "trial pit": 0.10, "cable percussion": 0.30, "wash boring": 0.75, "unknown": 0.75}
FAR_HOLE_M = 50.0
AXIS_NET_M = 5.0
# A hole somewhat before the launch or behind the arrival still tells of the ground there.
BEYOND_ENDS_M = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boundary:
    """Picks of the top of one unit along the drive, in order of chainage."""

    unit_index: int
    chainage_m: FloatArray
    level_m: FloatArray
    accuracy_m: FloatArray
    offset_m: FloatArray
    semivariogram_slope_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Geology:
    """Boreholes projected on a drive and the boundaries drawn between them.

    Parameters
    ----------
    boundaries : top of every unit but the first, whose top is the ground surface; None where no hole proves it.
    hole_chainage_m, hole_offset_m : of every borehole of the project, NaN for one beyond the ends of the axis.
    """

    boundaries: tuple[Boundary | None, ...]
    hole_names: tuple[str, ...]
    hole_chainage_m: FloatArray
    hole_offset_m: FloatArray
    hole_top_level_m: FloatArray
    hole_base_level_m: FloatArray
    hole_is_sealed: tuple[bool, ...]
    cautions: tuple[Caution, ...] = field(default=())

    def top_levels(self, chainage_m: FloatArray, ground_level_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return level and standard deviation of the top of every unit, shape (stations, units), the younger never below the older."""
        count = len(self.boundaries) + 1
        levels = np.empty((len(chainage_m), count))
        deviations = np.zeros((len(chainage_m), count))
        levels[:, 0] = ground_level_m
        for index, boundary in enumerate(self.boundaries, start=1):
            if boundary is None:
                levels[:, index] = -np.inf
                continue
            levels[:, index], deviations[:, index] = _bridged(boundary, chainage_m)
        return np.minimum.accumulate(levels, axis=1), deviations

    def nearest_hole_m(self, chainage_m: FloatArray) -> FloatArray:
        """Return the distance along the drive to the nearest borehole."""
        known = self.hole_chainage_m[np.isfinite(self.hole_chainage_m)]
        if not len(known):
            return np.full(np.shape(chainage_m), np.nan)
        return np.abs(np.subtract.outer(chainage_m, known)).min(axis=-1)


def _bridged(boundary: Boundary, chainage_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    bridge = kernel("ground.boundary.bridge")
    picks = bridge.table("picks")(chainage_m=boundary.chainage_m, level_m=boundary.level_m, pick_accuracy_m=boundary.accuracy_m, offset_m=boundary.offset_m)
    found = bridge(picks=picks, chainage_m=chainage_m, semivariogram_slope_m=boundary.semivariogram_slope_m)
    return found.level_mean_m, found.level_standard_deviation_m


def geology_of(case: DriveCase) -> Geology:
    """Return the boundaries of the units along a drive."""
    holes = case.project.ground.boreholes
    chainage, offset = project_holes(case, holes)
    order = [unit.code for unit in case.project.ground.units_in_order]
    tops = np.array([unit_tops(hole, order, case.project.choices.boundary_rule, case.project.choices.continuous_run_m) for hole in holes])
    boundaries = tuple(_boundary(index, chainage, offset, tops[:, index], holes) for index in range(1, len(order)))
    return Geology(
        boundaries=boundaries,
        hole_names=tuple(hole.borehole for hole in holes),
        hole_chainage_m=chainage,
        hole_offset_m=offset,
        hole_top_level_m=np.array([hole.ground_level_m for hole in holes]),
        hole_base_level_m=np.array([hole.base_level_m for hole in holes]),
        hole_is_sealed=tuple(hole.sealed for hole in holes),
        cautions=_cautions(case, holes, chainage, offset, boundaries),
    )


def project_holes(case: DriveCase, holes: tuple[Borehole, ...]) -> tuple[FloatArray, FloatArray]:
    """Return chainage and offset (right positive) of boreholes; NaN far beyond the ends of the axis, which is extended straight on."""
    axis = case.drive.axis
    first, last = axis.start.chainage_m - BEYOND_ENDS_M, axis.end_chainage_m + BEYOND_ENDS_M
    net = np.linspace(first, last, max(2, math.ceil((last - first) / AXIS_NET_M) + 1))
    points = axis_points(case.drive, net)
    projection = kernel("ground.borehole.projection")
    polyline = projection.table("axis")(easting_m=points.easting_m, northing_m=points.northing_m)
    found = projection(
        axis=polyline,
        start_chainage_m=first,
        easting_m=np.array([hole.easting_m for hole in holes]),
        northing_m=np.array([hole.northing_m for hole in holes]),
    )
    return np.array(found.chainage_m), np.array(found.offset_m)


def unit_tops(hole: Borehole, order: list[str], rule: str, continuous_run_m: float) -> list[float]:
    """Return the top level of every unit in one hole: of an absent unit that of the next below, NaN where the hole ended above it."""
    tops: list[float] = []
    for code in order:
        runs = _runs(hole.picks, code)
        tops.append(_chosen(runs, rule, continuous_run_m) if runs else math.nan)
    deepest = max((place for place, top in enumerate(tops) if not math.isnan(top)), default=-1)
    below = math.nan
    for place in range(deepest, -1, -1):
        if math.isnan(tops[place]):
            tops[place] = below
        below = tops[place]
    if tops and not math.isnan(tops[0]):
        tops[0] = hole.ground_level_m
    return tops


def _runs(picks: tuple[Pick, ...], code: str) -> list[tuple[float, float]]:
    """Return the continuous runs of a unit in a hole from the top down, as top and base level."""
    runs: list[tuple[float, float]] = []
    for pick in sorted((one for one in picks if one.unit == code), key=lambda one: -one.top_level_m):
        if runs and abs(runs[-1][1] - pick.top_level_m) < 0.05:
            runs[-1] = (runs[-1][0], pick.base_level_m)
        else:
            runs.append((pick.top_level_m, pick.base_level_m))
    return runs


def _chosen(runs: list[tuple[float, float]], rule: str, continuous_run_m: float) -> float:
    if rule == "first_met":
        return runs[0][0]
    if rule == "last_met":
        return runs[-1][0]
    long_enough = [top for top, base in runs if top - base >= continuous_run_m]
    return long_enough[0] if long_enough else runs[0][0]


def _boundary(index: int, chainage: FloatArray, offset: FloatArray, tops: FloatArray, holes: tuple[Borehole, ...]) -> Boundary | None:
    known = np.flatnonzero(np.isfinite(chainage) & np.isfinite(tops))
    if not len(known):
        return None
    known = known[np.argsort(chainage[known], kind="stable")]
    accuracy = np.array([PICK_ACCURACY_M[holes[place].method] for place in known])
    slope = kernel("ground.boundary.semivariogram_slope")
    picks = slope.table("picks")(chainage_m=chainage[known], level_m=tops[known], pick_accuracy_m=accuracy, offset_m=np.abs(offset[known]))
    estimate = float(slope(picks=picks).semivariogram_slope_m) if len(known) > 1 else 0.05
    return Boundary(
        unit_index=index, chainage_m=chainage[known], level_m=tops[known], accuracy_m=accuracy, offset_m=np.abs(offset[known]), semivariogram_slope_m=estimate
    )


def _cautions(
    case: DriveCase, holes: tuple[Borehole, ...], chainage: FloatArray, offset: FloatArray, boundaries: tuple[Boundary | None, ...]
) -> tuple[Caution, ...]:
    cautions = []
    for hole, at, aside in zip(holes, chainage, offset, strict=True):
        if not np.isfinite(at):
            cautions.append(Caution(subject=hole.borehole, sentence=f"borehole {hole.borehole} lies beyond the ends of the axis and was not used"))
        elif abs(aside) > FAR_HOLE_M:
            cautions.append(
                Caution(subject=hole.borehole, sentence=f"borehole {hole.borehole} lies {abs(aside):.0f} m off the axis; its picks count with a wider spread")
            )
    for unit, boundary in zip(case.project.ground.units_in_order[1:], boundaries, strict=True):
        if boundary is None:
            cautions.append(Caution(subject=unit.code, sentence=f"no borehole proves {unit.name}; it is taken as absent along the drive"))
    return tuple(cautions)


def unsealed_holes_near(case: DriveCase, geology: Geology) -> list[tuple[str, float, float]]:
    """Return name, chainage and offset of unsealed boreholes within one diameter of the axis: paths for support and water."""
    near = np.isfinite(geology.hole_chainage_m) & (np.abs(geology.hole_offset_m) < case.machine.excavation_diameter_m)
    return [
        (name, float(at), float(aside))
        for name, at, aside, sealed, close in zip(geology.hole_names, geology.hole_chainage_m, geology.hole_offset_m, geology.hole_is_sealed, near, strict=True)
        if close and not sealed
    ]
