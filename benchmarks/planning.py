"""Planning 3,000 pushes, and the limits of their stations by a plain script."""

import re
from pathlib import Path

import numpy as np
from examples.brennholt.project import write_project

from benchmarks.baseline_plan import Rules, Segment, Station, Unit, limits
from benchmarks.measuring import Row, timed
from tunnelwright import app
from tunnelwright.drive.axis import DriveCase
from tunnelwright.drive.geology import unsealed_holes_near
from tunnelwright.drive.plan import Plan, plan_drive
from tunnelwright.drive.plan.face import station_window
from tunnelwright.drive.sections import Column
from tunnelwright.drive.strength import drainage_of, lower_limit_values, upper_limit_values

PUSH_COUNT = 3000
RING_LENGTH_M = 0.7
LONGEST_BASELINE_S = 60.0
SAMPLE_COUNT = 400
AGREEMENT = 0.005


def many_pushes(folder: Path, push_count: int = PUSH_COUNT) -> DriveCase:
    """Return the East drive with short rings, so that so many pushes fit on its axis."""
    write_project(folder)
    for name, pattern, new in (
        ("ring_types.toml", r"ring_length_m = [\d.]+", f"ring_length_m = {RING_LENGTH_M}"),
        ("project.toml", r"ring_count = \d+", f"ring_count = {push_count}"),
    ):
        path = folder / name
        path.write_text(re.sub(pattern, new, path.read_text(encoding="utf-8"), count=1), encoding="utf-8")
    return app.open_workspace(folder).case("east")


def measure(folder: Path, push_count: int = PUSH_COUNT, longest_s: float = LONGEST_BASELINE_S) -> list[Row]:
    """Return the comparison of the whole plan, and of its face limits alone, with the plain script.

    Raises
    ------
    AssertionError
        when the two disagree by more than half a per cent.
    """
    case = many_pushes(folder, push_count)
    plan_s, plan = timed(lambda: plan_drive(case), repeats=3)
    window_s, _ = timed(lambda: station_window(case, plan.sections, plan.geology), repeats=3)
    baseline_s, share, difference = run_baseline(plan, longest_s)
    assert difference <= AGREEMENT, f"the plain script differs by {difference:.2%}"
    count = plan.sections.count
    how = f"{count} stations" if share == 1.0 else f"{share:.0%} of {count} stations, scaled"
    note = f"{how}; limits differ by at most {difference:.3%}"
    baseline = "plain script of the limits, station by station"
    return [
        Row(task=f"plan {push_count} pushes: ground, limits, targets, muck, grout", unit="s", ours=plan_s, baseline=baseline, theirs=baseline_s, note=note),
        Row(task="their face limits alone", unit="s", ours=window_s, baseline=baseline, theirs=baseline_s, note=how),
    ]


def run_baseline(plan: Plan, longest_s: float) -> tuple[float, float, float]:
    """Return the seconds the plain script needs for all stations, the share of them that it ran, and the greatest relative difference."""
    units, rules = units_of(plan.case), rules_of(plan)
    count = plan.sections.count
    sample = np.unique(np.linspace(0, count - 1, min(count, SAMPLE_COUNT)).astype(int))
    seconds, difference = _baseline_on(plan, units, rules, sample)
    if seconds / len(sample) * count > longest_s:
        return seconds / len(sample) * count, len(sample) / count, difference
    seconds, difference = _baseline_on(plan, units, rules, np.arange(count))
    return seconds, 1.0, difference


def _baseline_on(plan: Plan, units: list[Unit], rules: Rules, places: np.ndarray) -> tuple[float, float]:
    stations = [station_of(plan, int(at)) for at in places]
    seconds, found = timed(lambda: np.array([limits(one, units, rules) for one in stations]))
    window = plan.window
    columns = (window.hard_lower_crown_kpa, window.drained_required_crown_kpa, window.undrained_required_crown_kpa, window.hard_upper_crown_kpa)
    ours = np.stack(columns, axis=1)[places]
    assert (np.isnan(found) == np.isnan(ours)).all(), "program and plain script judge different stations as clay"
    # An undrained limit may pass through nothing; what is below a kilopascal means that clay stands unsupported.
    return seconds, float(np.nanmax(np.abs(found - ours) / np.maximum(np.abs(ours), 1.0)))


