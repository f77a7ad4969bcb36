"""What is doubtful in a project without being wrong."""

import datetime
from collections.abc import Iterator
from typing import Final

import numpy as np

from tunnelwright.drive.project.checks.water import surface_level_m
from tunnelwright.drive.project.chords import Chords, chords_of
from tunnelwright.drive.project.drives import Drive
from tunnelwright.drive.project.ground import Unit
from tunnelwright.drive.project.models import Project
from tunnelwright.vocabulary.remark import Caution
from tunnelwright.vocabulary.units import split_name

READING_OLD_DAYS: Final = 366
FAR_OFFSET_M: Final = 50.0
HOLE_SPACING_M: Final = 100.0
GRADIENT_WATCH: Final = 0.05
CURVATURE_STEP_1_M: Final = 1e-6
LEVEL_MISMATCH_M: Final = 1.0


def cautions(project: Project) -> tuple[Caution, ...]:
    """Return what an engineer should know about the inputs before trusting a result."""
    found = [*_of_units(project), *_of_choices(project), *_of_machines(project), *_of_water(project)]
    for drive in project.drives:
        axis = chords_of(drive.axis)
        found += [*_of_axis(project, drive), *_of_boreholes(project, drive, axis), *_of_readings(project, drive)]
    return tuple(found + list(_of_assets(project)))


def _of_units(project: Project) -> Iterator[Caution]:
    bases = {unit.code: {spread.basis for spread in unit.spreads().values()} for unit in project.ground.units}
    for unit in project.ground.units:
        subject = f"ground unit {unit.code}"
        assumed = [split_name(name)[0].replace("_", " ") for name, spread in unit.spreads().items() if spread.is_assumed and spread.value != 0]
        if assumed:
            yield Caution(subject=subject, sentence=f"No spread is given for {', '.join(assumed)}: the usual coefficient of variation is taken.")
        if len(bases[unit.code]) > 1:
            yield Caution(
                subject=subject,
                sentence=f"Its values mix {' and '.join(sorted(bases[unit.code]))}: sampling needs means, a single calculation characteristic values.",
            )
        yield from (Caution(subject=subject, sentence=sentence) for sentence in _of_unit(unit))
    common = {basis for unit_bases in bases.values() for basis in unit_bases}
    if len(common) > 1 and all(len(unit_bases) == 1 for unit_bases in bases.values()):
        yield Caution(subject="ground units", sentence=f"Some units give {' values, others '.join(sorted(common))} values.")


def _of_unit(unit: Unit) -> Iterator[str]:
    if unit.cohesion_kpa.value > 0 and unit.kind in ("gravel", "sand"):
        yield f"Cohesion {unit.cohesion_kpa.value:g} kPa in {unit.kind}: below water it holds only if it is cemented, and capillary cohesion is lost."
    if unit.cohesion_kpa.value > 20 and unit.kind in ("silt", "clay", "mixed", "made_ground"):
        yield f"Cohesion {unit.cohesion_kpa.value:g} kPa is high for {unit.kind}."
    if unit.kind in ("clay", "silt") and unit.drainage != "drained" and unit.undrained_strength_reference_kpa is None:
        yield "No undrained strength is given: its undrained face calculation is not checked."
    if unit.permeability_m_s is None and unit.drainage is None:
        yield "Neither permeability nor drainage is given: drained or undrained is chosen by kind."
    if unit.kind == "made_ground" and unit.earth_pressure_coefficient_at_rest is None:
        yield "Formulas for earth pressure at rest do not hold in made ground: give the coefficient."


def _of_choices(project: Project) -> Iterator[Caution]:
    choices = project.choices
    if choices.arching == "on":
        young = {unit.code for unit in project.ground.units if unit.kind == "made_ground"}
        if young and any(drive.twin for drive in project.drives):
            yield Caution(
                subject="choices.arching", sentence="A twin tube loosens the ground above: arching is relied on, so look at the value without it too."
            )
    for name, usual in (("effective_support_factor", 1.5), ("water_factor", 1.05), ("undrained_factor", 1.5)):
        if getattr(choices, name) < usual:
            yield Caution(
                subject=f"choices.{name}",
                sentence=f"{getattr(choices, name):g} is less than the usual {usual:g}: a reduced factor is the signed decision of a licensed engineer.",
            )
    if choices.stress_factor > 0.9:
        yield Caution(
            subject="choices.stress_factor", sentence=f"{choices.stress_factor:g} of the vertical stress leaves less against blow-out than the usual 0.9."
        )


def _of_machines(project: Project) -> Iterator[Caution]:
    for machine in project.machines:
        subject = f"machine {machine.name}"
        if machine.kind == "slurry" and machine.support_unit_weight_high_kn_m3 > 15:
            yield Caution(
                subject=subject,
                sentence=f"A slurry of {machine.support_unit_weight_high_kn_m3:g} kN/m3 is heavy: is it a support weight of an earth-pressure shield?",
            )
        if len({sensor.depth_below_crown_m for sensor in machine.chamber_sensors}) < 3:
            yield Caution(subject=subject, sentence="Fewer than three sensor levels: the pressure gradient in the chamber cannot be fitted.")
        if machine.kind == "epb" and not machine.belt_weighers:
            yield Caution(subject=subject, sentence="No belt weigher: over-excavation cannot be seen in the muck.")
        rated = (machine.bulkhead_pressure_rated_kpa, machine.bearing_seal_pressure_rated_kpa)
        if None in rated:
            yield Caution(
                subject=subject, sentence="The rated pressure of bulkhead or main bearing seal is missing: the machine's own upper limit is not checked."
            )


