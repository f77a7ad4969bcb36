"""The screw conveyor: what it carries, the plug in it, water through it, its torque.

chamber  p_in |==/==/==/==/==/==/==| p_gate
|<-------- L ------->|      beta positive where the screw rises to the gate
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.muck.sources import DARCY, JANSSEN_1895, MASS_BALANCE, SCREW_GEOMETRY, SCREW_PLUG
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

GRAVITY: Final = 9.81
# Square metre times millimetre per minute, in cubic metres per hour.
M3_H_PER_M2_MM_MIN: Final = 0.06
WATCH_GATE_KPA: Final = 30.0
ACT_GATE_KPA: Final = 50.0
_GATE_REMARKS: Final = (
    Remark(lambda v: v["gate_pressure_kpa"] > ACT_GATE_KPA, "more than 50 kPa left at the gate: the plug does not hold, muck may blow out; act"),
    Remark(
        lambda v: (v["gate_pressure_kpa"] > WATCH_GATE_KPA) & (v["gate_pressure_kpa"] <= ACT_GATE_KPA),
        "more than 30 kPa left at the gate: watch the plug",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScrewTurn(Record):
    """Volume between two turns of the flight."""

    volume_per_turn_m3: FloatArray


@method(
    "muck.screw.volume_per_turn",
    formulas={"volume_per_turn_m3": Formula("V_turn", "pi / 4 * (D_sc^2 - d_sh^2) * (P - t_fl)")},
    symbols={"shaft_diameter_m": "d_sh", "pitch_m": "P", "flight_thickness_m": "t_fl"},
    requires=(
        Require("shaft_diameter_m", lambda v: v["shaft_diameter_m"] < v["screw_diameter_m"], "must be less than the screw's diameter"),
        Require("flight_thickness_m", lambda v: v["flight_thickness_m"] < v["pitch_m"], "must be less than the pitch"),
    ),
    kind="identity",
    source=SCREW_GEOMETRY,
)
def screw_turn(screw_diameter_m: Number, shaft_diameter_m: Number, pitch_m: Number, flight_thickness_m: Number) -> ScrewTurn:
    """Return the volume that one turn of the screw can carry.

    Parameters
    ----------
    screw_diameter_m : inside diameter of the casing.
    shaft_diameter_m : of the shaft; 0 for a ribbon screw, whose core moves with the plug.
    pitch_m : from turn to turn.
    flight_thickness_m : along the axis.
    """
    area_m2 = np.pi / 4 * (np.square(screw_diameter_m) - np.square(shaft_diameter_m))
    return ScrewTurn(volume_per_turn_m3=area_m2 * np.subtract(pitch_m, flight_thickness_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScrewDemand(Record):
    """Flow out of the chamber and the speed that carries it."""

    muck_flow_m3_h: FloatArray
    screw_speed_rpm: FloatArray


@method(
    "muck.screw.required_speed",
    formulas={
        "muck_flow_m3_h": Formula("Q_m", "0.06 * A_f * v * (1 + FIR * (1 - 1 / FER) * a_foam + q_liq)"),
        "screw_speed_rpm": Formula("n_sc", "Q_m / (60 * eta_sc * V_turn)"),
    },
    symbols={"foam_air_share": "a_foam", "liquid_added_ratio": "q_liq"},
    possible={"foam_air_share": (0.0, 1.0), "liquid_added_ratio": (0.0, 3.0), "foam_injection_ratio": (0.0, 1.5)},
    valid={"screw_efficiency": Range(0.4, 1.0, "above one the paste flows through by pressure")},
    kind="mean",
    source=MASS_BALANCE,
)
def required_screw_speed(
    face_area_m2: Number,
    advance_rate_mm_min: Number,
    volume_per_turn_m3: Number,
    screw_efficiency: Number,
    foam_injection_ratio: Number = 0.0,
    foam_expansion_ratio: Number = 1.0,
    foam_air_share: Number = 1.0,
    liquid_added_ratio: Number = 0.0,
) -> ScrewDemand:
    """Return the flow of paste out of the chamber and the screw speed that keeps the pressure steady.

    Parameters
    ----------
    face_area_m2 : bored area.
    advance_rate_mm_min : speed of the push.
    volume_per_turn_m3 : of the screw.
    screw_efficiency : flow over swept volume.
    foam_injection_ratio : foam at chamber pressure over volume in the ground.
    foam_expansion_ratio : foam over solution at chamber pressure.
    foam_air_share : part of the foam's air still in the paste.
    liquid_added_ratio : foam solution, water and other liquids over volume in the ground.
    """
    air_ratio = foam_injection_ratio * (1 - np.divide(1.0, foam_expansion_ratio)) * foam_air_share
    flow_m3_h = M3_H_PER_M2_MM_MIN * np.multiply(face_area_m2, advance_rate_mm_min) * (1 + air_ratio + liquid_added_ratio)
    return ScrewDemand(muck_flow_m3_h=flow_m3_h, screw_speed_rpm=flow_m3_h / (60 * np.multiply(screw_efficiency, volume_per_turn_m3)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScrewEfficiency(Record):
    """Flow over swept volume."""

    screw_efficiency: FloatArray


@method(
    "muck.screw.efficiency",
    formulas={"screw_efficiency": Formula("eta_sc", "Q_m / (60 * V_turn * n_sc)")},
    possible={"screw_speed_rpm": (1e-3, 60.0)},
    remarks=(Remark(lambda v: v["screw_efficiency"] > 1, "above one: paste flows through the screw by pressure, a blow-out may come"),),
    kind="identity",
    source=MASS_BALANCE,
)
def screw_efficiency(muck_flow_m3_h: Number, volume_per_turn_m3: Number, screw_speed_rpm: Number) -> ScrewEfficiency:
    """Return how much of its swept volume a screw really carried.

    Parameters
    ----------
    muck_flow_m3_h : paste out of the chamber.
    volume_per_turn_m3 : of the screw.
    screw_speed_rpm : mean over the same time.
    """
    return ScrewEfficiency(screw_efficiency=np.divide(muck_flow_m3_h, 60 * np.multiply(volume_per_turn_m3, screw_speed_rpm)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShearPlug(Record):
    """Pressure along a plug held by shear on the casing."""

    pressure_gradient_kpa_m: FloatArray
    gate_pressure_kpa: FloatArray
    plug_length_needed_m: FloatArray


@method(
    "muck.screw.plug_shear",
    formulas={
        "pressure_gradient_kpa_m": Formula("i_p", "4 * tau_w * f / D_sc + 9.81 * rho * sin(beta)"),
        "gate_pressure_kpa": Formula("p_gate", "max(0, p_in - i_p * L_sc)"),
        "plug_length_needed_m": Formula("L_plug", "p_in / i_p if i_p > 0 else 0 / 0"),
    },
    symbols={"shape_factor": "f", "rise_angle_rad": "beta"},
    valid={"shape_factor": Range(0.5, 1.5, "direction of sliding and pitch of the flight")},
    remarks=_GATE_REMARKS,
    kind="mean",
    source=SCREW_PLUG,
    dimensional=True,
)
def shear_plug(
    entry_pressure_kpa: Number,
    wall_shear_kpa: Number,
    screw_diameter_m: Number,
    screw_length_m: Number,
    shape_factor: Number = 1.0,
    density_t_m3: Number = 0.0,
    rise_angle_rad: Number = 0.0,
) -> ShearPlug:
    """Return the pressure that is left at the gate of a full screw, and the plug that would take all of it.

    Parameters
    ----------
    entry_pressure_kpa : in the chamber at the screw's mouth, gauge.
    wall_shear_kpa : between paste and casing, half to all of the paste's strength.
    screw_diameter_m : inside diameter of the casing.
    screw_length_m : filled length; a screw that is not full has no plug.
    shape_factor : for the direction of sliding and the pitch.
    density_t_m3 : of the paste; 0 leaves its weight out.
    rise_angle_rad : of the screw, positive rising to the gate.
    """
    gradient = 4 * np.divide(np.multiply(wall_shear_kpa, shape_factor), screw_diameter_m) + GRAVITY * np.multiply(density_t_m3, np.sin(rise_angle_rad))
    with np.errstate(divide="ignore", invalid="ignore"):
        needed_m = np.where(gradient > 0, np.divide(entry_pressure_kpa, gradient), np.nan)
    return ShearPlug(
        pressure_gradient_kpa_m=gradient,
        gate_pressure_kpa=np.maximum(0.0, np.subtract(entry_pressure_kpa, gradient * screw_length_m)),
        plug_length_needed_m=needed_m,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GatePressure(Record):
    """Pressure left at the gate."""

    gate_pressure_kpa: FloatArray


@method(
    "muck.screw.plug_frictional",
    formulas={"gate_pressure_kpa": Formula("p_gate", "p_in * exp(-4 * mu * K_p * L_sc / D_sc)")},
    symbols={"pressure_ratio": "K_p"},
    possible={"pressure_ratio": (0.0, 5.0)},
    remarks=(
        *_GATE_REMARKS,
        Remark(lambda v: v["gate_pressure_kpa"] < 0.01 * v["entry_pressure_kpa"], "friction takes nearly all pressure: a screw with such dry muck locks"),
    ),
    kind="upper bound",
    source=JANSSEN_1895,
)
def frictional_plug(
    entry_pressure_kpa: Number, friction_coefficient: Number, pressure_ratio: Number, screw_diameter_m: Number, screw_length_m: Number
) -> GatePressure:
    """Return the pressure at the gate when dry friction takes as much as it can; the real one is higher.

    Parameters
    ----------
    entry_pressure_kpa : in the chamber at the screw's mouth, gauge.
    friction_coefficient : muck on casing.
    pressure_ratio : pressure on the casing over pressure along the screw.
    screw_diameter_m : inside diameter of the casing.
    screw_length_m : filled length.
    """
    return GatePressure(
        gate_pressure_kpa=entry_pressure_kpa * np.exp(-4 * np.multiply(friction_coefficient, pressure_ratio) * np.divide(screw_length_m, screw_diameter_m))
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScrewLeakage(Record):
    """Water through the plug."""

    leakage_m3_h: FloatArray


@method(
    "muck.screw.leakage_darcy",
    formulas={"leakage_m3_h": Formula("Q_leak", "3600 * k * dh / L_sc * pi / 4 * D_sc^2")},
    remarks=(Remark(lambda v: v["permeability_m_s"] > 1e-5, "more permeable than 1e-5 m/s: the paste does not hold water back for the time of a ring build"),),
    kind="mean",
    source=DARCY,
)
def screw_leakage(permeability_m_s: Number, head_difference_m: Number, screw_length_m: Number, screw_diameter_m: Number) -> ScrewLeakage:
    """Return the water that seeps through the plug in the screw.

    Parameters
    ----------
    permeability_m_s : of the paste.
    head_difference_m : between mouth and gate.
    screw_length_m : filled length.
    screw_diameter_m : inside diameter of the casing.
    """
    return ScrewLeakage(leakage_m3_h=3600 * np.multiply(permeability_m_s, head_difference_m) / screw_length_m * (np.pi / 4) * np.square(screw_diameter_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScrewTorque(Record):
    """Torque that shear on the casing takes."""

    torque_knm: FloatArray


@method(
    "muck.screw.torque",
    formulas={"torque_knm": Formula("T", "tau_w * pi * D_sc^2 / 2 * L_sc")},
    kind="lower bound",
    source=SCREW_PLUG,
)
def screw_torque(wall_shear_kpa: Number, screw_diameter_m: Number, screw_length_m: Number) -> ScrewTorque:
    """Return the torque of a plug that turns in its casing, without the flights' share.

    Parameters
    ----------
    wall_shear_kpa : between paste and casing.
    screw_diameter_m : inside diameter of the casing.
    screw_length_m : filled length.
    """
    return ScrewTorque(torque_knm=wall_shear_kpa * np.pi * np.square(screw_diameter_m) / 2 * screw_length_m)
