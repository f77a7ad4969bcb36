"""Compressed air at the face for work in the chamber: pressures and air loss only; no exposure times, no decompression.

Air presses the same at every height, water does not: at the lowest exposed point air must balance the water, at the crown it then presses more than needed.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.declared import MEDIUM_WEIGHT, POSSIBLE, SYMBOLS
from tunnelwright.engineering.face.sources import AIR_BALANCE, AIR_DARCY
from tunnelwright.engineering.face.water import wetted_segment_m2
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray

_SEGMENT: Final = "2 / 3 * (D / 2 * sqrt(1 - {x}^2))^3 - {d} * D^2 / 4 * (acos({x}) - {x} * sqrt(1 - {x}^2))"


def _moment(below_axis: str) -> str:
    return _SEGMENT.format(x=f"max(-1, min(1, 2 * {below_axis} / D))", d=below_axis)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AirLimits(Record):
    """Air pressures at which a partly or wholly emptied chamber holds the face."""

    medium_moment_m3: FloatArray
    air_pressure_global_kpa: FloatArray
    air_pressure_local_kpa: FloatArray
    air_pressure_lower_kpa: FloatArray
    air_pressure_upper_kpa: FloatArray
    status: TextArray


@method(
    "face.air_limits.force_balance",
    formulas={
        "medium_moment_m3": Formula("M", _moment("h_d")),
        "air_pressure_global_kpa": Formula("p_global", f"eta_E * max(e, 0) + (eta_W * gamma_w * ({_moment('(z_w - z_a)')}) - gamma_S * M) / (pi / 4 * D^2)"),
        "air_pressure_local_kpa": Formula("p_local", "eta_W * gamma_w * max(0, z_a + max(-D / 2, min(D / 2, h_d)) - z_w)"),
        "air_pressure_lower_kpa": Formula("p_least", "max(p_global, p_local)"),
        "air_pressure_upper_kpa": Formula("p_most", "f_v * sigma_v - delta_a"),
    },
    found_by={
        "status": Algorithm(
            "a window where the least pressure is no greater than the greatest",
            "",
            {
                "status and limits agree": lambda values: (
                    (np.asarray(values["status"]) == "window") == (np.asarray(values["air_pressure_lower_kpa"]) <= np.asarray(values["air_pressure_upper_kpa"]))
                )
            },
        )
    },
    symbols=SYMBOLS
    | {
        "level_below_axis_m": "h_d",
        "medium_moment_m3": "M",
        "air_pressure_global_kpa": "p_global",
        "air_pressure_local_kpa": "p_local",
        "air_pressure_lower_kpa": "p_least",
        "air_pressure_upper_kpa": "p_most",
        "air_allowance_kpa": "delta_a",
    },
    possible=POSSIBLE
    | {
        "axis_depth_m": (0.1, 1000.0),
        "water_table_depth_m": (-500.0, 1000.0),
        "level_below_axis_m": (-10.0, 20.0),
        "effective_support_pressure_kpa": (-5000.0, 5000.0),
        "total_vertical_stress_crown_kpa": (0.0, 10000.0),
        "effective_support_factor": (1.0, 5.0),
        "water_factor": (1.0, 3.0),
        "stress_factor": (0.1, 1.0),
        "air_allowance_kpa": (0.0, 200.0),
    },
    requires=(MEDIUM_WEIGHT,),
    remarks=(
        Remark(
            lambda values: np.asarray(values["status"]) == "no_window",
            "no window for compressed air: no intervention here; move it, treat the ground, or leave it to specialists",
        ),
        Remark(
            lambda values: np.isfinite(values["air_pressure_lower_kpa"]),
            "holds only while the face is sealed, which the air loss must show; a filter cake that dries ends it; the lock's rated pressure limits it too",
        ),
    ),
    kind="screening",
    source=AIR_BALANCE,
)
def air_limits(
    excavation_diameter_m: Number,
    axis_depth_m: Number,
    water_table_depth_m: Number,
    level_below_axis_m: Number,
    support_unit_weight_kn_m3: Number,
    effective_support_pressure_kpa: Number,
    total_vertical_stress_crown_kpa: Number,
    effective_support_factor: Number = 1.5,
    water_factor: Number = 1.05,
    stress_factor: Number = 0.9,
    air_allowance_kpa: Number = 10.0,
    water_unit_weight_kn_m3: Number = 9.81,
) -> AirLimits:
    """Return the least and greatest air pressure for a chamber in which the medium has been lowered.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    axis_depth_m : below ground or bed.
    water_table_depth_m : below ground or bed; negative above it.
    level_below_axis_m : of the medium, positive below the axis; half the diameter or more: the chamber is empty.
    support_unit_weight_kn_m3 : of the medium that is left.
    effective_support_pressure_kpa : raw, without factor.
    total_vertical_stress_crown_kpa : least credible, without surcharge, with free water.
    effective_support_factor : on the effective support.
    water_factor : on the water.
    stress_factor : share of the vertical stress at the crown that air may reach.
    air_allowance_kpa : taken off above.
    water_unit_weight_kn_m3 : one for the whole project.
    """
    diameter = np.asarray(excavation_diameter_m, dtype=np.float64)
    radius, area = diameter / 2, np.pi / 4 * np.square(diameter)
    level = np.asarray(level_below_axis_m, dtype=np.float64)
    moment = wetted_segment_m2(radius, level)[1]
    water_force = water_unit_weight_kn_m3 * wetted_segment_m2(radius, np.subtract(water_table_depth_m, axis_depth_m))[1]
    by_force = (
        effective_support_factor * np.maximum(effective_support_pressure_kpa, 0.0)
        + (water_factor * water_force - np.multiply(support_unit_weight_kn_m3, moment)) / area
    )
    lowest_exposed = axis_depth_m + np.maximum(-radius, np.minimum(radius, level))
    by_water = np.multiply(water_factor, water_unit_weight_kn_m3) * np.maximum(0.0, lowest_exposed - water_table_depth_m)
    least = np.maximum(by_force, by_water)
    most = np.multiply(stress_factor, total_vertical_stress_crown_kpa) - air_allowance_kpa
    return AirLimits(
        medium_moment_m3=moment,
        air_pressure_global_kpa=by_force,
        air_pressure_local_kpa=by_water,
        air_pressure_lower_kpa=least,
        air_pressure_upper_kpa=most,
        status=np.where(least <= most, "window", "no_window"),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AirLoss(Record):
    """Air that escapes through the ground."""

    viscosity_ratio: FloatArray
    free_air_flow_m3_s: FloatArray


@method(
    "face.air_loss.darcy",
    formulas={
        "viscosity_ratio": Formula("r_mu", "mu_w / mu_a"),
        "free_air_flow_m3_s": Formula("Q", "f_seal * k * r_mu * A_exp * (p_1^2 - p_2^2) / (2 * p_atm * gamma_w * L)"),
    },
    symbols=SYMBOLS
    | {
        "exposed_area_m2": "A_exp",
        "path_length_m": "L",
        "air_pressure_absolute_kpa": "p_1",
        "far_pressure_absolute_kpa": "p_2",
        "atmospheric_pressure_kpa": "p_atm",
        "water_viscosity_kpa_s": "mu_w",
        "air_viscosity_kpa_s": "mu_a",
        "seal_factor": "f_seal",
        "viscosity_ratio": "r_mu",
        "free_air_flow_m3_s": "Q",
    },
    possible=POSSIBLE
    | {
        "permeability_m_s": (1e-12, 1.0),
        "exposed_area_m2": (0.01, 400.0),
        "path_length_m": (0.1, 500.0),
        "air_pressure_absolute_kpa": (50.0, 3000.0),
        "far_pressure_absolute_kpa": (50.0, 3000.0),
        "atmospheric_pressure_kpa": (50.0, 110.0),
        "water_viscosity_kpa_s": (2e-7, 2e-6),
        "air_viscosity_kpa_s": (1e-8, 3e-8),
        "seal_factor": (0.0, 1.0),
    },
    remarks=(
        Remark(
            lambda values: np.asarray(values["far_pressure_absolute_kpa"]) > np.asarray(values["air_pressure_absolute_kpa"]),
            "pressure at the far end is greater than that of the air: water comes in",
        ),
        Remark(
            lambda values: np.asarray(values["seal_factor"]) < 1,
            "counts on a filter cake: a sudden rise of the loss means that it dries; refill and seal again",
        ),
    ),
    kind="mean",
    source=AIR_DARCY,
)
def air_loss(
    permeability_m_s: Number,
    exposed_area_m2: Number,
    path_length_m: Number,
    air_pressure_absolute_kpa: Number,
    far_pressure_absolute_kpa: Number,
    atmospheric_pressure_kpa: Number = 101.3,
    water_viscosity_kpa_s: Number = 1.002e-6,
    air_viscosity_kpa_s: Number = 1.81e-8,
    seal_factor: Number = 1.0,
    water_unit_weight_kn_m3: Number = 9.81,
) -> AirLoss:
    """Return the flow of free air that compressed air loses through the ground.

    Parameters
    ----------
    permeability_m_s : for water.
    exposed_area_m2 : of the face.
    path_length_m : to the surface or to the water level.
    air_pressure_absolute_kpa : in the chamber.
    far_pressure_absolute_kpa : at the end of the path.
    atmospheric_pressure_kpa : at which the flow is measured.
    water_viscosity_kpa_s, air_viscosity_kpa_s : dynamic, at the temperature of the ground.
    seal_factor : 1 without filter cake, 0.05 to 0.3 with one.
    water_unit_weight_kn_m3 : turns the permeability into that for a gas.
    """
    ratio = np.divide(water_viscosity_kpa_s, air_viscosity_kpa_s)
    squares = np.square(air_pressure_absolute_kpa) - np.square(far_pressure_absolute_kpa)
    conductivity = np.multiply(seal_factor, permeability_m_s) * ratio
    flow = conductivity * exposed_area_m2 * squares / (2 * np.multiply(atmospheric_pressure_kpa, water_unit_weight_kn_m3) * path_length_m)
    return AirLoss(viscosity_ratio=ratio, free_air_flow_m3_s=flow)
