"""The plan as small records by subject, equally long over the pushes of a drive."""

from dataclasses import dataclass, field

import numpy as np

from tunnelwright.drive.axis import DriveCase, Rings, rings_of
from tunnelwright.drive.geology import Geology, geology_of
from tunnelwright.drive.plan.face import FacePlan, Stations, StationWindow, face_plan, face_stations, station_window
from tunnelwright.drive.plan.grout import GroutPlan, grout_plan
from tunnelwright.drive.plan.muck import MuckPlan, muck_plan
from tunnelwright.drive.sections import Sections, sections_at
from tunnelwright.vocabulary.remark import Caution
from tunnelwright.vocabulary.types import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """What is planned for every push and ring of a drive.

    Parameters
    ----------
    revision : digest of the project; the same project gives the same plan.
    stations, sections, window : the face calculation, at every place of the face spans.
    ring_sections : at the middle of the rings.
    """

    case: DriveCase
    revision: str
    rings: Rings
    geology: Geology
    stations: Stations
    sections: Sections
    window: StationWindow
    ring_sections: Sections
    face: FacePlan
    muck: MuckPlan
    grout: GroutPlan
    cautions: tuple[Caution, ...] = field(default=())

    @property
    def push_count(self) -> int:
        """Return the number of pushes, which is that of the rings."""
        return self.rings.count


def plan_drive(case: DriveCase) -> Plan:
    """Return the plan of a drive.

    Raises
    ------
    SurfaceMissing
        when the surveyed surface does not cover the drive.
    """
    rings = rings_of(case)
    geology = geology_of(case)
    stations = face_stations(case, rings)
    sections = sections_at(case, geology, stations.chainage_m)
    window = station_window(case, sections, geology)
    face = face_plan(case, sections, stations, window, geology)
    muck = muck_plan(case, rings, sections, stations, face.target_axis_kpa)
    ring_sections = sections_at(case, geology, (rings.chainage_m + rings.rear_chainage_m) / 2)
    passed = push_at_face(rings, ring_sections.chainage_m)
    grout = grout_plan(case, rings, ring_sections, face.target_crown_kpa[passed], face.hard_lower_crown_kpa[passed])
    return Plan(
        case=case,
        revision=case.project.revision,
        rings=rings,
        geology=geology,
        stations=stations,
        sections=sections,
        window=window,
        ring_sections=ring_sections,
        face=face,
        muck=muck,
        grout=grout,
        cautions=(*geology.cautions, *_cautions(face, sections)),
    )


def push_at_face(rings: Rings, chainage_m: FloatArray) -> IntArray:
    """Return the index of the push whose face span holds each chainage; the first push for what lies behind the launch."""
    return np.clip(np.searchsorted(rings.face_end_chainage_m, chainage_m), 0, rings.count - 1)


def _cautions(face: FacePlan, sections: Sections) -> list[Caution]:
    cautions = []
    closed = np.flatnonzero(~face.has_window)
    if len(closed):
        places = ", ".join(str(one + 1) for one in closed[:12]) + (" ..." if len(closed) > 12 else "")
        cautions.append(Caution(subject="face", sentence=f"{len(closed)} pushes have no window and need a decision before the face comes there: {places}"))
    shallow = np.flatnonzero(face.cover_m < sections.excavation_diameter_m)
    if len(shallow):
        cautions.append(
            Caution(subject="cover", sentence=f"cover is less than one diameter at pushes {shallow[0] + 1} to {shallow[-1] + 1}: watch for blow-out and heave")
        )
    far = sections.nearest_hole_m > 100.0
    if far.any():
        cautions.append(
            Caution(subject="boreholes", sentence=f"the next borehole is more than 100 m away at {far.mean():.0%} of the face; the ground there is a guess")
        )
    return cautions
