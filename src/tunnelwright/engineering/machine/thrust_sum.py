"""The sum of all resistances that a shield pushes against.

face | skin, tools | slope ->   <- seals, ring in the tail, towed back-up
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.machine.sources import THRUST_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

USUAL_SAFETY: Final = (1.25, 2.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThrustSum(Record):
    """Resistances of a shield, each for itself and together."""

    face_thrust_kn: FloatArray
    skin_friction_kn: FloatArray
    tool_thrust_kn: FloatArray
    seal_drag_kn: FloatArray
    tail_drag_kn: FloatArray
    towing_kn: FloatArray
    slope_kn: FloatArray
    curve_kn: FloatArray
    thrust_required_kn: FloatArray
    thrust_design_kn: FloatArray


def _present(count: str, *needed: str) -> Any:
    """Return a check that what a count multiplies was given."""

    def holds(values: Values) -> Any:
        return (np.asarray(values[count]) == 0) | np.all([np.asarray(values[name]) > 0 for name in needed], axis=0)

    return holds


@method(
    "machine.thrust.component_sum",
    formulas={
        "face_thrust_kn": Formula("F_face", "p_axis * pi / 4 * D_s^2"),
        "skin_friction_kn": Formula("F_skin", "max(mu * (pi * D_s * L_s * (sigma'_v + sigma'_h) / 2 + W_s), a * pi * D_s * L_s)"),
        "tool_thrust_kn": Formula("F_tools", "n_t * F_1"),
        "seal_drag_kn": Formula("F_seal", "n_rows * pi * D_o * f_seal"),
        "tail_drag_kn": Formula("F_tail", "mu_r * n_tail * W_r"),
        "towing_kn": Formula("F_tow", "W_b * (c_roll + sin(atan(g_i)))"),
        "slope_kn": Formula("F_slope", "W_s * sin(atan(g_i))"),
        "curve_kn": Formula("F_curve", "c_curve * F_skin"),
        "thrust_required_kn": Formula("F_req", "F_face + f_break * F_skin + F_tools + F_seal + F_tail + F_tow + F_slope + F_curve"),
        "thrust_design_kn": Formula("F_des", "FS * F_req"),
    },
    symbols={
        "adhesion_kpa": "a",
        "tool_force_kn": "F_1",
        "seal_row_count": "n_rows",
        "ring_friction_coefficient": "mu_r",
        "rings_in_tail_count": "n_tail",
        "backup_weight_kn": "W_b",
        "rolling_coefficient": "c_roll",
        "curve_share": "c_curve",
        "breakaway_factor": "f_break",
    },
    possible={
        "adhesion_kpa": (0.0, 1000.0),
        "tool_force_kn": (0.0, 500.0),
        "seal_row_count": (0.0, 10.0),
        "rings_in_tail_count": (0.0, 10.0),
        "ring_friction_coefficient": (0.0, 1.5),
        "rolling_coefficient": (0.0, 1.0),
        "curve_share": (0.0, 1.0),
        "breakaway_factor": (1.0, 5.0),
    },
    valid={
        "friction_coefficient": Range(0.05, 0.5, "steel in ground, lubricated clay to gravel"),
        "breakaway_factor": Range(1.0, 1.5, "after a standstill in stiff or swelling clay 1.2 to 1.5"),
        "safety_factor": Range(*USUAL_SAFETY, "1.25 in well known ground, 1.5 usual, because steering needs uneven groups"),
    },
    requires=(
        Require("tool_force_kn", _present("tool_count", "tool_force_kn"), "must be given with a number of tools"),
        Require(
            "seal_force_kn_m",
            _present("seal_row_count", "seal_force_kn_m", "ring_outer_diameter_m"),
            "must be given with rows of seals, and the ring's diameter",
        ),
        Require("ring_weight_kn", _present("rings_in_tail_count", "ring_weight_kn"), "must be given with rings in the tail"),
    ),
    remarks=(
        Remark(lambda v: v["slope_kn"] < 0, "downhill the weight helps: size the rams for the uphill stretch and for pushing back"),
        Remark(lambda v: v["thrust_required_kn"] < v["face_thrust_kn"], "the sum is below the force on the face: check slope and weights"),
    ),
    kind="mean",
    source=THRUST_PRACTICE,
)
def thrust_sum(
    face_pressure_axis_kpa: Number,
    shield_outer_diameter_m: Number,
    shield_length_m: Number,
    shield_weight_kn: Number,
    friction_coefficient: Number,
    effective_vertical_stress_kpa: Number,
    effective_horizontal_stress_kpa: Number,
    adhesion_kpa: Number = 0.0,
    tool_count: Number = 0.0,
    tool_force_kn: Number = 0.0,
    seal_row_count: Number = 0.0,
    seal_force_kn_m: Number = 0.0,
    ring_outer_diameter_m: Number = 0.0,
    rings_in_tail_count: Number = 0.0,
    ring_weight_kn: Number = 0.0,
    ring_friction_coefficient: Number = 0.2,
    backup_weight_kn: Number = 0.0,
    rolling_coefficient: Number = 0.15,
    gradient: Number = 0.0,
    curve_share: Number = 0.0,
    breakaway_factor: Number = 1.0,
    safety_factor: Number = 1.5,
) -> ThrustSum:
    """Return the thrust that a shield needs, resistance by resistance; what is left out counts as nothing.

    Parameters
    ----------
    face_pressure_axis_kpa : total support pressure at the axis; for sizing the upper limit of the window.
    shield_outer_diameter_m : of skin and pressurised section.
    shield_length_m : in contact with the ground.
    shield_weight_kn : of the shield.
    friction_coefficient : ground on steel.
    effective_vertical_stress_kpa : at the axis, acting on the skin.
    effective_horizontal_stress_kpa : at the axis, acting on the skin.
    adhesion_kpa : share of the undrained strength that acts on the skin; the larger of drained and undrained friction counts.
    tool_count : tools that press on the face.
    tool_force_kn : normal force of each.
    seal_row_count : rows of brushes.
    seal_force_kn_m : drag of one row per metre of circumference.
    ring_outer_diameter_m : on which the brushes run.
    rings_in_tail_count : rings that the tail drags along.
    ring_weight_kn : of one ring.
    ring_friction_coefficient : ring on tail skin.
    backup_weight_kn : towed by the shield.
    rolling_coefficient : rolling resistance over weight.
    gradient : of the drive, uphill positive.
    curve_share : part of the skin friction that a curve adds.
    breakaway_factor : on skin friction, after a standstill.
    safety_factor : installed over needed.
    """
    skin_area_m2 = np.pi * np.multiply(shield_outer_diameter_m, shield_length_m)
    mean_stress_kpa = np.add(effective_vertical_stress_kpa, effective_horizontal_stress_kpa) / 2
    sine = np.sin(np.arctan(gradient))
    face_kn = face_pressure_axis_kpa * np.pi / 4 * np.square(shield_outer_diameter_m)
    skin_kn = np.maximum(friction_coefficient * (skin_area_m2 * mean_stress_kpa + shield_weight_kn), adhesion_kpa * skin_area_m2)
    tools_kn = np.multiply(tool_count, tool_force_kn)
    seal_kn = seal_row_count * np.pi * np.multiply(ring_outer_diameter_m, seal_force_kn_m)
    tail_kn = np.multiply(ring_friction_coefficient, rings_in_tail_count) * ring_weight_kn
    towing_kn = backup_weight_kn * (rolling_coefficient + sine)
    slope_kn = shield_weight_kn * sine
    curve_kn = curve_share * skin_kn
    required_kn = face_kn + breakaway_factor * skin_kn + tools_kn + seal_kn + tail_kn + towing_kn + slope_kn + curve_kn
    return ThrustSum(
        face_thrust_kn=np.asarray(face_kn),
        skin_friction_kn=np.asarray(skin_kn),
        tool_thrust_kn=np.asarray(tools_kn),
        seal_drag_kn=np.asarray(seal_kn),
        tail_drag_kn=np.asarray(tail_kn),
        towing_kn=np.asarray(towing_kn),
        slope_kn=np.asarray(slope_kn),
        curve_kn=np.asarray(curve_kn),
        thrust_required_kn=np.asarray(required_kn),
        thrust_design_kn=np.asarray(safety_factor * required_kn),
    )
