"""Water in the ground: at rest, flowing down through an aquitard, as measured, and moved by a tide."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.ground.rows import interpolated, overlap_m, summed, tops_and_bases
from tunnelwright.engineering.ground.sources import DARCY, FERRIS_1951, HEAVE, HYDROSTATICS, READINGS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, TextArray, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HydrostaticPressure(Record):
    """Pore pressure of water at rest, without suction and raw."""

    pore_pressure_kpa: FloatArray
    pore_pressure_raw_kpa: FloatArray


@method(
    "ground.pore_pressure.hydrostatic",
    formulas={"pore_pressure_kpa": Formula("u", "max(0, u_raw)"), "pore_pressure_raw_kpa": Formula("u_raw", "gamma_w * (h - H)")},
    symbols={"head_level_m": "h"},
    kind="identity",
    source=HYDROSTATICS,
)
def hydrostatic(head_level_m: Number, level_m: Number, water_unit_weight_kn_m3: Number = 9.81) -> HydrostaticPressure:
    """Return the pore pressure at a level below a head; suction above it is not relied upon.

    Parameters
    ----------
    head_level_m : piezometric level of the aquifer.
    level_m : where.
    water_unit_weight_kn_m3 : one for the whole project.
    """
    raw = water_unit_weight_kn_m3 * np.subtract(head_level_m, level_m)
    return HydrostaticPressure(pore_pressure_kpa=np.maximum(raw, 0.0), pore_pressure_raw_kpa=raw)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PermeableLayers(Table):
    """Layers from the top down; leading axes run over stations."""

    thickness_m: FloatArray
    permeability_m_s: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AquitardFlow(Record):
    """Head, pore pressure and flux in or beside an aquitard."""

    head_m: FloatArray
    pore_pressure_kpa: FloatArray
    flux_m_s: FloatArray


def _between_the_heads(values: Values) -> FloatArray:
    low, high = np.minimum(values["head_above_m"], values["head_below_m"]), np.maximum(values["head_above_m"], values["head_below_m"])
    return np.isnan(values["head_m"]) | ((values["head_m"] >= low - 1e-9) & (values["head_m"] <= high + 1e-9))


@method(
    "ground.pore_pressure.aquitard_flow",
    found_by={
        "head_m": Algorithm(
            "head above less flux times the resistance (thickness over permeability) of the layers down to the level",
            "h",
            {"between the heads of the two aquifers": _between_the_heads},
        ),
        "flux_m_s": Algorithm(
            "difference of the two heads over the resistance of all layers; positive downward",
            "q",
            {"from the higher to the lower head": lambda v: v["flux_m_s"] * (v["head_above_m"] - v["head_below_m"]) >= 0},
        ),
    },
    formulas={"pore_pressure_kpa": Formula("u", "max(0, gamma_w * (h - H))")},
    possible={"permeability_m_s": (1e-16, 1.0), "head_above_m": (-500.0, 9000.0), "head_below_m": (-500.0, 9000.0)},
    requires=(Require("layers", lambda v: np.all(np.sum(v["layers"].thickness_m, axis=-1) > 0), "must have thickness"),),
    kind="identity",
    source=DARCY,
)
def aquitard_flow(
    layers: PermeableLayers, top_level_m: Number, head_above_m: Number, head_below_m: Number, level_m: Number, water_unit_weight_kn_m3: Number = 9.81
) -> AquitardFlow:
    """Return head and pore pressure at levels in an aquitard through which water flows steadily between two aquifers.

    Parameters
    ----------
    layers : of the aquitard, top down, with vertical permeability.
    top_level_m : of the first layer.
    head_above_m, head_below_m : levels to which the water of the two aquifers rises.
    level_m : where, one or many; above the layers the upper aquifer's head holds, below them the lower one's.
    water_unit_weight_kn_m3 : one for the whole project.

    Notes
    -----
    The same water passes every layer, so the head falls in each by flux times thickness over permeability.
    """
    top, base = tops_and_bases(layers.thickness_m, last_reaches_down=False)
    per_metre = 1 / layers.permeability_m_s
    passed = summed(overlap_m(top, base, 0.0, np.subtract(top_level_m, level_m)), per_metre)
    flux = np.subtract(head_above_m, head_below_m) / summed(layers.thickness_m, per_metre)
    head = head_above_m - flux * passed
    return AquitardFlow(head_m=head, pore_pressure_kpa=np.maximum(water_unit_weight_kn_m3 * (head - level_m), 0.0), flux_m_s=flux)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PorePressures(Table):
    """Measured pore pressures from the top down; leading axes run over stations."""

    depth_m: FloatArray
    pore_pressure_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasuredPressure(Record):
    """Pore pressure between measured values, NaN outside them."""

    pore_pressure_kpa: FloatArray


def _between_the_readings(values: Values) -> FloatArray:
    readings, found = values["pore_pressure_profile"].pore_pressure_kpa, values["pore_pressure_kpa"]
    return np.isnan(found) | ((found >= readings.min() - 1e-9) & (found <= readings.max() + 1e-9))


@method(
    "ground.pore_pressure.profile",
    found_by={
        "pore_pressure_kpa": Algorithm(
            "straight line between the two readings around the depth", "u", {"between least and greatest reading": _between_the_readings}
        )
    },
    requires=(Require("pore_pressure_profile", lambda v: np.all(np.diff(v["pore_pressure_profile"].depth_m) >= 0), "must run from the top down"),),
    remarks=(Remark(lambda v: np.isnan(v["pore_pressure_kpa"]), "a depth lies outside the readings: there is no pore pressure"),),
    kind="identity",
    source=READINGS,
)
def measured_profile(pore_pressure_profile: PorePressures, depth_m: Number) -> MeasuredPressure:
    """Return the pore pressure at depths within a measured profile.

    Parameters
    ----------
    pore_pressure_profile : readings in order of depth.
    depth_m : from ground or bed, one or many.
    """
    return MeasuredPressure(pore_pressure_kpa=interpolated(pore_pressure_profile.depth_m, pore_pressure_profile.pore_pressure_kpa, depth_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TidalWave(Record):
    """What is left of a tide at a distance from the bank."""

    amplitude_ratio: FloatArray
    amplitude_m: FloatArray
    lag_s: FloatArray


@method(
    "ground.tide.ferris_1951",
    formulas={
        "amplitude_ratio": Formula("r", "exp(-x * sqrt(pi * S / (T * t_0)))"),
        "amplitude_m": Formula("A", "A_0 * r"),
        "lag_s": Formula("t_lag", "x * sqrt(pi * S / (T * t_0)) * t_0 / (2 * pi)"),
    },
    symbols={"distance_from_bank_m": "x", "storativity": "S", "transmissivity_m2_s": "T", "period_s": "t_0", "tidal_amplitude_m": "A_0"},
    possible={
        "distance_from_bank_m": (0.0, 1e5),
        "storativity": (0.0, 1.0),
        "transmissivity_m2_s": (1e-12, 10.0),
        "period_s": (1.0, 1e9),
        "tidal_amplitude_m": (0.0, 20.0),
    },
    kind="mean",
    source=FERRIS_1951,
)
def tidal_wave(
    distance_from_bank_m: Number, storativity: Number, transmissivity_m2_s: Number, period_s: Number = 44712.0, tidal_amplitude_m: Number = 1.0
) -> TidalWave:
    """Return amplitude and lag of a tidal wave in a confined aquifer beside a river or the sea.

    Parameters
    ----------
    distance_from_bank_m : square to the bank.
    storativity, transmissivity_m2_s : of the aquifer.
    period_s : of the tide; half a lunar day when left out.
    tidal_amplitude_m : at the bank.
    """
    decay = distance_from_bank_m * np.sqrt(np.pi * np.asarray(storativity) / (transmissivity_m2_s * np.asarray(period_s)))
    ratio = np.exp(-decay)
    return TidalWave(amplitude_ratio=ratio, amplitude_m=tidal_amplitude_m * ratio, lag_s=decay * period_s / (2 * np.pi))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeaveCheck(Record):
    """Whether the ground above an aquifer is heavy enough for its pressure."""

    stress_ratio: FloatArray
    effective_vertical_stress_kpa: FloatArray
    state: TextArray


@method(
    "ground.heave_check.total_stress_ratio",
    formulas={"stress_ratio": Formula("eta", "sigma_v / u"), "effective_vertical_stress_kpa": Formula("sigma'_v", "sigma_v - u")},
    found_by={"state": Algorithm("in order when the ratio reaches the required one and the effective stress is not negative, else act")},
    remarks=(Remark(lambda v: v["state"] == "act", "heave risk: the ground above is too light for the water pressure below it"),),
    kind="screening",
    source=HEAVE,
)
def heave_check(total_vertical_stress_kpa: Number, pore_pressure_kpa: Number, required_ratio: Number = 1.1) -> HeaveCheck:
    """Return the ratio of total stress to water pressure at the base of an aquitard.

    Parameters
    ----------
    total_vertical_stress_kpa : at the base of the aquitard, with lowest weights.
    pore_pressure_kpa : there, with the highest head.
    required_ratio : below it, act.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.divide(total_vertical_stress_kpa, pore_pressure_kpa)
    effective = np.subtract(total_vertical_stress_kpa, pore_pressure_kpa)
    # Without water pressure the ratio says nothing; the effective stress then decides alone.
    holds = ((ratio >= required_ratio) | np.less_equal(pore_pressure_kpa, 0)) & (effective >= 0)
    return HeaveCheck(stress_ratio=ratio, effective_vertical_stress_kpa=effective, state=np.where(holds, "in order", "act"))
