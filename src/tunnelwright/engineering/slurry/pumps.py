"""Pumps along the return line: pressure needed, where boosters stand, suction, water hammer."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.slurry.sources import HYDROSTATICS, JOUKOWSKY_1898
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values

GRAVITY: Final = 9.81
ATMOSPHERE_KPA: Final = 101.325
# Rounding must not set a booster one metre early.
ROUNDING: Final = 1e-9
BOOSTERS_AT_MOST: Final = 1000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinePressure(Record):
    """Pressure that the pumps of a line must give, and how many boosters give it."""

    pressure_required_kpa: FloatArray
    booster_count: FloatArray


@method(
    "slurry.pump.pressure_required",
    formulas={
        "pressure_required_kpa": Formula("p_req", "i_p * L_p + 9.81 * rho * h_lift + p_end - p_c + p_fit"),
        "booster_count": Formula("n_boost", "max(0, ceil((p_req - p_pump) / p_boost))"),
    },
    symbols={"lift_m": "h_lift", "fittings_kpa": "p_fit"},
    possible={"lift_m": (-500.0, 500.0), "fittings_kpa": (0.0, 5000.0), "booster_pump_kpa": (1.0, 5000.0)},
    remarks=(Remark(lambda v: v["pressure_required_kpa"] < 0, "the line runs by itself: throttle it, and check the pressure at its lower end"),),
    kind="identity",
    source=HYDROSTATICS,
    dimensional=True,
)
def line_pressure(
    pressure_gradient_kpa_m: Number,
    pipe_length_m: Number,
    lift_m: Number,
    density_t_m3: Number,
    end_pressure_kpa: Number,
    chamber_pressure_kpa: Number,
    machine_pump_kpa: Number,
    booster_pump_kpa: Number,
    fittings_kpa: Number = 0.0,
) -> LinePressure:
    """Return the pressure that a return line needs and the number of boosters, wherever they stand.

    Parameters
    ----------
    pressure_gradient_kpa_m : of friction.
    pipe_length_m : of the line.
    lift_m : from the machine to the plant, upwards positive.
    density_t_m3 : of the return.
    end_pressure_kpa : needed at the plant.
    chamber_pressure_kpa : lowest of the window, helps.
    machine_pump_kpa : given by the pump on the machine.
    booster_pump_kpa : given by each booster at this flow.
    fittings_kpa : losses of bends, valves and hoses.
    """
    friction_kpa = np.multiply(pressure_gradient_kpa_m, pipe_length_m)
    required_kpa = friction_kpa + GRAVITY * np.multiply(density_t_m3, lift_m) + end_pressure_kpa - chamber_pressure_kpa + fittings_kpa
    count = np.maximum(0.0, np.ceil((required_kpa - machine_pump_kpa) / booster_pump_kpa))
    return LinePressure(pressure_required_kpa=np.asarray(required_kpa), booster_count=np.asarray(count))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineSections(Table):
    """Stretches of the return line from the machine outwards, one row each."""

    length_m: FloatArray
    pressure_gradient_kpa_m: FloatArray
    rise_ratio: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoosterPlan(Record):
    """Where boosters stand and what is left at the end."""

    booster_count: FloatArray
    booster_positions_m: Series
    end_spare_kpa: FloatArray


def _falls(values: Values) -> FloatArray:
    """Return the fall of pressure per metre in each section: friction and weight of the column."""
    sections = values["sections"]
    return np.asarray(sections.pressure_gradient_kpa_m + GRAVITY * np.asarray(values["density_t_m3"])[..., None] * sections.rise_ratio)


def _pressure_adds_up(values: Values) -> Any:
    """Return whether what went in, less what the line took, is what is left."""
    taken = np.sum(_falls(values) * values["sections"].length_m, axis=-1)
    given = values["chamber_pressure_kpa"] + values["machine_pump_kpa"] + values["booster_count"] * values["booster_pump_kpa"]
    needed = GRAVITY * values["density_t_m3"] * values["end_lift_m"] + values["end_pressure_kpa"]
    return np.isclose(given - taken - needed, values["end_spare_kpa"], rtol=1e-9, atol=1e-6) | np.isnan(values["end_spare_kpa"])


@method(
    "slurry.pump.march",
    found_by={
        "booster_count": Algorithm("boosters set along the line, and one more at its end where the end's need is not met", symbol="n_boost"),
        "booster_positions_m": Algorithm(
            "from the machine outwards: a booster stands where the pressure would fall below the least suction pressure within the next metre",
            symbol="x_boost",
            invariants={
                "from the machine outwards": lambda v: np.all(
                    (np.diff(v["booster_positions_m"], axis=-1) >= 0) | np.isnan(np.diff(v["booster_positions_m"], axis=-1))
                )
            },
        ),
        "end_spare_kpa": Algorithm("pressure at the end less the need there", symbol="p_spare", invariants={"pressures add up": _pressure_adds_up}),
    },
    possible={
        "rise_ratio": (-1.0, 1.0),
        "suction_min_kpa": (-100.0, 2000.0),
        "end_lift_m": (-500.0, 500.0),
        "booster_pump_kpa": (1.0, 5000.0),
        "length_m": (0.0, 1e5),
    },
    requires=(
        Require(
            "booster_pump_kpa",
            lambda v: np.max(_falls(v), axis=-1) < v["booster_pump_kpa"],
            "must be more than the line takes in one metre",
            "is the gradient in kPa/m?",
        ),
    ),
    remarks=(
        Remark(lambda v: v["end_spare_kpa"] < 0, "one booster at the end is not enough for the lift: the shaft needs more"),
        Remark(
            lambda v: np.asarray(v["chamber_pressure_kpa"]) + v["machine_pump_kpa"] < v["suction_min_kpa"],
            "chamber and machine pump together stay below the least suction pressure",
        ),
    ),
    kind="identity",
    source=HYDROSTATICS,
    dimensional=True,
)
def booster_plan(
    sections: LineSections,
    density_t_m3: Number,
    chamber_pressure_kpa: Number,
    machine_pump_kpa: Number,
    booster_pump_kpa: Number,
    suction_min_kpa: Number,
    end_lift_m: Number,
    end_pressure_kpa: Number,
) -> BoosterPlan:
    """Return where boosters must stand along the return line, metre by metre from the machine.

    Parameters
    ----------
    sections : length, friction per metre and rise per metre of each stretch.
    density_t_m3 : of the return.
    chamber_pressure_kpa : lowest of the window.
    machine_pump_kpa : given by the pump on the machine.
    booster_pump_kpa : given by each booster.
    suction_min_kpa : least pressure at a booster's mouth.
    end_lift_m : height of the shaft at the end.
    end_pressure_kpa : needed at the plant.
    """
    count, positions, spare = each_place(
        _march,
        3,
        (density_t_m3, chamber_pressure_kpa, machine_pump_kpa, booster_pump_kpa, suction_min_kpa, end_lift_m, end_pressure_kpa),
        (sections.length_m, sections.pressure_gradient_kpa_m, sections.rise_ratio),
    )
    return BoosterPlan(booster_count=count, booster_positions_m=positions, end_spare_kpa=spare)


def _march(
    density: float,
    chamber: float,
    machine: float,
    booster: float,
    suction_min: float,
    end_lift: float,
    end_pressure: float,
    length: FloatArray,
    friction: FloatArray,
    rise: FloatArray,
) -> tuple[float, FloatArray, float]:
    """Return count, positions and spare pressure of one line."""
    falls = friction + GRAVITY * density * rise
    if not np.isfinite([chamber, machine, booster, suction_min, end_lift, end_pressure, *falls, *length]).all() or booster <= max(0.0, float(np.max(falls))):
        return np.nan, np.empty(0), np.nan
    pressure, passed = chamber + machine, 0.0
    positions: list[float] = []
    for fall, left in zip(falls, length, strict=True):
        done = 0.0
        while left - done > ROUNDING and len(positions) < BOOSTERS_AT_MOST:
            reach = _metres(pressure - suction_min, float(fall), left - done)
            pressure, done = pressure - fall * reach, done + reach
            if left - done > ROUNDING:
                positions.append(passed + done)
                pressure += booster
        passed += left
    needed = GRAVITY * density * end_lift + end_pressure
    if pressure < needed - ROUNDING and len(positions) < BOOSTERS_AT_MOST:
        positions.append(passed)
        pressure += booster
    return float(len(positions)), np.array(positions), float(pressure - needed)


def _metres(above: float, fall: float, left: float) -> float:
    """Return how far the slurry runs, in whole metres unless to the end of the section, before it would fall below the suction pressure."""
    if fall <= 0 or fall * left <= above + ROUNDING:
        return left
    return float(max(0.0, np.floor(above / fall + ROUNDING)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SuctionHead(Record):
    """Head that a pump finds at its mouth."""

    suction_head_available_m: FloatArray


@method(
    "slurry.pump.suction_head",
    formulas={"suction_head_available_m": Formula("h_av", "(101.325 + p_suc - p_vap) / (9.81 * rho) + z_p - h_fr")},
    symbols={"suction_pressure_kpa": "p_suc", "vapour_pressure_kpa": "p_vap", "level_above_pump_m": "z_p", "friction_head_m": "h_fr"},
    possible={
        "suction_pressure_kpa": (-101.0, 5000.0),
        "vapour_pressure_kpa": (0.0, 101.0),
        "level_above_pump_m": (-10.0, 200.0),
        "friction_head_m": (0.0, 500.0),
        "density_t_m3": (0.5, 3.5),
    },
    valid={"suction_head_available_m": Range(3.0, 1e4, "pumps need 2 to 6 m and one more in reserve")},
    kind="identity",
    source=HYDROSTATICS,
    dimensional=True,
)
def suction_head(
    suction_pressure_kpa: Number, density_t_m3: Number, level_above_pump_m: Number, friction_head_m: Number, vapour_pressure_kpa: Number = 2.3
) -> SuctionHead:
    """Return the net positive suction head that a pump finds; it must exceed what the pump needs by one metre.

    Parameters
    ----------
    suction_pressure_kpa : over the level that feeds the pump, gauge.
    density_t_m3 : of the slurry.
    level_above_pump_m : of that level.
    friction_head_m : lost on the way.
    vapour_pressure_kpa : absolute, of water at 20 deg.
    """
    absolute_kpa = ATMOSPHERE_KPA + np.subtract(suction_pressure_kpa, vapour_pressure_kpa)
    return SuctionHead(suction_head_available_m=np.asarray(absolute_kpa / (GRAVITY * np.asarray(density_t_m3)) + level_above_pump_m - friction_head_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WaterHammer(Record):
    """Rise of pressure when a flow is stopped."""

    pressure_rise_kpa: FloatArray


@method(
    "slurry.pump.water_hammer",
    formulas={"pressure_rise_kpa": Formula("dp_rise", "rho * a_w * dv_p")},
    symbols={"wave_speed_m_s": "a_w", "velocity_change_m_s": "dv_p"},
    possible={"wave_speed_m_s": (10.0, 2000.0), "velocity_change_m_s": (0.0, 30.0)},
    valid={"wave_speed_m_s": Range(200.0, 1450.0, "1000 to 1200 m/s in steel, less in hoses")},
    kind="upper bound",
    source=JOUKOWSKY_1898,
)
def water_hammer(density_t_m3: Number, wave_speed_m_s: Number, velocity_change_m_s: Number) -> WaterHammer:
    """Return the rise of pressure when a valve shuts within one run of the wave along the pipe and back.

    Parameters
    ----------
    density_t_m3 : of the slurry.
    wave_speed_m_s : in the filled pipe.
    velocity_change_m_s : at once.
    """
    return WaterHammer(pressure_rise_kpa=np.asarray(density_t_m3 * np.multiply(wave_speed_m_s, velocity_change_m_s)))