def _of_water(project: Project) -> Iterator[Caution]:
    if not project.ground.aquifers:
        yield Caution(subject="ground", sentence="No aquifer is given: every pore pressure is zero.")
    for aquifer in project.ground.aquifers:
        if all(point.low_m == point.high_m for point in aquifer.heads):
            yield Caution(subject=f"aquifer {aquifer.name}", sentence="Low and high water are the same: its spread is not looked at.")


def _of_axis(project: Project, drive: Drive) -> Iterator[Caution]:
    axis, subject = drive.axis, f"drive {drive.name}"
    steps = np.abs(axis.start_curvature_1_m[1:] - axis.end_curvature_1_m[:-1]) > CURVATURE_STEP_1_M
    stations = axis.start.chainage_m + np.cumsum(axis.length_m)[:-1]
    if steps.any():
        places = ", ".join(f"{station:.0f}" for station in stations[steps])
        yield Caution(subject=subject, sentence=f"The curvature steps without a transition at chainage {places} m: no shield follows that.")
    gradient = np.abs(np.diff(axis.vertex_level_m) / np.diff(axis.vertex_chainage_m)).max()
    if gradient > GRADIENT_WATCH:
        yield Caution(subject=subject, sentence=f"The steepest grade is {100 * gradient:.1f} %.")
    curvature = max(np.abs(axis.start_curvature_1_m).max(), np.abs(axis.end_curvature_1_m).max())
    least = project.machine_of(drive).radius_min_m
    if least is not None and curvature * least > 1.0:
        yield Caution(subject=subject, sentence=f"The tightest radius {1 / curvature:.0f} m is below the machine's least, {least:g} m.")


def _of_boreholes(project: Project, drive: Drive, axis: Chords) -> Iterator[Caution]:
    holes = project.ground.boreholes
    chainage, offset, beyond = axis.nearest(np.array([hole.easting_m for hole in holes]), np.array([hole.northing_m for hole in holes]))
    diameter = project.machine_of(drive).excavation_diameter_m
    surface = surface_level_m(project, np.array([hole.easting_m for hole in holes]), np.array([hole.northing_m for hole in holes]))
    for index, hole in enumerate(holes):
        subject = f"borehole {hole.borehole}"
        if beyond[index] == 0 and abs(offset[index]) < 2 * diameter and not hole.sealed:
            yield Caution(
                subject=subject,
                sentence=f"It stands {abs(offset[index]):.1f} m from the axis of drive {drive.name} at chainage {chainage[index]:.0f} m "
                "and is not sealed: a path for a blow-out.",
            )
        if len(project.drives) == 1 and abs(offset[index]) > FAR_OFFSET_M:
            yield Caution(subject=subject, sentence=f"It stands {abs(offset[index]):.0f} m off the axis: what it says about the drive is uncertain.")
        if len(project.drives) == 1 and beyond[index] > 0:
            yield Caution(subject=subject, sentence=f"It stands {beyond[index]:.0f} m beyond the ends of drive {drive.name}.")
        if abs(surface[index] - hole.ground_level_m) > LEVEL_MISMATCH_M:
            yield Caution(subject=subject, sentence=f"Its ground level {hole.ground_level_m:.2f} m differs from the surface there, {surface[index]:.2f} m.")
    yield from _of_spacing(drive, axis, chainage[(beyond == 0) & (np.abs(offset) <= FAR_OFFSET_M)])


def _of_spacing(drive: Drive, axis: Chords, chainage_m: np.ndarray) -> Iterator[Caution]:
    places = np.concatenate([[axis.chainage_m[0]], np.sort(chainage_m), [axis.chainage_m[-1]]])
    gaps = np.diff(places)
    wide = [f"{start:.0f} to {start + gap:.0f}" for start, gap in zip(places[:-1], gaps, strict=True) if gap > 2 * HOLE_SPACING_M]
    if wide:
        yield Caution(subject=f"drive {drive.name}", sentence=f"More than {HOLE_SPACING_M:g} m from the nearest borehole inside chainage {', '.join(wide)} m.")


def _of_readings(project: Project, drive: Drive) -> Iterator[Caution]:
    start = drive.start_date or project.calendar.start_date
    readings = project.ground.piezometers
    old = sorted(
        {
            reading.piezometer
            for reading in readings
            if _age_days(reading.date, start) > READING_OLD_DAYS and _is_latest(reading.date, reading.piezometer, project)
        }
    )
    if old:
        yield Caution(
            subject="piezometers",
            sentence=f"The last reading of {', '.join(old)} is more than twelve months older than the start of drive {drive.name}, {start}.",
        )
    if readings and len({(reading.date.month - 1) // 3 for reading in readings}) == 1:
        yield Caution(subject="piezometers", sentence="All readings are of one season: high and low water may lie outside them.")


def _age_days(date: datetime.date, start: datetime.date) -> int:
    return (start - date).days


def _is_latest(date: datetime.date, piezometer: str, project: Project) -> bool:
    return date == max(reading.date for reading in project.ground.piezometers if reading.piezometer == piezometer)


def _of_assets(project: Project) -> Iterator[Caution]:
    for asset in project.assets:
        if asset.kind == "building" and asset.height_m is None:
            yield Caution(subject=f"asset {asset.asset}", sentence="Its height is missing: it cannot be assessed as a beam.")
        if asset.kind == "pile" and asset.toe_level_m is None:
            yield Caution(subject=f"asset {asset.asset}", sentence="The level of its pile toes is missing: they are not checked against the drive.")
        if asset.survey_date is None and asset.kind in ("building", "wall", "track", "pipe_jointed"):
            yield Caution(subject=f"asset {asset.asset}", sentence="No condition survey is recorded.")
