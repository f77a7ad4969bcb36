"""Thrust part by part: face, skin, what the rams can give, and what is left for the tools."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.machine.sources import STATICS, THRUST_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

HOLDING_MARGIN: Final = 1.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceThrust(Record):
    """Force of the support pressure on the bulkhead."""

    face_thrust_kn: FloatArray


@method(
    "machine.thrust.face_pressure",
    formulas={"face_thrust_kn": Formula("F_face", "p_axis * pi / 4 * D_s^2")},
    kind="identity",
    source=STATICS,
)
def face_thrust(face_pressure_axis_kpa: Number, shield_outer_diameter_m: Number) -> FaceThrust:
    """Return the force with which the support pressure pushes the shield back.

    Parameters
    ----------
    face_pressure_axis_kpa : total support pressure at the axis, earth and water together; exact for any pressure that grows evenly with depth.
    shield_outer_diameter_m : of the pressurised section.
    """
    return FaceThrust(face_thrust_kn=np.asarray(face_pressure_axis_kpa * np.pi / 4 * np.square(shield_outer_diameter_m)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrainedSkin(Record):
    """Friction of the ground along the shield and of the shield's weight."""

    skin_friction_pressure_part_kn: FloatArray
    skin_friction_weight_part_kn: FloatArray
    skin_friction_kn: FloatArray


