"""Machine, ring and calendar."""

import zoneinfo
from collections.abc import Iterator
from itertools import pairwise

from tunnelwright.drive.project.checks.complaint import Complaint
from tunnelwright.drive.project.models import Project

LEAST_TAIL_GAP_M = 0.040


def shield_dimensions(project: Project) -> Iterator[Complaint]:
    """Complain of a shield that grows backwards or is longer in front of the ring than it is."""
    for index, machine in enumerate(project.machines):
        sizes = ("excavation_diameter_m", "shield_front_diameter_m", "shield_tail_diameter_m")
        for larger, smaller in pairwise(sizes):
            if getattr(machine, smaller) > getattr(machine, larger):
                yield Complaint(
                    path=("machines", index, smaller),
                    given=f"{getattr(machine, smaller):g} m",
                    required=f"must be at most {larger} {getattr(machine, larger):g} m",
                    hint="a shield tapers backwards; are the two swapped?",
                )
        if machine.face_offset_m >= machine.shield_length_m:
            yield Complaint(
                path=("machines", index, "face_offset_m"),
                given=f"{machine.face_offset_m:g} m",
                required=f"must be less than shield_length_m {machine.shield_length_m:g} m",
                hint="the last ring stands inside the tail",
            )


def chamber(project: Project) -> Iterator[Complaint]:
    """Complain of sensors outside the bore, of support weights out of order, of a slurry shield without a circuit."""
    for index, machine in enumerate(project.machines):
        for position, sensor in enumerate(machine.chamber_sensors):
            if sensor.depth_below_crown_m > machine.excavation_diameter_m:
                yield Complaint(
                    path=("machines", index, "chamber_sensors", position, "depth_below_crown_m"),
                    given=f"{sensor.depth_below_crown_m:g} m",
                    required=f"must lie in 0 to {machine.excavation_diameter_m:g} m, the height of the bore",
                    hint="depth counts down from the crown",
                )
        low, expected, high = machine.support_unit_weight_low_kn_m3, machine.support_unit_weight_kn_m3, machine.support_unit_weight_high_kn_m3
        if not low <= expected <= high:
            yield Complaint(
                path=("machines", index, "support_unit_weight_kn_m3"),
                given=f"{low:g}, {expected:g}, {high:g}",
                required="low, expected and high support unit weight must rise in this order",
            )
        if machine.kind == "slurry" and machine.slurry is None:
            yield Complaint(path=("machines", index, "slurry"), given="nothing", required="a slurry shield needs [machine.slurry]: medium, flows and pipe")
        if machine.kind == "epb" and machine.slurry is not None:
            yield Complaint(
                path=("machines", index, "slurry"), given="a slurry circuit", required="an earth-pressure shield has none", hint='is kind = "slurry" meant?'
            )


def ring_in_tail(project: Project) -> Iterator[Complaint]:
    """Complain of a ring that does not fit into its shield's tail."""
    machines = {machine.name: (index, machine) for index, machine in enumerate(project.machines)}
    rings = {ring.name: ring for ring in project.ring_types}
    for drive in project.drives:
        if drive.machine not in machines or drive.ring_type not in rings:
            continue
        index, machine = machines[drive.machine]
        ring = rings[drive.ring_type]
        least = ring.ring_outer_diameter_m + 2 * LEAST_TAIL_GAP_M
        if machine.shield_tail_diameter_m < least:
            yield Complaint(
                path=("machines", index, "shield_tail_diameter_m"),
                given=f"{machine.shield_tail_diameter_m:g} m",
                required=f"must be at least {least:g} m: ring {ring.name} is {ring.ring_outer_diameter_m:g} m outside and needs plate and gap all round",
            )
        elif machine.tail_skin_inner_diameter_m <= ring.ring_outer_diameter_m:
            yield Complaint(
                path=("machines", index, "tail_skin_thickness_m"),
                given=f"{machine.tail_skin_thickness_m:g} m",
                required=f"the tail's inside must be wider than ring {ring.name}, {ring.ring_outer_diameter_m:g} m",
                hint=f"the inside is {machine.tail_skin_inner_diameter_m:g} m",
            )


def calendar(project: Project) -> Iterator[Complaint]:
    """Complain of a calendar that is over before a drive begins, and of a time zone nobody knows."""
    calendar = project.calendar
    if calendar.time_zone not in zoneinfo.available_timezones():
        yield Complaint(
            path=("calendar", "time_zone"),
            given=f'"{calendar.time_zone}"',
            required="a time zone of the IANA list is needed",
            hint='for example "UTC" or "CET"',
        )
    if calendar.end_date is not None and calendar.end_date <= calendar.start_date:
        yield Complaint(path=("calendar", "end_date"), given=str(calendar.end_date), required=f"must lie after start_date {calendar.start_date}")
    for index, drive in enumerate(project.drives):
        if drive.start_date is None:
            continue
        if drive.start_date < calendar.start_date or (calendar.end_date is not None and drive.start_date >= calendar.end_date):
            yield Complaint(
                path=("drives", index, "start_date"),
                given=str(drive.start_date),
                required=f"must lie inside the calendar, which runs from {calendar.start_date}" + (f" to {calendar.end_date}" if calendar.end_date else ""),
            )
