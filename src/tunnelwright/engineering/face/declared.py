"""What the face support methods share in their declarations: symbols, possible ranges, conditions between inputs, remarks."""

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np

from tunnelwright.vocabulary.method import Remark, Require
from tunnelwright.vocabulary.types import Table, Values

SYMBOLS: Final = {
    "excavation_diameter_m": "D",
    "cover_m": "C",
    "axis_depth_m": "z_a",
    "water_table_depth_m": "z_w",
    "water_unit_weight_kn_m3": "gamma_w",
    "thickness_m": "h",
    "unit_weight_kn_m3": "gamma",
    "effective_unit_weight_kn_m3": "gamma'",
    "cohesion_kpa": "c",
    "friction_angle_rad": "phi",
    "lateral_coefficient": "K_1",
    "side_coefficient": "K_2",
    "wedge_width_m": "B",
    "silo_width_m": "B",
    "silo_length_m": "L",
    "surcharge_kpa": "q",
    "slip_angle_rad": "theta",
    "silo_stress_kpa": "sigma_silo",
    "hydraulic_radius_m": "R_s",
    "effective_support_pressure_kpa": "e",
    "support_unit_weight_kn_m3": "gamma_S",
    "water_force_kn": "W",
    "pressure_allowance_kpa": "delta",
    "undrained_strength_kpa": "c_u",
    "critical_stability_number": "N_c",
    "stability_number": "N",
    "load_factor": "LF",
    "volume_loss": "V_L",
    "strength_factor": "F",
    "effective_support_factor": "eta_E",
    "water_factor": "eta_W",
    "stress_factor": "f_v",
    "face_pressure_crown_kpa": "s_crown",
    "face_pressure_axis_kpa": "s_axis",
    "face_pressure_invert_kpa": "s_invert",
    "total_vertical_stress_axis_kpa": "sigma_v",
    "total_vertical_stress_crown_kpa": "sigma_v",
    "face_pressure_limit_crown_kpa": "s_max",
    "pore_pressure_crown_kpa": "u_crown",
    "wedge_angle_from_vertical_rad": "omega",
    "stagnation_gradient_kn_m3": "f_s",
    "excess_pressure_kpa": "Delta_p",
    "permeability_m_s": "k",
    "head_difference_m": "Delta_h",
    "required_face_pressure_crown_kpa": "s_low",
    "operating_lower_crown_kpa": "p_low",
    "operating_upper_crown_kpa": "p_high",
}

# Closed ranges; a bare angle above 50 degrees in radians is nearly always an angle typed in degrees.
POSSIBLE: Final[dict[str, tuple[float, float]]] = {
    "excavation_diameter_m": (1.0, 20.0),
    "cover_m": (0.1, 1000.0),
    "friction_angle_rad": (0.0, math.radians(50.0)),
    "effective_unit_weight_kn_m3": (0.1, 30.0),
    "unit_weight_kn_m3": (5.0, 30.0),
    "cohesion_kpa": (0.0, 2000.0),
    "thickness_m": (0.0, 1000.0),
    "lateral_coefficient": (0.0, 3.0),
    "side_coefficient": (0.0, 3.0),
    "wedge_width_m": (0.1, 1e9),
    "surcharge_kpa": (0.0, 2000.0),
    "slip_angle_rad": (math.radians(1.0), math.radians(89.0)),
    "support_unit_weight_kn_m3": (0.0, 22.0),
    "water_unit_weight_kn_m3": (9.5, 10.5),
    "undrained_strength_kpa": (0.1, 2000.0),
    "wedge_angle_from_vertical_rad": (math.radians(1.0), math.radians(89.0)),
    "pressure_allowance_kpa": (0.0, 200.0),
    "static_yield_stress_kpa": (1e-5, 1.0),
    "grain_size_d10_mm": (1e-4, 100.0),
    "volume_loss": (1e-4, 0.3),
    "strength_factor": (1.0, 5.0),
    "free_water_height_m": (0.0, 200.0),
    "earth_pressure_coefficient_at_rest": (0.0, 4.0),
}

_LEAST_ANGLE: Final = 0.0175


def _angle_is_in_radians(angle: Any) -> Any:
    value = np.asarray(angle, dtype=np.float64)
    return (value == 0) | ~(value < _LEAST_ANGLE)


def column(table: str, name: str) -> Callable[[Values], Any]:
    """Return what reads one column of an input table."""
    return lambda values: getattr(values[table], name)


def angle_in_radians(field: str) -> Require:
    """Return the condition that a friction angle is 0 or at least one degree; less is an angle converted twice."""
    head, _, inner = field.partition(".")
    read = column(head, inner) if inner else (lambda values: values[head])
    return Require(
        field,
        lambda values: _angle_is_in_radians(read(values)),
        "must be 0 or at least 0.0175 rad (1 deg)",
        'was an angle in radians taken for degrees? write "32 deg"',
    )


def thickness_given(table: str) -> Require:
    """Return the condition that the layers of a table have a thickness together."""
    return Require(
        table,
        lambda values: ~(values[table].thickness_m.sum(axis=-1) <= 0),
        "must have a thickness greater than 0 in all",
        "C and D are measured from the crown",
    )


def sums_to_diameter(table: str) -> Require:
    """Return the condition that the layers of the face fill it."""
    return Require(
        table,
        lambda values: ~(np.abs(values[table].thickness_m.sum(axis=-1) - values["excavation_diameter_m"]) > 0.05),
        "must be as thick together as excavation_diameter_m, within 0.05 m",
        "layers of the face run from the crown to the invert without gap",
    )


MEDIUM_WEIGHT: Final = Require(
    "support_unit_weight_kn_m3",
    lambda values: (values["support_unit_weight_kn_m3"] == 0) | ~(values["support_unit_weight_kn_m3"] < 9.5),
    "must lie in 9.5 to 22 kN/m3, or be 0 for air",
    "density in t/m3 times 9.81",
)


def high_cohesion(read_cohesion: Callable[[Values], Any], read_friction: Callable[[Values], Any]) -> Remark:
    """Return the remark on a cohesion that coarse ground seldom has."""
    return Remark(
        lambda values: (np.asarray(read_cohesion(values)) > 20) & (np.asarray(read_friction(values)) >= math.radians(30)),
        "effective cohesion above 20 kPa with a friction angle of 30 deg or more: take it only where it is proven; suction is gone below water",
    )


def silo_remarks(table: str = "layers") -> tuple[Remark, ...]:
    """Return the remarks on the ground above the crown."""
    return (
        Remark(
            lambda values: values[table].lateral_coefficient > 1.2, "lateral coefficient K1 of the silo above 1.2: more wall shear than is usually relied on"
        ),
        high_cohesion(column(table, "cohesion_kpa"), column(table, "friction_angle_rad")),
    )


LOW_COVER_ARCHING: Final = Remark(
    lambda values: (values["layers"].thickness_m.sum(axis=-1) < values["excavation_diameter_m"]) & (values.get("arching", "on") == "on"),
    "cover less than the diameter and arching relied on: look at the value with arching off too",
)


def rows_of(values: Values, table: str) -> Table | None:
    """Return an input table, or nothing where it was left out."""
    found = values.get(table)
    return found if isinstance(found, Table) else None
