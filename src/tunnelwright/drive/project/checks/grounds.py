"""Boreholes, lenses and the surface."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from scipy.spatial import Delaunay, QhullError

from tunnelwright.drive.project.checks.complaint import Complaint
from tunnelwright.drive.project.chords import chords_of
from tunnelwright.drive.project.ground import Borehole
from tunnelwright.drive.project.models import Project

SLACK_M = 0.05
ONE_PLACE_M = 0.5
FARTHEST_M = 500.0


def picks(project: Project) -> Iterator[Complaint]:
    """Complain of strata that have no thickness, overlap, leave a gap or reach below their hole."""
    for index, hole in enumerate(project.ground.boreholes):
        path = ("ground", "boreholes", index)
        if not hole.picks:
            yield Complaint(
                path=(*path, "borehole"),
                given="no strata",
                required="a borehole needs at least one row in ground/strata",
                hint="is its name spelled the same there?",
            )
            continue
        thin = [position for position, pick in enumerate(hole.picks) if pick.base_level_m >= pick.top_level_m]
        for position in thin:
            pick = hole.picks[position]
            yield Complaint(
                path=(*path, "picks", position, "base_level_m"),
                given=f"{pick.base_level_m:g} m",
                required=f"must lie below top_level_m {pick.top_level_m:g} m",
                hint="are the two columns swapped, or are these depths? levels grow upwards",
            )
        if not thin:
            yield from (
                Complaint(path=(*path, "picks", position, field), given=given, required=required, hint=hint)
                for position, field, given, required, hint in _stack(hole)
            )


def _stack(hole: Borehole) -> Iterator[tuple[int, str, str, str, str]]:
    first, last = hole.picks[0], hole.picks[-1]
    if abs(first.top_level_m - hole.ground_level_m) > SLACK_M:
        required = f"the first stratum must begin at the hole's ground_level_m {hole.ground_level_m:g} m"
        yield 0, "top_level_m", f"{first.top_level_m:g} m", required, "is it a depth, or in another datum?"
    for position, (above, below) in enumerate(pairwise(hole.picks)):
        step = above.base_level_m - below.top_level_m
        if abs(step) > SLACK_M:
            word = "gap" if step > 0 else "overlap"
            required = f"must meet the base of {above.unit} above, {above.base_level_m:g} m; there is a {word} of {abs(step):.2f} m"
            yield position + 1, "top_level_m", f"{below.top_level_m:g} m", required, "at most 0.05 m may be left between strata"
    if last.base_level_m < hole.base_level_m - SLACK_M:
        required = f"must not reach below the hole's end at {hole.base_level_m:g} m (depth_m {hole.depth_m:g})"
        yield len(hole.picks) - 1, "base_level_m", f"{last.base_level_m:g} m", required, ""


def holes_at_one_place(project: Project) -> Iterator[Complaint]:
    """Complain of two boreholes at one spot."""
    holes = project.ground.boreholes
    plan = np.array([[hole.easting_m, hole.northing_m] for hole in holes])
    distance = np.linalg.norm(plan[:, None] - plan[None], axis=-1)
    for later, earlier in zip(*np.nonzero(np.tril(distance < ONE_PLACE_M, k=-1)), strict=True):
        yield Complaint(
            path=("ground", "boreholes", int(later), "easting_m"),
            given=f"{distance[later, earlier]:.2f} m from {holes[earlier].borehole}",
            required=f"two boreholes stand at least {ONE_PLACE_M:g} m apart",
            hint="join their strata into one hole",
        )


def holes_near_a_drive(project: Project) -> Iterator[Complaint]:
    """Complain of boreholes far from every drive."""
    axes = [chords_of(drive.axis) for drive in project.drives]
    holes = project.ground.boreholes
    easting, northing = (np.array([getattr(hole, field) for hole in holes]) for field in ("easting_m", "northing_m"))

    def distance(east: np.ndarray, north: np.ndarray) -> np.ndarray:
        return np.min([np.hypot(offset, beyond) for _, offset, beyond in (axis.nearest(east, north) for axis in axes)], axis=0)

    far, swapped = distance(easting, northing), distance(northing, easting)
    for index in np.flatnonzero(far > FARTHEST_M):
        yield Complaint(
            path=("ground", "boreholes", int(index), "easting_m"),
            given=f"{holes[index].easting_m:g}, {holes[index].northing_m:g}: {far[index]:.0f} m from the nearest drive",
            required=f"a borehole of the project lies within {FARTHEST_M:g} m of a drive",
            hint="are easting and northing swapped?" if swapped[index] <= FARTHEST_M else "check the coordinates, or take the hole out",
        )


def lens_outlines(project: Project) -> Iterator[Complaint]:
    """Complain of lenses without area."""
    for index, lens in enumerate(project.ground.lenses):
        chainage, level = lens.outline_m.T
        area = abs(np.dot(chainage, np.roll(level, -1)) - np.dot(level, np.roll(chainage, -1))) / 2
        if area < 0.01:
            yield Complaint(
                path=("ground", "lenses", index, "outline"),
                given=f"an outline of {area:.3f} m2",
                required="a lens needs an area",
                hint="its corners are chainage and level, in order round it",
            )


def surface_covers_drives(project: Project) -> Iterator[Complaint]:
    """Complain where no surface is known above a drive."""
    points = project.ground.surface_points_m()
    try:
        mesh = Delaunay(points[:, :2] - points[:, :2].mean(axis=0))
    except QhullError:
        yield Complaint(
            path=("ground", "surface", 0, "easting_m"),
            given=f"{len(points)} points on one line",
            required="the surface needs points around the drive, not on one line",
        )
        return
    machines = {machine.name: machine for machine in project.machines}
    for drive in project.drives:
        if drive.machine not in machines:
            continue
        axis = chords_of(drive.axis)
        strip = axis.strip(machines[drive.machine].excavation_diameter_m / 2)
        outside = mesh.find_simplex(strip - points[:, :2].mean(axis=0)) < 0
        bare = np.unique(np.tile(axis.chainage_m, 3)[outside])
        if len(bare):
            yield Complaint(
                path=("ground", "surface", 0, "easting_m"),
                given=f"no surface above drive {drive.name} from chainage {bare[0]:.0f} to {bare[-1]:.0f} m",
                required="surface points must surround every drive",
                hint="add points to both sides and beyond both ends",
            )
