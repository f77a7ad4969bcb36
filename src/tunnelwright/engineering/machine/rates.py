"""Power, penetration and specific energy of a turning head."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.machine.sources import DEFINITION, TEALE_1965
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

LEAST_PENETRATION_MM_REV: Final = 1.0
SECONDS_PER_MINUTE: Final = 60.0
MM_PER_M: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeadPower(Record):
    """Power at the head and at the drive."""

    head_power_kw: FloatArray
    drive_power_kw: FloatArray


@method(
    "machine.power.cutterhead",
    formulas={"head_power_kw": Formula("P_head", "2 * pi * n_rev / 60 * T"), "drive_power_kw": Formula("P_d", "P_head / eta")},
    kind="identity",
    source=DEFINITION,
)
def cutterhead_power(torque_knm: Number, cutterhead_speed_rpm: Number, efficiency: Number = 1.0) -> HeadPower:
    """Return the power that turns the head.

    Parameters
    ----------
    torque_knm : of the head.
    cutterhead_speed_rpm : of the head.
    efficiency : head power over drive power.
    """
    power_kw = 2 * np.pi * np.multiply(cutterhead_speed_rpm, torque_knm) / SECONDS_PER_MINUTE
    return HeadPower(head_power_kw=power_kw, drive_power_kw=np.asarray(power_kw / efficiency))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Penetration(Record):
    """Advance per turn and speed of the outermost tools."""

    penetration_mm_rev: FloatArray
    gauge_speed_m_min: FloatArray


@method(
    "machine.penetration.from_rates",
    formulas={
        "penetration_mm_rev": Formula("p_rev", "v / abs(n_rev) if n_rev != 0 else 0 / 0"),
        "gauge_speed_m_min": Formula("v_g", "pi * D * abs(n_rev)"),
    },
    valid={"gauge_speed_m_min": Range(0.0, 180.0, "tools in soft ground run at 15 to 30 m/min, discs at no more than 150 to 180")},
    kind="identity",
    source=DEFINITION,
)
def penetration_of_rates(advance_rate_mm_min: Number, cutterhead_speed_rpm: Number, excavation_diameter_m: Number | None = None) -> Penetration:
    """Return the advance per turn of the head; none while it stands still.

    Parameters
    ----------
    advance_rate_mm_min : of the shield.
    cutterhead_speed_rpm : either sense.
    excavation_diameter_m : of the cut; without it there is no gauge speed.
    """
    speed_rpm = np.abs(cutterhead_speed_rpm)
    with np.errstate(divide="ignore", invalid="ignore"):
        penetration_mm_rev = np.where(speed_rpm > 0, np.divide(advance_rate_mm_min, speed_rpm), np.nan)
    diameter_m = np.nan if excavation_diameter_m is None else excavation_diameter_m
    return Penetration(penetration_mm_rev=penetration_mm_rev, gauge_speed_m_min=np.asarray(np.pi * np.multiply(diameter_m, speed_rpm)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpecificEnergy(Record):
    """Work of the head per volume cut."""

    thrust_term_kpa: FloatArray
    specific_energy_kpa: FloatArray


@method(
    "machine.specific_energy.teale_1965",
    formulas={
        "thrust_term_kpa": Formula("e_F", "F_tool / (pi / 4 * D^2)"),
        "specific_energy_kpa": Formula("e", "e_F + 2 * pi * abs(T * n_rev) / (pi / 4 * D^2 * v / 1000) if n_rev != 0 and v >= abs(n_rev) else 0 / 0"),
    },
    remarks=(
        Remark(
            lambda v: np.abs(v["cutterhead_speed_rpm"]) * LEAST_PENETRATION_MM_REV > v["advance_rate_mm_min"],
            "less than 1 mm per turn: a quotient of two small numbers, none given",
        ),
        Remark(
            lambda v: np.abs(v["thrust_term_kpa"]) > 0.1 * v["specific_energy_kpa"],
            "the thrust makes more than a tenth of the energy: check net thrust and torque",
        ),
    ),
    kind="identity",
    source=TEALE_1965,
)
def specific_energy(
    net_tool_thrust_kn: Number, torque_knm: Number, advance_rate_mm_min: Number, cutterhead_speed_rpm: Number, excavation_diameter_m: Number
) -> SpecificEnergy:
    """Return the work per volume cut: an index of the whole head with all its friction, not the strength of the soil.

    Parameters
    ----------
    net_tool_thrust_kn : thrust that reaches the tools.
    torque_knm : of the head.
    advance_rate_mm_min : of the shield.
    cutterhead_speed_rpm : either sense.
    excavation_diameter_m : of the cut.
    """
    area_m2 = np.pi / 4 * np.square(excavation_diameter_m)
    speed_rpm = np.abs(cutterhead_speed_rpm)
    is_cutting = (speed_rpm > 0) & (np.asarray(advance_rate_mm_min) >= LEAST_PENETRATION_MM_REV * speed_rpm)
    with np.errstate(divide="ignore", invalid="ignore"):
        turning_kpa = 2 * np.pi * np.abs(torque_knm) * speed_rpm / (area_m2 * np.divide(advance_rate_mm_min, MM_PER_M))
    thrust_term_kpa = np.divide(net_tool_thrust_kn, area_m2)
    return SpecificEnergy(thrust_term_kpa=thrust_term_kpa, specific_energy_kpa=np.where(is_cutting, thrust_term_kpa + turning_kpa, np.nan))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TorqueLimit(Record):
    """Advance per turn that the torque allows."""

    penetration_mm_rev: FloatArray


@method(
    "machine.penetration.torque_limited",
    formulas={"penetration_mm_rev": Formula("p_rev", "1000 * 2 * pi * max(0, T_max - T_0) / (e_cut * pi / 4 * D^2)")},
    symbols={"torque_idle_knm": "T_0"},
    remarks=(Remark(lambda v: v["torque_idle_knm"] >= v["torque_max_knm"], "turning alone takes all torque: the head is blocked"),),
    kind="mean",
    source=TEALE_1965,
)
def torque_limited_penetration(
    torque_max_knm: Number, torque_idle_knm: Number, cutting_specific_energy_kpa: Number, excavation_diameter_m: Number
) -> TorqueLimit:
    """Return the greatest advance per turn before the torque runs out.

    Parameters
    ----------
    torque_max_knm : that the drive gives at this speed.
    torque_idle_knm : part that does not grow with penetration.
    cutting_specific_energy_kpa : energy of cutting per volume cut.
    excavation_diameter_m : of the cut.
    """
    area_m2 = np.pi / 4 * np.square(excavation_diameter_m)
    spare_knm = np.maximum(0.0, np.subtract(torque_max_knm, torque_idle_knm))
    return TorqueLimit(penetration_mm_rev=np.asarray(MM_PER_M * 2 * np.pi * spare_knm / (cutting_specific_energy_kpa * area_m2)))
