"""Pressure in a closed chamber that holds soil, liquid and a little gas: what it does when flows do not match.

What-if and training only: nothing here justifies to work below the lower limit of support. Volumes of soil and liquid count as incompressible,
the gas follows Boyle's law.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.fitting import least_squares
from tunnelwright.engineering.muck.sources import BOYLE, CHAMBER_BALANCE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table

WATER_STIFFNESS_KPA: Final = 2.2e6
ENOUGH_GAS: Final = Range(0.02, 0.5, "with less gas the pressure cannot be controlled, with more it is foam")
WATCH_GRADIENT: Final = 12.0
ACT_GRADIENT: Final = 10.0
LEAST_READINGS: Final = 3
_POSSIBLE_STIFFNESS: Final = (1e4, 1e8)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixtureStiffness(Record):
    """Stiffness of soil, liquid and gas together."""

    mixture_stiffness_kpa: FloatArray


@method(
    "muck.chamber.stiffness",
    formulas={"mixture_stiffness_kpa": Formula("K_mix", "1 / (n_g / p_abs + (1 - n_g) / K_w)")},
    symbols={"water_stiffness_kpa": "K_w"},
    possible={"water_stiffness_kpa": _POSSIBLE_STIFFNESS},
    valid={"gas_share": ENOUGH_GAS},
    kind="identity",
    source=BOYLE,
)
def mixture_stiffness(absolute_pressure_kpa: Number, gas_share: Number, water_stiffness_kpa: Number = WATER_STIFFNESS_KPA) -> MixtureStiffness:
    """Return the stiffness of the chamber's content: pressure over relative change of volume.

    Parameters
    ----------
    absolute_pressure_kpa : in the chamber.
    gas_share : gas over chamber volume.
    water_stiffness_kpa : of the incompressible part.
    """
    return MixtureStiffness(mixture_stiffness_kpa=1 / (np.divide(gas_share, absolute_pressure_kpa) + np.subtract(1.0, gas_share) / water_stiffness_kpa))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeStep(Record):
    """Change of pressure after a change of content."""

    pressure_change_kpa: FloatArray
    pressure_change_linear_kpa: FloatArray


@method(
    "muck.chamber.volume_step",
    formulas={
        "pressure_change_kpa": Formula("delta_p_c", "p_abs * dV / (n_g * V_c - dV)"),
        "pressure_change_linear_kpa": Formula("delta_p_lin", "dV / V_c / (n_g / p_abs + (1 - n_g) / K_w)"),
    },
    symbols={"net_inflow_m3": "dV", "water_stiffness_kpa": "K_w"},
    possible={"net_inflow_m3": (-2000.0, 2000.0), "water_stiffness_kpa": _POSSIBLE_STIFFNESS},
    valid={"gas_share": ENOUGH_GAS},
    requires=(Require("net_inflow_m3", lambda v: v["net_inflow_m3"] < v["gas_share"] * v["chamber_volume_m3"], "must be less than the volume of gas"),),
    kind="identity",
    source=BOYLE,
)
def volume_step(
    absolute_pressure_kpa: Number, chamber_volume_m3: Number, gas_share: Number, net_inflow_m3: Number, water_stiffness_kpa: Number = WATER_STIFFNESS_KPA
) -> VolumeStep:
    """Return how the pressure changes when soil or liquid enters or leaves a closed chamber.

    Parameters
    ----------
    absolute_pressure_kpa : in the chamber before.
    chamber_volume_m3 : whole volume.
    gas_share : gas over chamber volume before.
    net_inflow_m3 : soil and liquid in less out.
    water_stiffness_kpa : of the incompressible part, for the linear result.
    """
    gas_m3 = np.multiply(gas_share, chamber_volume_m3)
    stiffness_kpa = 1 / (np.divide(gas_share, absolute_pressure_kpa) + np.subtract(1.0, gas_share) / water_stiffness_kpa)
    with np.errstate(divide="ignore", invalid="ignore"):
        return VolumeStep(
            pressure_change_kpa=np.multiply(absolute_pressure_kpa, net_inflow_m3) / (gas_m3 - net_inflow_m3),
            pressure_change_linear_kpa=stiffness_kpa * np.divide(net_inflow_m3, chamber_volume_m3),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinearResponse(Record):
    """Answer of the pressure to a lasting mismatch of flows."""

    time_constant_s: FloatArray
    pressure_change_kpa: FloatArray
    pressure_change_final_kpa: FloatArray
    initial_rate_kpa_min: FloatArray


@method(
    "muck.chamber.linear_response",
    formulas={
        "time_constant_s": Formula("T_c", "V_c / (K_mix * c_g)"),
        "pressure_change_kpa": Formula("delta_p_c", "dQ / c_g * (1 - exp(-t_s / T_c)) if c_g > 0 else K_mix * dQ / V_c * t_s"),
        "pressure_change_final_kpa": Formula("delta_p_end", "dQ / c_g"),
        "initial_rate_kpa_min": Formula("p_rate", "60 * K_mix * dQ / V_c"),
    },
    symbols={"ground_conductance_m3_s_kpa": "c_g", "flow_mismatch_m3_s": "dQ"},
    possible={"ground_conductance_m3_s_kpa": (0.0, 1.0), "flow_mismatch_m3_s": (-10.0, 10.0), "time_s": (0.0, 1e7)},
    kind="identity",
    source=CHAMBER_BALANCE,
)
def linear_response(
    chamber_volume_m3: Number, mixture_stiffness_kpa: Number, ground_conductance_m3_s_kpa: Number, flow_mismatch_m3_s: Number, time_s: Number
) -> LinearResponse:
    """Return how the pressure drifts under a small lasting mismatch until leakage into the ground balances it.

    Parameters
    ----------
    chamber_volume_m3 : whole volume.
    mixture_stiffness_kpa : of the content.
    ground_conductance_m3_s_kpa : flow into the ground per pressure; next to nothing in clay, then the pressure drifts on.
    flow_mismatch_m3_s : inflow less outflow.
    time_s : since the mismatch began.
    """
    conductance = np.asarray(ground_conductance_m3_s_kpa, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        constant_s = chamber_volume_m3 / (mixture_stiffness_kpa * conductance)
        final_kpa = flow_mismatch_m3_s / conductance
        rate_kpa_s = np.multiply(mixture_stiffness_kpa, flow_mismatch_m3_s) / chamber_volume_m3
        change_kpa = np.where(conductance > 0, -final_kpa * np.expm1(-time_s / constant_s), np.where(conductance == 0, rate_kpa_s * time_s, np.nan))
    return LinearResponse(time_constant_s=constant_s, pressure_change_kpa=change_kpa, pressure_change_final_kpa=final_kpa, initial_rate_kpa_min=60 * rate_kpa_s)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeightSensors(Table):
    """Height of each sensor above the axis and what it reads; a missing reading is NaN."""

    height_m: FloatArray
    pressure_kpa: FloatArray


def _reading_count(sensors: HeightSensors) -> FloatArray:
    return np.asarray(np.isfinite(sensors.pressure_kpa).sum(axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChamberGradient(Record):
    """Line through the sensors."""

    support_unit_weight_kn_m3: FloatArray
    face_pressure_axis_kpa: FloatArray


@method(
    "muck.chamber.gradient",
    found_by={
        "support_unit_weight_kn_m3": Algorithm(
            "least-squares slope of pressure over depth",
            invariants={
                "level sensors keep their mean on the line": lambda v: _passes_the_mean(
                    v["sensors"], v["support_unit_weight_kn_m3"], v["face_pressure_axis_kpa"]
                )
            },
        ),
        "face_pressure_axis_kpa": Algorithm("value of the line at the axis"),
    },
    requires=(Require("sensors.height_m", lambda v: np.ptp(v["sensors"].height_m, axis=-1) > 0, "must hold sensors at two heights or more"),),
    remarks=(
        Remark(
            lambda v: v["support_unit_weight_kn_m3"] < ACT_GRADIENT, "gradient below 10 kPa/m: gas or foam at the crown, the level of support is unproven; act"
        ),
        Remark(
            lambda v: (v["support_unit_weight_kn_m3"] < WATCH_GRADIENT) & (v["support_unit_weight_kn_m3"] >= ACT_GRADIENT),
            "gradient below 12 kPa/m: watch for gas or foam at the crown",
        ),
        Remark(lambda v: v["support_unit_weight_kn_m3"] > 22.0, "gradient above that of soil: clogging or blocked sensors"),
        Remark(lambda v: _reading_count(v["sensors"]) < LEAST_READINGS, "fewer than three sensors read: nothing tells a gradient from a faulty sensor"),
    ),
    kind="mean",
    source=CHAMBER_BALANCE,
)
def chamber_gradient(sensors: HeightSensors) -> ChamberGradient:
    """Return the gradient of pressure in the chamber and the pressure at the axis, by least squares.

    Parameters
    ----------
    sensors : height above the axis and reading; leading axes (samples) broadcast.
    """
    slope, at_axis_kpa = least_squares(sensors.height_m, sensors.pressure_kpa)
    return ChamberGradient(support_unit_weight_kn_m3=-slope, face_pressure_axis_kpa=at_axis_kpa)


def _passes_the_mean(sensors: HeightSensors, unit_weight: FloatArray, at_axis_kpa: FloatArray) -> bool:
    present = np.isfinite(sensors.pressure_kpa)
    mean_height = np.nanmean(np.where(present, sensors.height_m, np.nan), axis=-1)
    return bool(np.allclose(at_axis_kpa - unit_weight * mean_height, np.nanmean(sensors.pressure_kpa, axis=-1)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StandstillPressure(Record):
    """Pressure during a standstill."""

    chamber_pressure_kpa: FloatArray
    time_to_limit_s: FloatArray


@method(
    "muck.chamber.standstill",
    formulas={
        "chamber_pressure_kpa": Formula("p_c", "p_ref + (p_start - p_ref) * exp(-t_s / T_c)"),
        "time_to_limit_s": Formula(
            "t_lim", "T_c * ln((p_start - p_ref) / (p_lim - p_ref)) if p_start > p_lim and p_lim > p_ref else (0 if p_start <= p_lim else 0 / 0)"
        ),
    },
    symbols={"reference_pressure_kpa": "p_ref", "lower_limit_kpa": "p_lim"},
    possible={"reference_pressure_kpa": (-200.0, 3000.0), "lower_limit_kpa": (-200.0, 3000.0), "time_s": (0.0, 1e8), "time_constant_s": (1e-3, 1e9)},
    kind="mean",
    source=CHAMBER_BALANCE,
)
def standstill_pressure(
    start_pressure_kpa: Number, reference_pressure_kpa: Number, time_constant_s: Number, time_s: Number, lower_limit_kpa: Number | None = None
) -> StandstillPressure:
    """Return the pressure after some time at standstill, and when it passes a limit on its way down.

    Parameters
    ----------
    start_pressure_kpa : at the start of the standstill.
    reference_pressure_kpa : to which it would fall in the end.
    time_constant_s : fitted to former standstills.
    time_s : since the start.
    lower_limit_kpa : limit of support; without it, or where it is never reached, there is no time. Already below it the time is 0.
    """
    limit = np.asarray(np.nan if lower_limit_kpa is None else lower_limit_kpa, dtype=np.float64)
    start, rest = np.asarray(start_pressure_kpa, dtype=np.float64), np.asarray(reference_pressure_kpa, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        later_kpa = rest + (start - rest) * np.exp(-np.divide(time_s, time_constant_s))
        passing_s = time_constant_s * np.log((start - rest) / (limit - rest))
        until_s = np.where((start > limit) & (limit > rest), passing_s, np.where(start <= limit, 0.0, np.nan))
    return StandstillPressure(chamber_pressure_kpa=later_kpa, time_to_limit_s=until_s)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TopUp(Record):
    """Volume that raises the pressure."""

    top_up_volume_m3: FloatArray


@method(
    "muck.chamber.top_up",
    formulas={"top_up_volume_m3": Formula("V_top", "V_c * dp_rise / K_mix")},
    kind="identity",
    source=CHAMBER_BALANCE,
)
def top_up(chamber_volume_m3: Number, mixture_stiffness_kpa: Number, pressure_rise_kpa: Number) -> TopUp:
    """Return the volume of suspension or paste that raises the chamber's pressure by a small step.

    Parameters
    ----------
    chamber_volume_m3 : whole volume.
    mixture_stiffness_kpa : of the content.
    pressure_rise_kpa : wanted.
    """
    return TopUp(top_up_volume_m3=np.multiply(chamber_volume_m3, pressure_rise_kpa) / mixture_stiffness_kpa)
