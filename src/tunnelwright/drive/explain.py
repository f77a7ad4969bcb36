"""The calculations behind one push, each as a registered method with the inputs the plan used, so that a sheet can be printed and checked."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.plan.face import drained_inputs, local_wedge_table, undrained_limit, upper_stresses, water_cases
from tunnelwright.drive.reconcile import Reconciliation
from tunnelwright.drive.reconcile.grout import grouted_ring_index
from tunnelwright.drive.sections import sections_at
from tunnelwright.drive.strength import lower_limit_values, upper_limit_values
from tunnelwright.vocabulary.calculate import Calculation, calculation
from tunnelwright.vocabulary.types import Values


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """One calculation behind a push: what it answers, where on the drive, and the calculation itself."""

    title: str
    chainage_m: float
    calculation: Calculation


def explain_push(plan: Plan, ring_number: int) -> list[Explained]:
    """Return the calculations of the plan behind one push, in the order in which they follow from each other."""
    index = ring_number - 1
    return [*_face(plan, index), *_window(plan, index), *_muck(plan, index), *_grout(plan, index)]


def _explained(title: str, chainage_m: float, method_id: str, inputs: Values) -> Explained:
    return Explained(title=title, chainage_m=float(chainage_m), calculation=calculation(kernel(method_id), inputs))


def _face(plan: Plan, index: int) -> Iterator[Explained]:
    """Yield the limits at the stations that govern this push."""
    case, machine, choices = plan.case, plan.case.machine, plan.case.project.choices
    lower = int(plan.face.lower_station[index])
    chainage = plan.stations.chainage_m[lower]
    section = sections_at(case, plan.geology, np.array([chainage]))
    values = lower_limit_values(case.project)
    _, water = water_cases(case)
    slices = _explained(
        "Drained support of the face, before factors", chainage, choices.drained_lower_limit, _scalars(drained_inputs(case, section, values, water))
    )
    yield slices
    window = plan.window
    column = section.columns[water]
    yield _explained(
        "Least pressure with partial factors",
        chainage,
        "face.window_partial_factors.daub_2016",
        {
            "excavation_diameter_m": section.excavation_diameter_m,
            "effective_support_pressure_kpa": window.effective_support_pressure_kpa[lower],
            "water_force_kn": window.water_force_kn[lower],
            "pore_pressure_crown_kpa": window.pore_pressure_crown_kpa[lower],
            "pore_pressure_invert_kpa": window.pore_pressure_invert_kpa[lower],
            "support_unit_weight_kn_m3": machine.support_unit_weight_low_kn_m3,
            "pressure_allowance_kpa": machine.pressure_allowance_kpa,
            "effective_support_factor": choices.effective_support_factor,
            "water_factor": choices.water_factor,
            "crown_water_rule": "on" if window.crown_water_rule_applies[lower] else "off",
            "local_wedges": _first(local_wedge_table(section, column, slices.calculation.record.as_dict()["local_wedges"])),
            "water_unit_weight_kn_m3": case.project.water_unit_weight_kn_m3,
        },
    )
    clay = undrained_limit(case, section, values, water)
    if np.isfinite(clay["required_crown"][0]):
        shared = {
            "excavation_diameter_m": section.excavation_diameter_m,
            "cover_m": section.cover_m[0],
            "total_vertical_stress_axis_kpa": clay["stress_axis"][0],
            "undrained_strength_kpa": clay["strength"][0],
        }
        yield _explained(
            "Least pressure while the clay does not drain", chainage, choices.undrained_lower_limit, {**shared, "strength_factor": choices.undrained_factor}
        )
        yield _explained(
            "Pressure that keeps the planned loss of ground",
            chainage,
            "face.service_pressure.macklin_1999",
            {**shared, "volume_loss": case.drive.volume_loss_planned},
        )


def _window(plan: Plan, index: int) -> Iterator[Explained]:
    case = plan.case
    upper = int(plan.face.upper_station[index])
    chainage = plan.stations.chainage_m[upper]
    section = sections_at(case, plan.geology, np.array([chainage]))
    low, _ = water_cases(case)
    crown = upper_stresses(case, section, upper_limit_values(case.project), low)
    inputs: dict[str, object] = {"total_vertical_stress_crown_kpa": crown.total_vertical_stress_kpa[0], "stress_factor": case.project.choices.stress_factor}
    if case.project.choices.upper_limit == "face.upper.effective_part":
        inputs["pore_pressure_crown_kpa"] = crown.pore_pressure_kpa[0]
    yield _explained("Greatest pressure the cover bears", chainage, case.project.choices.upper_limit, inputs)
    face = plan.face
    yield _explained(
        "Window of the push",
        plan.rings.face_end_chainage_m[index],
        "face.window_limits.allowance",
        {
            "required_face_pressure_crown_kpa": face.hard_lower_crown_kpa[index],
            "face_pressure_limit_crown_kpa": face.hard_upper_crown_kpa[index],
            "pressure_allowance_kpa": case.machine.pressure_allowance_kpa,
        },
    )
    yield _explained(
        "Preferred pressure, before steps for the crew",
        plan.rings.face_end_chainage_m[index],
        "face.target_preferred.rule",
        {
            "operating_lower_crown_kpa": face.operating_lower_crown_kpa[index],
            "operating_upper_crown_kpa": face.operating_upper_crown_kpa[index],
            "service_pressure_axis_kpa": face.service_pressure_crown_kpa[index] + case.machine.support_unit_weight_kn_m3 * section.excavation_diameter_m / 2,
            "excavation_diameter_m": section.excavation_diameter_m,
            "support_unit_weight_kn_m3": case.machine.support_unit_weight_kn_m3,
            "window_share": case.project.choices.window_share,
        },
    )


def _muck(plan: Plan, index: int) -> Iterator[Explained]:
    muck, diameter = plan.muck, plan.sections.excavation_diameter_m
    place = plan.rings.face_end_chainage_m[index]
    stroke = plan.case.ring_type.ring_length_m + plan.case.ring_type.joint_gap_mm / 1000.0
    yield _explained("Volume of the bore", place, "muck.volume.geometry", {"excavation_diameter_m": diameter, "stroke_m": stroke})
    yield _explained(
        "Mass expected on the belt",
        place,
        "muck.mass.expected",
        {
            "density_t_m3": muck.density_t_m3[index],
            "water_content": muck.water_content[index],
            "excavated_volume_m3": muck.excavated_volume_m3[index],
            "solution_volume_m3": muck.solution_volume_m3[index],
            "added_water_t": muck.added_water_t[index],
        },
    )


def _grout(plan: Plan, index: int) -> Iterator[Explained]:
    case, grout = plan.case, plan.grout
    place = float(plan.ring_sections.chainage_m[index])
    yield _explained(
        "Annulus round the ring",
        place,
        "grout.volume.annulus",
        {
            "excavation_diameter_m": plan.sections.excavation_diameter_m,
            "ring_outer_diameter_m": case.ring_type.ring_outer_diameter_m,
            "ring_length_m": case.ring_type.ring_length_m,
            "tail_skin_diameter_m": case.machine.shield_tail_diameter_m,
        },
    )
    yield _explained(
        "Grout planned round the ring",
        place,
        "grout.volume.target",
        {
            "annulus_volume_m3": grout.annulus_volume_m3[index],
            "fill_factor": grout.fill_factor[index],
            "component_ratio": case.machine.grouting.component_ratio,
        },
    )


def explain_record(reconciliation: Reconciliation, ring_number: int) -> list[Explained]:
    """Return the calculations behind the measured values of one ring; none when the log did not see it."""
    row = reconciliation.row_of(ring_number)
    if row is None:
        return []
    plan, balance, index = reconciliation.plan, reconciliation.balance, ring_number - 1
    explained = []
    if np.isfinite(balance.measured_mass_t[row]):
        explained.append(
            _explained(
                "Muck measured against expected",
                plan.rings.face_end_chainage_m[index],
                "muck.excess.single_ring",
                {
                    "measured_mass_t": balance.measured_mass_t[row],
                    "expected_mass_t": balance.expected_mass_t[row],
                    "density_t_m3": plan.muck.density_t_m3[index],
                    "excavated_volume_m3": balance.excavated_volume_m3[row],
                    "weigher_scale_factor": balance.scale_factor,
                    "ring_sd_ratio": balance.ring_sd_ratio[row],
                },
            )
        )
    around = int(grouted_ring_index(plan, reconciliation.recorded)[row])
    volume = reconciliation.recorded.number("grout_volume_m3")[row]
    if around >= 0 and np.isfinite(volume):
        inputs = {
            "excavation_diameter_m": plan.sections.excavation_diameter_m,
            "ring_outer_diameter_m": plan.case.ring_type.ring_outer_diameter_m,
            "ring_length_m": plan.case.ring_type.ring_length_m,
            "tail_skin_diameter_m": plan.case.machine.shield_tail_diameter_m,
            "grout_volume_m3": volume,
        }
        explained.append(_explained(f"Grout injected round ring {around + 1}", plan.ring_sections.chainage_m[around], "grout.volume.annulus", inputs))
    return explained


def _scalars(inputs: dict[str, Any]) -> dict[str, Any]:
    """Return inputs of one station without the leading axis."""
    return {
        name: (_first(value) if hasattr(value, "columns") else (value if isinstance(value, str) or np.ndim(value) == 0 else np.asarray(value)[0]))
        for name, value in inputs.items()
    }


def _first(table: object) -> object:
    """Return the rows with thickness of the first station of a table."""
    if table is None:
        return None
    columns = {name: np.asarray(getattr(table, name)) for name in table.columns() if getattr(table, name) is not None}  # type: ignore[attr-defined]
    first = {name: values[0] if values.ndim > 1 else values for name, values in columns.items()}
    if "thickness_m" in first:
        keep = first["thickness_m"] > 0
        first = {name: values[keep] for name, values in first.items()}
    return type(table)(**first)