def units_of(case: DriveCase) -> list[Unit]:
    """Return the cautious values of every unit as plain numbers."""
    low, high = upper_limit_values(case.project), lower_limit_values(case.project)
    drainage = [drainage_of(unit, case.project.choices.drainage) for unit in case.project.ground.units_in_order]
    return [
        Unit(
            weight_high=float(high.unit_weight_kn_m3[at]),
            weight_low=float(low.unit_weight_kn_m3[at]),
            wet_weight_high=float(high.unit_weight_saturated_kn_m3[at]),
            wet_weight_low=float(low.unit_weight_saturated_kn_m3[at]),
            friction_rad=float(high.friction_angle_rad[at]),
            cohesion=float(high.cohesion_kpa[at]),
            strength=float(high.undrained_strength_reference_kpa[at]),
            strength_gradient=float(high.undrained_strength_gradient_kpa_m[at]),
            strength_reference_level=float(high.reference_level_m[at]),
            stays_undrained=word == "undrained",
            is_clay=word != "drained" and unit.undrained_strength_reference_kpa is not None,
        )
        for at, (unit, word) in enumerate(zip(case.project.ground.units_in_order, drainage, strict=True))
    ]


def rules_of(plan: Plan) -> Rules:
    """Return machine and factors as plain numbers."""
    machine, choices = plan.case.machine, plan.case.project.choices
    infinite = float("inf")
    return Rules(
        diameter=plan.sections.excavation_diameter_m,
        surcharge=plan.case.drive.surcharge_kpa,
        support_weight_low=machine.support_unit_weight_low_kn_m3,
        support_weight_high=machine.support_unit_weight_high_kn_m3,
        bulkhead_limit=infinite if machine.bulkhead_pressure_rated_kpa is None else machine.bulkhead_pressure_rated_kpa,
        seal_limit=infinite if machine.bearing_seal_pressure_rated_kpa is None else machine.bearing_seal_pressure_rated_kpa,
        water_unit_weight=plan.case.project.water_unit_weight_kn_m3,
        support_factor=choices.effective_support_factor,
        water_factor=choices.water_factor,
        strength_factor=choices.undrained_factor,
        stress_factor=choices.stress_factor,
        open_holes=[chainage for _, chainage, _ in unsealed_holes_near(plan.case, plan.geology)],
    )


def station_of(plan: Plan, at: int) -> Station:
    """Return one station as plain numbers."""
    sections = plan.sections
    return Station(
        chainage=float(sections.chainage_m[at]),
        ground_level=float(sections.ground_level_m[at]),
        lowest_ground_level=float(sections.lowest_ground_level_m[at]),
        axis_level=float(sections.points.level_m[at]),
        free_water_high=float(sections.free_water_height_m["high"][at]),
        free_water_low=float(sections.free_water_height_m["low"][at]),
        unit_tops=[float(level) for level in sections.boundary_level_m[at]],
        column_high_water=_segments(sections.columns["high"], at),
        column_low_water=_segments(sections.columns["low"], at),
    )


def _segments(column: Column, at: int) -> list[Segment]:
    fields = (column.top_level_m, column.base_level_m, column.unit_index, column.pore_pressure_top_kpa, column.pore_pressure_base_kpa, column.is_wet)
    rows = zip(*(values[at].tolist() for values in fields), strict=True)
    return [Segment(top, base, int(unit), pore_top, pore_base, wet > 0) for top, base, unit, pore_top, pore_base, wet in rows if top - base > 1e-9]
