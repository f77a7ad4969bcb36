"""Annulus grout of every ring: theoretical volume, target, and the window of pressure at the crown.

Evaluated where the ring lies, not where the face is.
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.axis import DriveCase, Rings
from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.layers import layers_between, stresses_at, undrained_strength_kpa, unit_shares
from tunnelwright.drive.plan.face import water_cases
from tunnelwright.drive.sections import Sections
from tunnelwright.drive.strength import lower_limit_values, mean_values, upper_limit_values
from tunnelwright.vocabulary.types import BoolArray, FloatArray, TextArray

GOVERNING_SHARE = 0.10
# Kept below the greatest pressure when a target is set, since piston pumps pulsate; common practice, no source.
PULSATION_KPA = 20.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroutPlan:
    """Grout round every ring.

    Parameters
    ----------
    grout_lower_kpa, grout_target_kpa, grout_upper_kpa : in the annulus at the crown; the upper one is the least of what crown and every port
        allow, each brought to the crown with the weight of the grout.
    port_lower_kpa, port_upper_kpa : at the level of every port, shape (rings, ports).
    """

    annulus_volume_m3: FloatArray
    fill_factor: FloatArray
    fill_factor_low: FloatArray
    fill_factor_high: FloatArray
    grout_volume_m3: FloatArray
    ground_class: TextArray
    grout_lower_kpa: FloatArray
    grout_target_kpa: FloatArray
    grout_upper_kpa: FloatArray
    pore_pressure_crown_kpa: FloatArray
    port_lower_kpa: FloatArray
    port_upper_kpa: FloatArray

    @property
    def has_window(self) -> BoolArray:
        """Return whether the pressure window of each ring is open."""
        return self.grout_upper_kpa >= self.grout_lower_kpa


def grout_plan(case: DriveCase, rings: Rings, sections: Sections, face_pressure_crown_kpa: FloatArray, required_crown_kpa: FloatArray) -> GroutPlan:
    """Return the grout of every ring; `sections` stand at the middle of the rings.

    Parameters
    ----------
    face_pressure_crown_kpa, required_crown_kpa : target and least face pressure at the crown when the face passed there, one per ring.
    """
    annulus = kernel("grout.volume.annulus")(
        excavation_diameter_m=sections.excavation_diameter_m,
        ring_outer_diameter_m=case.ring_type.ring_outer_diameter_m,
        ring_length_m=case.ring_type.ring_length_m,
        tail_skin_diameter_m=case.machine.shield_tail_diameter_m,
    )
    basis = annulus.annulus_volume_m3 if case.project.choices.annulus_basis == "bore" else annulus.tail_annulus_volume_m3
    volume = np.full(rings.count, float(basis))
    classes, factor, low, high = _fill_factors(case, sections)
    target = kernel("grout.volume.target")(annulus_volume_m3=volume, fill_factor=factor, component_ratio=case.machine.grouting.component_ratio)
    at_crown = pressure_window(case, sections, face_pressure_crown_kpa, required_crown_kpa, classes, 0.0)
    depths = _port_depths(case, sections.excavation_diameter_m)
    at_ports = [pressure_window(case, sections, face_pressure_crown_kpa, required_crown_kpa, classes, depth) for depth in depths]
    weight = case.machine.grouting.grout_unit_weight_kn_m3
    upper = np.minimum.reduce([at_crown["upper"], *(one["upper"] - weight * depth for one, depth in zip(at_ports, depths, strict=True))])
    lower = at_crown["lower"]
    return GroutPlan(
        annulus_volume_m3=volume,
        fill_factor=factor,
        fill_factor_low=low,
        fill_factor_high=high,
        grout_volume_m3=target.target_volume_m3,
        ground_class=classes,
        grout_lower_kpa=lower,
        grout_target_kpa=_targets(at_crown["target"], lower, upper),
        grout_upper_kpa=upper,
        pore_pressure_crown_kpa=at_crown["pore"],
        port_lower_kpa=np.stack([one["lower"] for one in at_ports], axis=1),
        port_upper_kpa=np.stack([one["upper"] for one in at_ports], axis=1),
    )


def _targets(wanted: FloatArray, lower: FloatArray, upper: FloatArray) -> FloatArray:
    """Return the pressure to grout at: as wanted, but below the upper limit by the pulsation of the pumps; in a narrow window its middle; NaN in none."""
    below = np.where(upper - lower >= 2 * PULSATION_KPA, upper - PULSATION_KPA, (lower + upper) / 2)
    return np.where(upper >= lower, np.clip(wanted, lower, below), np.nan)


def _port_depths(case: DriveCase, diameter_m: float) -> list[float]:
    return [float(diameter_m / 2 * (1 - np.cos(angle))) for angle in case.machine.port_clock_angle_rad]


def _fill_factors(case: DriveCase, sections: Sections) -> tuple[TextArray, FloatArray, FloatArray, FloatArray]:
    """Return ground class and fill factor of every ring: of the units with a tenth of the bore or more, the one that takes most grout."""
    values = mean_values(case.project)
    face = layers_between(sections.columns["normal"], values, sections.crown_level_m, sections.invert_level_m)
    shares = unit_shares(sections, face, len(case.project.ground.units))
    found = [
        kernel("grout.volume.fill_factor")(ground_class=unit.ground_class, grout_type=case.machine.grouting.grout_type)
        for unit in case.project.ground.units_in_order
    ]
    factors = np.array([unit.fill_factor or float(one.fill_factor) for unit, one in zip(case.project.ground.units_in_order, found, strict=True)])
    governing = np.where(shares >= GOVERNING_SHARE, factors[None, :], -np.inf).argmax(axis=1)
    classes = np.array([unit.ground_class for unit in case.project.ground.units_in_order])
    low, high = (np.array([float(getattr(one, name)) for one in found]) for name in ("fill_factor_low", "fill_factor_high"))
    return classes[governing], factors[governing], low[governing], high[governing]


def pressure_window(
    case: DriveCase, sections: Sections, face_pressure_crown_kpa: FloatArray, required_crown_kpa: FloatArray, classes: TextArray, depth_below_crown_m: float
) -> dict[str, FloatArray]:
    """Return the window of grout pressure at one depth below the crown: least, target, greatest, and the pore pressure there."""
    water_low, water_high = water_cases(case)
    lower_set, upper_set = lower_limit_values(case.project), upper_limit_values(case.project)
    gamma_w = case.project.water_unit_weight_kn_m3
    level = sections.crown_level_m - depth_below_crown_m
    pore = sections.columns[water_high].pore_pressure_kpa(level)
    crown = stresses_at(sections, water_low, upper_set, sections.crown_level_m, 0.0, gamma_w)
    local = stresses_at(sections, water_low, upper_set, level, 0.0, gamma_w)
    unit = np.nan_to_num(sections.columns[water_low].unit_at(level - 1e-3)).astype(int)
    at_rest = lower_set.earth_pressure_coefficient_at_rest[unit]
    minor = np.minimum(local.total_vertical_stress_kpa, at_rest * local.effective_vertical_stress_kpa + local.pore_pressure_kpa)
    strength = (
        np.nan_to_num(undrained_strength_kpa(sections, lower_set))
        if case.project.choices.grout_fracture == "minor_stress_and_strength"
        else np.zeros(sections.count)
    )
    fracture = kernel("grout.pressure.fracture")
    in_clay = np.asarray(fracture(ground_class="clay", minor_total_stress_kpa=minor, undrained_strength_kpa=strength).fracture_pressure_kpa)
    in_sand = np.asarray(fracture(ground_class="sand", minor_total_stress_kpa=minor).fracture_pressure_kpa)
    support = case.machine.support_unit_weight_kn_m3 * depth_below_crown_m
    grouting = case.machine.grouting
    optional = {"gasket_pressure_kpa": case.ring_type.gasket_pressure_kpa} if case.ring_type.gasket_pressure_kpa is not None else {}
    window = kernel("grout.pressure.window")(
        pore_pressure_kpa=pore,
        face_pressure_kpa=np.nan_to_num(face_pressure_crown_kpa) + support,
        required_support_kpa=np.nan_to_num(required_crown_kpa) + support,
        crown_total_vertical_stress_kpa=crown.total_vertical_stress_kpa,
        depth_below_crown_m=depth_below_crown_m,
        grout_unit_weight_kn_m3=grouting.grout_unit_weight_kn_m3,
        fracture_pressure_kpa=np.where(classes == "clay", in_clay, in_sand),
        tail_seal_pressure_kpa=grouting.tail_seal_pressure_kpa,
        pump_limit_kpa=grouting.pump_limit_kpa,
        heave_factor=case.project.choices.stress_factor,
        **optional,
    )
    return {"lower": window.lower_pressure_kpa, "target": window.target_pressure_kpa, "upper": window.upper_pressure_kpa, "pore": pore}
