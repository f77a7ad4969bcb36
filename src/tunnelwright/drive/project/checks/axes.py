"""The designed axis, and the drive on it."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from tunnelwright.drive.project.checks.complaint import Complaint, Path
from tunnelwright.drive.project.drives import DesignAxis
from tunnelwright.drive.project.models import Project

STEEPEST = 0.2
TOUCHING_M = 1e-6


def drive_on_axis(project: Project) -> Iterator[Complaint]:
    """Complain of a drive that runs past the ends of its axis or is shorter than a ring."""
    rings = {ring.name: ring for ring in project.ring_types}
    offsets = {machine.name: machine.face_offset_m for machine in project.machines}
    for index, drive in enumerate(project.drives):
        axis, ring = drive.axis, rings.get(drive.ring_type)
        if drive.start_chainage_m < axis.start.chainage_m:
            yield Complaint(
                path=("drives", index, "start_chainage_m"), given=f"{drive.start_chainage_m:g} m", required=f"the axis begins at {axis.start.chainage_m:g} m"
            )
        if ring is None:
            continue
        end = drive.end_chainage_m if drive.end_chainage_m is not None else drive.start_chainage_m + (drive.ring_count or 0) * ring.ring_length_m
        field = "end_chainage_m" if drive.end_chainage_m is not None else "ring_count"
        # Rings are counted along the sloping axis: their last one ends a little before this in plan, never after it.
        face = end + offsets.get(drive.machine, 0.0)
        if face > axis.end_chainage_m + TOUCHING_M:
            yield Complaint(
                path=("drives", index, field),
                given=f"{getattr(drive, field):g}: the rings end at {end:g} m, the face at {face:g} m",
                required=f"the axis ends at {axis.end_chainage_m:g} m and must reach to the face of the last push",
            )
        if end - drive.start_chainage_m < ring.ring_length_m:
            yield Complaint(
                path=("drives", index, field),
                given=f"a drive of {end - drive.start_chainage_m:g} m",
                required=f"must be at least one ring of {ring.ring_length_m:g} m long",
            )


def profile(project: Project) -> Iterator[Complaint]:
    """Complain of vertices out of order, grades too steep, vertical curves that overlap, a profile shorter than the plan."""
    for index, drive in enumerate(project.drives):
        path = ("drives", index, "axis", "vertices")
        chainage = drive.axis.vertex_chainage_m
        backwards = np.flatnonzero(np.diff(chainage) <= 0)
        for position in backwards:
            yield Complaint(
                path=(*path, int(position) + 1, "chainage_m"),
                given=f"{chainage[position + 1]:g} m",
                required=f"must increase; the vertex before has {chainage[position]:g} m",
            )
        if len(backwards):
            continue
        first, last = drive.axis.start.chainage_m, drive.axis.end_chainage_m
        if chainage[0] > first + TOUCHING_M:
            yield Complaint(path=(*path, 0, "chainage_m"), given=f"{chainage[0]:g} m", required=f"the profile must cover the plan, which begins at {first:g} m")
        if chainage[-1] < last - TOUCHING_M:
            yield Complaint(
                path=(*path, len(chainage) - 1, "chainage_m"),
                given=f"{chainage[-1]:g} m",
                required=f"the profile must cover the plan, which ends at {last:g} m",
            )
        yield from _grades(drive.axis, path)
        yield from _vertical_curves(drive.axis, path)


def _grades(axis: DesignAxis, path: Path) -> Iterator[Complaint]:
    gradient = np.diff(axis.vertex_level_m) / np.diff(axis.vertex_chainage_m)
    for before in np.flatnonzero(np.abs(gradient) > STEEPEST):
        yield Complaint(
            path=(*path, int(before) + 1, "level_m"),
            given=f"a grade of {100 * gradient[before]:.1f} %",
            required=f"grades are at most {100 * STEEPEST:g} %",
            hint="is a level or a chainage mistyped?",
        )


def _vertical_curves(axis: DesignAxis, path: Path) -> Iterator[Complaint]:
    """Complain, once for each curve, where the tangents of two neighbours need more room than there is between them."""
    chainage, radius = axis.vertex_chainage_m, axis.vertical_radius_m
    tangent = np.zeros(len(chainage))
    tangent[1:-1] = radius[1:-1] * np.abs(np.diff(np.diff(axis.vertex_level_m) / np.diff(chainage))) / 2
    blamed: set[int] = set()
    for before, after in pairwise(range(len(chainage))):
        room = chainage[after] - chainage[before]
        wider = before if tangent[before] > tangent[after] else after
        if tangent[before] + tangent[after] > room + TOUCHING_M and wider not in blamed:
            blamed.add(wider)
            yield Complaint(
                path=(*path, wider, "vertical_radius_m"),
                given=f"{radius[wider]:g} m",
                required=f"vertical curves overlap: tangents of {tangent[before]:.1f} and {tangent[after]:.1f} m"
                f" in the {room:.1f} m between vertices {before + 1} and {after + 1}",
                hint="make the radius smaller",
            )