@method(
    "machine.thrust.skin_drained",
    formulas={
        "skin_friction_pressure_part_kn": Formula("F_p", "mu * pi * D_s * L_s * (sigma'_v + sigma'_h) / 2"),
        "skin_friction_weight_part_kn": Formula("F_w", "mu * W_s"),
        "skin_friction_kn": Formula("F_skin", "F_p + F_w"),
    },
    valid={"friction_coefficient": Range(0.05, 0.5, "steel in ground, lubricated clay to gravel")},
    kind="mean",
    source=THRUST_PRACTICE,
)
def skin_drained(
    friction_coefficient: Number,
    shield_outer_diameter_m: Number,
    shield_length_m: Number,
    effective_vertical_stress_kpa: Number,
    effective_horizontal_stress_kpa: Number,
    shield_weight_kn: Number,
) -> DrainedSkin:
    """Return the skin friction in drained ground; water presses on the skin but does not rub.

    Parameters
    ----------
    friction_coefficient : ground on steel; 0.2 is usual, 0.1 to 0.2 lubricated, up to 0.45 in gravel.
    shield_outer_diameter_m : of the skin.
    shield_length_m : in contact with the ground.
    effective_vertical_stress_kpa : at the axis, acting on the skin.
    effective_horizontal_stress_kpa : at the axis, acting on the skin.
    shield_weight_kn : of the shield.
    """
    mean_stress_kpa = np.add(effective_vertical_stress_kpa, effective_horizontal_stress_kpa) / 2
    pressure_part_kn = np.multiply(friction_coefficient, np.pi) * shield_outer_diameter_m * shield_length_m * mean_stress_kpa
    weight_part_kn = np.multiply(friction_coefficient, shield_weight_kn)
    return DrainedSkin(
        skin_friction_pressure_part_kn=pressure_part_kn, skin_friction_weight_part_kn=weight_part_kn, skin_friction_kn=pressure_part_kn + weight_part_kn
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UndrainedSkin(Record):
    """Adhesion of clay along the shield."""

    skin_friction_kn: FloatArray


@method(
    "machine.thrust.skin_undrained",
    formulas={"skin_friction_kn": Formula("F_skin", "alpha * c_u * pi * D_s * L_s")},
    symbols={"adhesion_factor": "alpha"},
    possible={"adhesion_factor": (0.0, 1.0)},
    valid={"adhesion_factor": Range(0.2, 0.5, "share of the undrained strength found on shields")},
    kind="mean",
    source=THRUST_PRACTICE,
)
def skin_undrained(adhesion_factor: Number, undrained_strength_kpa: Number, shield_outer_diameter_m: Number, shield_length_m: Number) -> UndrainedSkin:
    """Return the skin friction in clay that has no time to drain.

    Parameters
    ----------
    adhesion_factor : adhesion over undrained strength.
    undrained_strength_kpa : of the ground round the shield.
    shield_outer_diameter_m : of the skin.
    shield_length_m : in contact with the ground.
    """
    return UndrainedSkin(skin_friction_kn=np.asarray(np.multiply(adhesion_factor, undrained_strength_kpa) * np.pi * shield_outer_diameter_m * shield_length_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InstalledThrust(Record):
    """What all rams together can give."""

    thrust_installed_kn: FloatArray
    thrust_per_area_kpa: FloatArray


@method(
    "machine.thrust.installed",
    formulas={
        "thrust_installed_kn": Formula("F_inst", "n_c * pi / 4 * d_c^2 * p_h"),
        "thrust_per_area_kpa": Formula("f_inst", "F_inst / A_f"),
    },
    valid={"thrust_per_area_kpa": Range(700.0, 2000.0, "usual shields have 1000 to 1300 kPa on the face area")},
    kind="identity",
    source=STATICS,
)
def installed_thrust(
    cylinder_count: Number, cylinder_diameter_m: Number, hydraulic_pressure_kpa: Number, face_area_m2: Number | None = None
) -> InstalledThrust:
    """Return the thrust of all rams at full pressure.

    Parameters
    ----------
    cylinder_count : rams that push.
    cylinder_diameter_m : of the piston.
    hydraulic_pressure_kpa : highest.
    face_area_m2 : bored area; without it there is no thrust per area.
    """
    thrust_kn = cylinder_count * np.pi / 4 * np.square(cylinder_diameter_m) * hydraulic_pressure_kpa
    return InstalledThrust(
        thrust_installed_kn=np.asarray(thrust_kn), thrust_per_area_kpa=np.asarray(thrust_kn / (np.nan if face_area_m2 is None else face_area_m2))
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingBuildHolding(Record):
    """What holds the shield while some rams are off the ring."""

    holding_required_kn: FloatArray
    holding_available_kn: FloatArray
    holding_ratio: FloatArray


@method(
    "machine.thrust.ring_build_holding",
    formulas={
        "holding_required_kn": Formula("F_hold", "p_axis * pi / 4 * D_s^2 + W_s * sin(atan(g_i))"),
        "holding_available_kn": Formula("F_av", "(n_c - n_off) * pi / 4 * d_c^2 * p_h"),
        "holding_ratio": Formula("r_hold", "F_av / F_hold"),
    },
    symbols={"retracted_count": "n_off"},
    possible={"retracted_count": (0.0, 200.0)},
    requires=(Require("retracted_count", lambda v: v["retracted_count"] <= v["cylinder_count"], "must not exceed the number of rams"),),
    remarks=(
        Remark(
            lambda v: v["holding_available_kn"] < HOLDING_MARGIN * v["holding_required_kn"],
            "less than 1.2 times what is needed: the shield may be pushed back and the face pressure may fall while the ring is built",
        ),
    ),
    kind="lower bound",
    source=STATICS,
)
def ring_build_holding(
    face_pressure_axis_kpa: Number,
    shield_outer_diameter_m: Number,
    cylinder_count: Number,
    retracted_count: Number,
    cylinder_diameter_m: Number,
    hydraulic_pressure_kpa: Number,
    shield_weight_kn: Number = 0.0,
    gradient: Number = 0.0,
) -> RingBuildHolding:
    """Return whether the rams left on the ring hold the shield against the face, skin friction taken as nothing.

    Parameters
    ----------
    face_pressure_axis_kpa : total support pressure at the axis.
    shield_outer_diameter_m : of the pressurised section.
    cylinder_count : all rams.
    retracted_count : rams off the ring at once.
    cylinder_diameter_m : of the piston.
    hydraulic_pressure_kpa : highest.
    shield_weight_kn : of the shield.
    gradient : of the drive, uphill positive.
    """
    slope_kn = np.multiply(shield_weight_kn, np.sin(np.arctan(gradient)))
    required_kn = face_pressure_axis_kpa * np.pi / 4 * np.square(shield_outer_diameter_m) + slope_kn
    available_kn = np.subtract(cylinder_count, retracted_count) * np.pi / 4 * np.square(cylinder_diameter_m) * hydraulic_pressure_kpa
    return RingBuildHolding(
        holding_required_kn=np.asarray(required_kn),
        holding_available_kn=np.asarray(available_kn),
        holding_ratio=np.asarray(available_kn / required_kn),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NetToolThrust(Record):
    """What of the thrust reaches the tools."""

    net_tool_thrust_kn: FloatArray


@method(
    "machine.thrust.net_tool",
    formulas={"net_tool_thrust_kn": Formula("F_tool", "F_T - p_axis * pi / 4 * D_s^2 - F_fr")},
    symbols={"friction_kn": "F_fr"},
    possible={"friction_kn": (0.0, 3e5)},
    remarks=(
        Remark(
            lambda v: v["net_tool_thrust_kn"] < 0,
            "negative: less thrust than the face needs; check the zeros of thrust and pressure and the friction fitted for the drive",
        ),
    ),
    kind="mean",
    source=STATICS,
)
def net_tool_thrust(thrust_kn: Number, face_pressure_axis_kpa: Number, shield_outer_diameter_m: Number, friction_kn: Number) -> NetToolThrust:
    """Return what the logged thrust leaves for the tools; a negative value is kept.

    Parameters
    ----------
    thrust_kn : from the log, rams engaged.
    face_pressure_axis_kpa : measured total pressure at the axis.
    shield_outer_diameter_m : of the pressurised section.
    friction_kn : skin, seals and towing, fitted for the drive.
    """
    return NetToolThrust(net_tool_thrust_kn=np.asarray(thrust_kn - face_pressure_axis_kpa * np.pi / 4 * np.square(shield_outer_diameter_m) - friction_kn))
