"""The face of one push: strata, water and sensors across it, and the pressures over its height."""

import numpy as np

from tunnelwright.app.views.section import DRAWN_KIND, short_name
from tunnelwright.app.views.subject import Subject
from tunnelwright.report.inputs import FaceSensor, FaceSheet, FaceStratum

DRAWN_BEYOND_FACE_M = 1.5


def face_drawing(subject: Subject, ring: int) -> FaceSheet:
    """Return the face at the station that governs the lower limit of a push: strata, water and pressures over the height."""
    made, index = subject.plan, ring - 1
    at = int(made.face.lower_station[index])
    sections, machine = made.sections, made.case.machine
    diameter, axis = sections.excavation_diameter_m, float(sections.points.level_m[at])
    column = sections.columns["normal"]
    low, high = axis - diameter / 2, axis + diameter / 2
    level = np.linspace(high, low, 25)
    water = np.interp(-level, -column.top_level_m[at], column.pore_pressure_top_kpa[at])
    support = made.face.target_crown_kpa[index] + machine.support_unit_weight_kn_m3 * (high - level)
    return FaceSheet(
        chainage_m=float(made.stations.chainage_m[at]),
        ring_number=ring,
        axis_level_m=axis,
        diameter_m=diameter,
        strata=_strata(subject, at, low, high),
        sensors=_sensors(subject, ring),
        sensors_are_planned=True,
        level_m=level,
        water_kpa=water,
        support_kpa=support,
        lower_kpa=made.face.operating_lower_crown_kpa[index] + machine.support_unit_weight_low_kn_m3 * (high - level),
        upper_kpa=made.face.operating_upper_crown_kpa[index] + machine.support_unit_weight_high_kn_m3 * (high - level),
        target_crown_kpa=float(made.face.target_crown_kpa[index]),
    )


def _strata(subject: Subject, at: int, low_m: float, high_m: float) -> tuple[FaceStratum, ...]:
    """Return the strata at a station from a little above the face to a little below; neighbours of one name are joined."""
    column = subject.plan.sections.columns["normal"]
    units = subject.plan.case.project.ground.units_in_order
    strata: list[FaceStratum] = []
    for top, base, number in zip(column.top_level_m[at], column.base_level_m[at], column.unit_index[at], strict=True):
        if top - base < 1e-6 or top < low_m - DRAWN_BEYOND_FACE_M or base > high_m + DRAWN_BEYOND_FACE_M:
            continue
        unit = units[int(number)]
        name, upper = short_name(unit.name), float(top)
        if strata and strata[-1].name == name:
            upper = strata.pop().top_level_m
        strata.append(FaceStratum(name=name, kind=DRAWN_KIND[unit.kind], top_level_m=upper, base_level_m=float(base)))
    return tuple(strata)


def _sensors(subject: Subject, ring: int) -> tuple[FaceSensor, ...]:
    machine, made = subject.plan.case.machine, subject.plan
    radius = made.sections.excavation_diameter_m / 2
    found = []
    for place, sensor in enumerate(machine.chamber_sensors):
        height = radius - sensor.depth_below_crown_m
        reach = min(radius * 0.85, np.sqrt(max(0.0, (radius * 0.9) ** 2 - height**2)))
        across = {"left": -reach, "right": reach, "centre": 0.0}[sensor.side]
        angle = float(np.degrees(np.arctan2(across, height)))
        found.append(
            FaceSensor(
                name=sensor.name,
                clock_angle_deg=angle,
                radius_m=float(np.hypot(across, height)),
                pressure_kpa=float(made.face.target_sensor_kpa[ring - 1, place]),
            )
        )
    return tuple(found)
