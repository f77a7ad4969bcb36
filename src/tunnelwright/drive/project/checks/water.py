"""Aquifers, free water and piezometers."""

from collections.abc import Iterator

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import QhullError

from tunnelwright.drive.project.checks.complaint import Complaint
from tunnelwright.drive.project.chords import chords_of
from tunnelwright.drive.project.drives import Drive
from tunnelwright.drive.project.models import Project
from tunnelwright.vocabulary.types import FloatArray

HIGHEST_ABOVE_GROUND_M = 20.0
STEP_M = 10.0


def heads_in_order(project: Project) -> Iterator[Complaint]:
    """Complain of heads whose chainages do not increase."""
    for index, aquifer in enumerate(project.ground.aquifers):
        chainage = [point.chainage_m for point in aquifer.heads]
        for position in np.flatnonzero(np.diff(chainage) <= 0):
            yield Complaint(
                path=("ground", "aquifers", index, "heads", int(position) + 1, "chainage_m"),
                given=f"{chainage[position + 1]:g} m",
                required=f"must increase; the one before has {chainage[position]:g} m",
            )


def surface_level_m(project: Project, easting_m: FloatArray, northing_m: FloatArray) -> FloatArray:
    """Return the level of the surface at points in plan, NaN outside it or where the points span no surface."""
    points = project.ground.surface_points_m()
    origin = points[:, :2].mean(axis=0)
    try:
        return LinearNDInterpolator(points[:, :2] - origin, points[:, 2])(np.stack([easting_m, northing_m], axis=-1) - origin)
    except QhullError:
        return np.full(np.shape(easting_m), np.nan)


def heads_and_surface(project: Project) -> Iterator[Complaint]:
    """Complain of heads far above the ground, and of a water table above the surface where there is no free water."""
    aquifers = project.ground.aquifers
    orders = {unit.code: unit.order for unit in project.ground.units}
    upper = min(aquifers, key=lambda aquifer: min(orders.get(code, 999) for code in aquifer.units), default=None)
    for drive in project.drives:
        axis = chords_of(drive.axis)
        chainage = np.arange(axis.chainage_m[0], axis.chainage_m[-1], STEP_M)
        east, north = (np.interp(chainage, axis.chainage_m, each) for each in (axis.easting_m, axis.northing_m))
        surface = surface_level_m(project, east, north)
        is_dry_land = ~_under_free_water(project, drive, chainage)
        for index, aquifer in enumerate(aquifers):
            if aquifer.drive not in ("", drive.name):
                continue
            above = aquifer.head_level_m(chainage, "high") - surface
            limit = 0.0 if aquifer is upper else HIGHEST_ABOVE_GROUND_M
            excess = np.where(is_dry_land | (above > HIGHEST_ABOVE_GROUND_M), above - limit, -np.inf)
            if np.nanmax(excess, initial=-np.inf) > 0:
                worst = int(np.nanargmax(excess))
                yield Complaint(
                    path=("ground", "aquifers", index, "heads"),
                    given=f"a high head {above[worst]:.1f} m above the ground at chainage {chainage[worst]:.0f} m",
                    required="the water table must stay below the surface, unless a river stands there"
                    if limit == 0.0
                    else f"a head is at most {limit:g} m above the ground",
                    hint="add [[free_water]] where a river stands; is it a depth instead of a level?",
                )


def _under_free_water(project: Project, drive: Drive, chainage_m: FloatArray) -> np.ndarray:
    covered = np.zeros(len(chainage_m), dtype=bool)
    for water in project.ground.free_water:
        if water.drive in ("", drive.name):
            covered |= (chainage_m >= water.start_chainage_m) & (chainage_m <= water.end_chainage_m)
    return covered


def piezometers(project: Project) -> Iterator[Complaint]:
    """Complain of heads far above the ground and of tips above it."""
    readings = project.ground.piezometers
    if not readings:
        return
    surface = surface_level_m(project, *(np.array([getattr(one, field) for one in readings]) for field in ("easting_m", "northing_m")))
    for index, (reading, ground_level) in enumerate(zip(readings, surface, strict=True)):
        if reading.head_level_m > ground_level + HIGHEST_ABOVE_GROUND_M:
            yield Complaint(
                path=("ground", "piezometers", index, "head_level_m"),
                given=f"{reading.head_level_m:g} m",
                required=f"a head is at most {HIGHEST_ABOVE_GROUND_M:g} m above the ground, which is at {ground_level:.1f} m",
                hint="is it a depth or a pressure instead of a level?",
            )
        if reading.tip_level_m > ground_level:
            yield Complaint(
                path=("ground", "piezometers", index, "tip_level_m"),
                given=f"{reading.tip_level_m:g} m",
                required=f"the tip lies below the ground, which is at {ground_level:.1f} m",
            )
