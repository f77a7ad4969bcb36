"""The designed axis of a drive and the places of its pushes and rings.

launch                                    drive direction ->
  |  ring n-1 |  ring n  |        shield          |
  |-----------|----------|------------------------|
             front(n-1) front(n)                 face = front(n) + face offset
       ^ grout outlet = front(n) - grout offset
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.project import Drive, Machine, Project, RingType
from tunnelwright.vocabulary.types import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisPoints:
    """Points of the axis: position, bearing clockwise from north, gradient uphill positive, curvature positive right."""

    chainage_m: FloatArray
    easting_m: FloatArray
    northing_m: FloatArray
    level_m: FloatArray
    bearing_rad: FloatArray
    gradient: FloatArray
    curvature_1_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """Rings 1..n of a drive and the three places of each push; all arrays are equally long.

    Parameters
    ----------
    chainage_m : front edge of the ring.
    rear_chainage_m : front edge of the ring before.
    face_start_chainage_m, face_end_chainage_m : span of the face during the push that builds the ring.
    grout_ring_number : ring round which the grout of this push goes; below 1 before the tail has left the launch.
    """

    ring_number: FloatArray
    chainage_m: FloatArray
    rear_chainage_m: FloatArray
    face_start_chainage_m: FloatArray
    face_end_chainage_m: FloatArray
    grout_ring_number: FloatArray
    points: AxisPoints

    @property
    def count(self) -> int:
        """Return the number of rings."""
        return len(self.ring_number)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriveCase:
    """One drive with everything of the project that belongs to it."""

    project: Project
    drive: Drive
    machine: Machine
    ring_type: RingType

    @classmethod
    def of(cls, project: Project, drive: str = "") -> "DriveCase":
        """Return the case of a drive by name; of the only drive without one."""
        one = project.drive(drive)
        return cls(project=project, drive=one, machine=project.machine_of(one), ring_type=project.ring_type_of(one))


def axis_points(drive: Drive, chainage_m: FloatArray) -> AxisPoints:
    """Return the points of the designed axis at chainages; beyond its ends along the end tangents."""
    axis = drive.axis
    chain = kernel("alignment.horizontal.chain")
    elements = chain.table("elements")(
        element_type=list(axis.element_types), length_m=axis.length_m, start_curvature_1_m=axis.start_curvature_1_m, end_curvature_1_m=axis.end_curvature_1_m
    )
    wanted = np.asarray(chainage_m, dtype=np.float64)
    first, last = axis.start.chainage_m, axis.end_chainage_m
    inside = np.clip(wanted, first, last)
    plan = chain(
        elements=elements,
        chainage_m=inside,
        start_chainage_m=first,
        start_northing_m=axis.start.northing_m,
        start_easting_m=axis.start.easting_m,
        start_bearing_rad=axis.start.bearing_rad,
    )
    beyond = wanted - inside
    level, gradient = _profile(drive, inside)
    return AxisPoints(
        chainage_m=wanted,
        easting_m=plan.easting_m + beyond * np.sin(plan.bearing_rad),
        northing_m=plan.northing_m + beyond * np.cos(plan.bearing_rad),
        level_m=level + beyond * gradient,
        bearing_rad=plan.bearing_rad,
        gradient=gradient,
        curvature_1_m=np.where(beyond == 0, plan.curvature_1_m, 0.0),
    )


def _profile(drive: Drive, chainage_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    profile = kernel("alignment.vertical.profile")
    found = profile(vertices=_vertices(drive), chainage_m=chainage_m, curve_type=drive.axis.curve_type)
    return found.level_m, found.gradient


def _vertices(drive: Drive) -> object:
    axis = drive.axis
    table = kernel("alignment.vertical.profile").table("vertices")
    return table(chainage_m=axis.vertex_chainage_m, level_m=axis.vertex_level_m, vertical_radius_m=axis.vertical_radius_m)


def ring_count(case: DriveCase) -> int:
    """Return how many rings the drive needs: as stated, or as many whole rings as fit along the axis in space."""
    if case.drive.ring_count is not None:
        return case.drive.ring_count
    assert case.drive.end_chainage_m is not None
    plan_length_m = case.drive.end_chainage_m - case.drive.start_chainage_m
    # On a slope rings are counted along the axis in space, which is longer than the chainage; a few more are tried.
    tried = int(np.ceil(plan_length_m / case.ring_type.ring_length_m * 1.02)) + 2
    fronts = _ring_fronts(case, tried)
    return int(np.sum(fronts <= case.drive.end_chainage_m + 1e-6))


def _ring_fronts(case: DriveCase, count: int) -> FloatArray:
    found = kernel("alignment.space.ring_chainages")(
        vertices=_vertices(case.drive),
        start_chainage_m=case.drive.start_chainage_m,
        ring_length_m=case.ring_type.ring_length_m,
        ring_count=count,
        joint_gap_mm=case.ring_type.joint_gap_mm,
    )
    return np.asarray(found.chainage_m)


def rings_of(case: DriveCase) -> Rings:
    """Return the rings of a drive with the places of their pushes."""
    count = ring_count(case)
    fronts = _ring_fronts(case, count)
    rear = np.concatenate([[case.drive.start_chainage_m], fronts[:-1]])
    number = np.arange(1.0, count + 1)
    shift = kernel("record.grout.ring_shift")(outlet_distance_m=case.machine.grout_offset_m, ring_length_m=case.ring_type.ring_length_m)
    return Rings(
        ring_number=number,
        chainage_m=fronts,
        rear_chainage_m=rear,
        face_start_chainage_m=rear + case.machine.face_offset_m,
        face_end_chainage_m=fronts + case.machine.face_offset_m,
        grout_ring_number=number - float(shift.ring_shift_count),
        points=axis_points(case.drive, fronts),
    )
