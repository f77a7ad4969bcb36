"""The air bubble over the slurry: pressure when its valve is shut, level and pressure through a loss, pressure at the axis."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.slurry.sources import BOYLE, HYDROSTATICS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

GRAVITY: Final = 9.81
ATMOSPHERE_KPA: Final = 101.325
SECONDS_PER_HOUR: Final = 3600.0
SECONDS_PER_MINUTE: Final = 60.0
REGULATOR_BAND_KPA: Final = 5.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compression(Record):
    """Change of pressure of a closed bubble."""

    pressure_change_kpa: FloatArray


@method(
    "slurry.bubble.compression",
    formulas={"pressure_change_kpa": Formula("delta_p_c", "(101.325 + p_air) * ((V_air / (V_air - dV))^kappa - 1)")},
    symbols={"air_volume_lost_m3": "dV", "polytropic_exponent": "kappa"},
    possible={"air_volume_lost_m3": (-1e4, 1e4), "polytropic_exponent": (1.0, 1.67), "air_volume_m3": (0.01, 1e5)},
    valid={"polytropic_exponent": Range(1.0, 1.4, "slow 1, fast 1.4")},
    requires=(Require("air_volume_lost_m3", lambda v: v["air_volume_lost_m3"] < v["air_volume_m3"], "must be less than the bubble"),),
    kind="identity",
    source=BOYLE,
    dimensional=True,
)
def compression(air_volume_m3: Number, air_pressure_kpa: Number, air_volume_lost_m3: Number, polytropic_exponent: Number = 1.0) -> Compression:
    """Return by how much the pressure of a bubble changes while its valve is shut.

    Parameters
    ----------
    air_volume_m3 : before.
    air_pressure_kpa : before, gauge.
    air_volume_lost_m3 : positive when the slurry rises.
    polytropic_exponent : 1 when the air keeps its temperature, 1.4 when it keeps its heat.
    """
    ratio = np.divide(air_volume_m3, np.subtract(air_volume_m3, air_volume_lost_m3))
    return Compression(pressure_change_kpa=np.add(ATMOSPHERE_KPA, air_pressure_kpa) * (np.power(ratio, polytropic_exponent) - 1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlowSteps(Table):
    """Times of constant gain or loss of slurry, one row each."""

    duration_s: FloatArray
    net_slurry_m3_h: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BubbleCourse(Record):
    """Lowest and last level and pressure."""

    level_change_lowest_m: FloatArray
    level_change_end_m: FloatArray
    air_pressure_lowest_kpa: FloatArray
    air_pressure_end_kpa: FloatArray


def _level_adds_up(values: Values) -> Any:
    gained_m3 = np.sum(values["steps"].duration_s * values["steps"].net_slurry_m3_h, axis=-1) / SECONDS_PER_HOUR
    return np.isclose(values["level_change_end_m"] * values["level_area_m2"], gained_m3, atol=1e-9) | np.isnan(values["level_change_end_m"])


def _least_air(values: Values) -> FloatArray:
    """Return the least volume that the bubble comes to."""
    gained_m3 = np.cumsum(values["steps"].duration_s * values["steps"].net_slurry_m3_h, axis=-1) / SECONDS_PER_HOUR
    return np.asarray(values["air_volume_m3"] - np.maximum(0.0, np.max(gained_m3, axis=-1)))


@method(
    "slurry.bubble.gas_balance",
    found_by={
        "level_change_lowest_m": Algorithm(
            "lowest level at the ends of the steps, none above the start",
            symbol="h_low",
            invariants={"not above start and end": lambda v: v["level_change_lowest_m"] <= np.minimum(0.0, v["level_change_end_m"]) + 1e-12},
        ),
        "level_change_end_m": Algorithm("slurry gained over the area of the level", symbol="h_end", invariants={"gains add up": _level_adds_up}),
        "air_pressure_lowest_kpa": Algorithm(
            "amount of air times atmosphere over volume, lowest at the ends of the steps: within a step the pressure goes one way or meets its set value",
            symbol="p_low",
            invariants={"not above the last": lambda v: ~(v["air_pressure_lowest_kpa"] > v["air_pressure_end_kpa"] + 1e-9)},
        ),
        "air_pressure_end_kpa": Algorithm("amount of air times atmosphere over volume at the end", symbol="p_end"),
    },
    possible={
        "net_slurry_m3_h": (-20000.0, 20000.0),
        "level_area_m2": (0.1, 1000.0),
        "air_volume_m3": (0.01, 1e5),
        "regulator_free_air_m3_min": (0.0, 1000.0),
    },
    requires=(Require("steps", lambda v: _least_air(v) > 0, "the slurry must not fill the whole bubble"),),
    remarks=(
        Remark(
            lambda v: v["air_pressure_lowest_kpa"] < v["air_pressure_kpa"] - REGULATOR_BAND_KPA,
            "the air falls more than 5 kPa below its set value: the regulator is too small for this loss; act",
        ),
        Remark(
            lambda v: v["air_pressure_end_kpa"] > v["air_pressure_kpa"] + REGULATOR_BAND_KPA,
            "the air ends more than 5 kPa above its set value: without a vent the face pressure rises with it",
        ),
    ),
    kind="mean",
    source=BOYLE,
    dimensional=True,
)
def gas_balance(steps: FlowSteps, level_area_m2: Number, air_volume_m3: Number, air_pressure_kpa: Number, regulator_free_air_m3_min: Number) -> BubbleCourse:
    """Return how level and air pressure fare through gains and losses of slurry, with a regulator that feeds and never vents.

    Parameters
    ----------
    steps : duration and slurry and soil in minus out of each stretch of time.
    level_area_m2 : of the slurry's surface under the bubble.
    air_volume_m3 : of the bubble at the start.
    air_pressure_kpa : at the start and set at the regulator, gauge.
    regulator_free_air_m3_min : most that the regulator feeds, as free air.

    Notes
    -----
    At constant temperature the amount of free air is absolute pressure times volume over the atmosphere. In a step the volume changes
    evenly, so the amount that would keep the set pressure does too, and the moment at which the air meets it is exact.
    """
    set_kpa = np.add(ATMOSPHERE_KPA, air_pressure_kpa)
    feed_m3_s = np.divide(regulator_free_air_m3_min, SECONDS_PER_MINUTE)
    volume_m3 = np.asarray(air_volume_m3, dtype=np.float64)
    amount_m3 = set_kpa * volume_m3 / ATMOSPHERE_KPA
    gained_m3 = lowest_m3 = np.zeros(np.shape(volume_m3))
    lowest_kpa = set_kpa
    for row in range(steps.row_count):
        seconds, rise_m3_s = steps.duration_s[..., row], steps.net_slurry_m3_h[..., row] / SECONDS_PER_HOUR
        amount_m3 = _fed(amount_m3, set_kpa / ATMOSPHERE_KPA, volume_m3, rise_m3_s, feed_m3_s, seconds)
        gained_m3, volume_m3 = gained_m3 + rise_m3_s * seconds, volume_m3 - rise_m3_s * seconds
        lowest_m3 = np.minimum(lowest_m3, gained_m3)
        lowest_kpa = np.minimum(lowest_kpa, amount_m3 * ATMOSPHERE_KPA / volume_m3)
    return BubbleCourse(
        level_change_lowest_m=np.asarray(lowest_m3 / level_area_m2),
        level_change_end_m=np.asarray(gained_m3 / level_area_m2),
        air_pressure_lowest_kpa=lowest_kpa - ATMOSPHERE_KPA,
        air_pressure_end_kpa=np.asarray(amount_m3 * ATMOSPHERE_KPA / volume_m3 - ATMOSPHERE_KPA),
    )


def _fed(amount_m3: FloatArray, set_ratio: FloatArray, volume_m3: FloatArray, rise_m3_s: FloatArray, feed_m3_s: Any, seconds: FloatArray) -> FloatArray:
    """Return the amount of free air after a step.

    Below its set value the regulator feeds all it can, at it as much as keeps it, above it nothing.
    """
    needed_m3, need_m3_s = set_ratio * volume_m3, -set_ratio * rise_m3_s
    lacking_m3 = needed_m3 - amount_m3
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        met_s = np.where(
            lacking_m3 > 0, lacking_m3 / np.maximum(feed_m3_s - need_m3_s, 0.0), np.where(lacking_m3 < 0, -lacking_m3 / np.maximum(need_m3_s, 0.0), 0.0)
        )
    before_s = np.minimum(seconds, met_s)
    kept_m3_s = np.clip(need_m3_s, 0.0, feed_m3_s)
    return np.asarray(amount_m3 + np.where(lacking_m3 > 0, feed_m3_s * before_s, 0.0) + kept_m3_s * (seconds - before_s))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisPressure(Record):
    """Support pressure at the axis."""

    face_pressure_axis_kpa: FloatArray


@method(
    "slurry.bubble.axis_pressure",
    formulas={"face_pressure_axis_kpa": Formula("p_axis", "p_air + 9.81 * rho * h_lev")},
    symbols={"level_above_axis_m": "h_lev"},
    possible={"level_above_axis_m": (-20.0, 20.0)},
    remarks=(Remark(lambda v: v["level_above_axis_m"] < 0, "the level stands below the axis: the axis is under air"),),
    kind="identity",
    source=HYDROSTATICS,
    dimensional=True,
)
def axis_pressure(air_pressure_kpa: Number, density_t_m3: Number, level_above_axis_m: Number) -> AxisPressure:
    """Return the support pressure at the axis under the bubble and the slurry above.

    Parameters
    ----------
    air_pressure_kpa : gauge.
    density_t_m3 : of the slurry in the chamber.
    level_above_axis_m : of the slurry, above the axis positive.
    """
    return AxisPressure(face_pressure_axis_kpa=np.asarray(air_pressure_kpa + GRAVITY * np.multiply(density_t_m3, level_above_axis_m)))
