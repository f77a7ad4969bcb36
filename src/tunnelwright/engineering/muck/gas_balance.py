"""The chamber step by step: advance, screw, liquids, air and leakage, solved as two balances.

volume of soil and liquid   dV_i/dt = A v + q_liquid - (1 - g) Q_screw - c (p - p_leak)
amount of gas               dN/dt   = p_air q_air - p g Q_screw          N = p V_gas,  g = V_gas / V_c
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.integrate import solve_ivp

from tunnelwright.engineering.muck.chamber import ENOUGH_GAS
from tunnelwright.engineering.muck.foam import ATMOSPHERE_KPA
from tunnelwright.engineering.muck.sources import CHAMBER_BALANCE
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values

# Millimetre per minute and cubic metre per hour, per second.
_M_S_PER_MM_MIN: Final = 1 / 60000
_M3_S_PER_M3_H: Final = 1 / 3600
_LEAST_SHARE: Final = 1e-6
MOST_INTERVALS: Final = 100_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriveSteps(Table):
    """Spells of constant screw speed and advance."""

    duration_s: FloatArray
    screw_speed_rpm: FloatArray
    advance_rate_mm_min: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChamberHistory(Record):
    """Pressure at the end of every output interval, gas share at the end."""

    absolute_pressures_kpa: Series
    gas_share_end: FloatArray


@dataclass(frozen=True, slots=True)
class ChamberFlows:
    """Constants of one chamber; flows in m3/s."""

    volume_m3: float
    face_area_m2: float
    swept_m3: float
    liquid_m3_s: float
    air_kpa_m3_s: float
    leak_m3_s_kpa: float
    leak_reference_kpa: float

    def rates(self, state: FloatArray, screw_rps: float, advance_m_s: float) -> tuple[float, float]:
        """Return the rates of the volume of gas and of its amount."""
        gas_m3, amount = state
        pressure, screw_m3_s, share = amount / gas_m3, self.swept_m3 * screw_rps, gas_m3 / self.volume_m3
        leak_m3_s = self.leak_m3_s_kpa * (pressure - self.leak_reference_kpa)
        filled_m3_s = self.face_area_m2 * advance_m_s + self.liquid_m3_s - (1 - share) * screw_m3_s - leak_m3_s
        return -filled_m3_s, self.air_kpa_m3_s - pressure * share * screw_m3_s


def _output_count(values: Values) -> int:
    return math.ceil(float(np.sum(values["steps"].duration_s)) / float(values["output_interval_s"]) - 1e-9)


def _few_intervals(values: Values) -> bool:
    longest_s = np.max(np.sum(values["steps"].duration_s, axis=-1), initial=0.0)
    return not np.any(longest_s / values["output_interval_s"] > MOST_INTERVALS)


@method(
    "muck.chamber.gas_balance",
    found_by={
        "absolute_pressures_kpa": Algorithm(
            "the two balances solved over each spell to a relative 1e-10; NaN once the gas is used up or fills the chamber",
            invariants={"one pressure per interval": lambda v: np.ndim(v["output_interval_s"]) > 0 or len(v["absolute_pressures_kpa"]) == _output_count(v)},
        ),
        "gas_share_end": Algorithm(
            "volume of gas over that of the chamber at the end",
            invariants={"a share": lambda v: not np.any((v["gas_share_end"] < 0) | (v["gas_share_end"] > 1))},
        ),
    },
    possible={
        "liquid_added_m3_h": (0.0, 1000.0),
        "air_added_m3_h": (0.0, 1e4),
        "air_reference_pressure_kpa": (50.0, 2000.0),
        "leak_conductance_m3_s_kpa": (0.0, 1.0),
        "leak_reference_pressure_kpa": (0.0, 5000.0),
        "output_interval_s": (1e-3, 1e6),
        "gas_share": (1e-4, 0.95),
    },
    valid={"gas_share": ENOUGH_GAS},
    requires=(
        Require("steps.duration_s", lambda v: np.sum(v["steps"].duration_s, axis=-1) > 0, "must add up to more than 0"),
        Require("output_interval_s", _few_intervals, f"must be so long that at most {MOST_INTERVALS} pressures come out"),
        Require(
            "leak_reference_pressure_kpa",
            lambda v: v["leak_reference_pressure_kpa"] is not None or not np.any(v["leak_conductance_m3_s_kpa"] > 0),
            "must be given with leak_conductance_m3_s_kpa",
        ),
    ),
    remarks=(
        Remark(
            lambda v: np.isnan(v["gas_share_end"]),
            "the pressure cannot be followed to the end: the gas was used up, or nothing but gas was left, or a number is missing",
        ),
    ),
    kind="mean",
    source=CHAMBER_BALANCE,
)
def gas_balance(
    steps: DriveSteps,
    absolute_pressure_kpa: Number,
    chamber_volume_m3: Number,
    gas_share: Number,
    face_area_m2: Number,
    volume_per_turn_m3: Number,
    screw_efficiency: Number,
    liquid_added_m3_h: Number = 0.0,
    air_added_m3_h: Number = 0.0,
    air_reference_pressure_kpa: Number = ATMOSPHERE_KPA,
    leak_conductance_m3_s_kpa: Number = 0.0,
    leak_reference_pressure_kpa: Number | None = None,
    output_interval_s: Number = 60.0,
) -> ChamberHistory:
    """Return how the chamber pressure runs through spells of screw speed and advance. Planning and training only.

    Parameters
    ----------
    steps : duration, screw speed and advance of every spell.
    absolute_pressure_kpa : at the start.
    chamber_volume_m3 : whole volume, constant.
    gas_share : gas over chamber volume at the start.
    face_area_m2 : bored area.
    volume_per_turn_m3 : of the screw.
    screw_efficiency : flow over swept volume.
    liquid_added_m3_h : foam solution, water and other liquids.
    air_added_m3_h : air, as measured at its reference pressure.
    air_reference_pressure_kpa : absolute.
    leak_conductance_m3_s_kpa : liquid lost into the ground per pressure above the reference.
    leak_reference_pressure_kpa : absolute.
    output_interval_s : a pressure is given at the end of each, the last one at the end of all.

    Notes
    -----
    Gas leaves with the muck in the share it has in the chamber, and keeps its temperature. With hardly any gas the pressure is uncontrollable.
    """
    numbers = (
        absolute_pressure_kpa, chamber_volume_m3, gas_share, face_area_m2, volume_per_turn_m3, screw_efficiency, liquid_added_m3_h, air_added_m3_h,
        air_reference_pressure_kpa, leak_conductance_m3_s_kpa, 0.0 if leak_reference_pressure_kpa is None else leak_reference_pressure_kpa, output_interval_s,
    )  # fmt: skip
    pressures_kpa, share_end = each_place(_history, 2, numbers, (steps.duration_s, steps.screw_speed_rpm, steps.advance_rate_mm_min))
    return ChamberHistory(absolute_pressures_kpa=pressures_kpa, gas_share_end=share_end)


def _history(
    pressure: float, volume: float, share: float, area: float, turn: float, efficiency: float, liquid: float, air: float,
    air_reference: float, leak: float, leak_reference: float, interval: float, duration_s: FloatArray, speed_rpm: FloatArray, rate_mm_min: FloatArray,
) -> tuple[FloatArray, float]:  # fmt: skip
    total_s = float(np.sum(duration_s))
    if not math.isfinite(total_s / interval):
        return np.array([math.nan]), math.nan
    times_s = np.append(np.arange(1, math.ceil(total_s / interval - 1e-9)) * interval, total_s)
    pressures = np.full(len(times_s), math.nan)
    flows = ChamberFlows(volume, area, turn * efficiency, liquid * _M3_S_PER_M3_H, air_reference * air * _M3_S_PER_M3_H, leak, leak_reference)
    state = np.array([share * volume, pressure * share * volume])
    begin_s = 0.0
    for spell_s, speed, rate in zip(duration_s, speed_rpm, rate_mm_min, strict=True):
        end_s = begin_s + float(spell_s)
        inside = (times_s > begin_s) & ((times_s <= end_s) | np.isclose(times_s, end_s, rtol=0, atol=1e-9 * total_s))
        found = _spell(flows, state, float(spell_s), float(speed) / 60, float(rate) * _M_S_PER_MM_MIN, np.minimum(times_s[inside] - begin_s, spell_s))
        pressures[inside], state, begin_s = found[0], found[1], end_s
    return pressures, float(state[0]) / volume


def _spell(flows: ChamberFlows, state: FloatArray, spell_s: float, screw_rps: float, advance_m_s: float, wanted_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the pressures at the wanted times of one spell and the state at its end; NaN after the chamber holds no gas or only gas."""
    if spell_s == 0 or not np.all(np.isfinite(state)):
        return np.full(len(wanted_s), math.nan if spell_s else state[1] / state[0]), state

    def left(_: float, now: FloatArray) -> float:
        return min(float(now[0]), flows.volume_m3 - float(now[0])) - _LEAST_SHARE * flows.volume_m3

    left.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(
        lambda _, now: flows.rates(now, screw_rps, advance_m_s),
        (0.0, spell_s),
        state,
        method="LSODA",
        dense_output=True,
        rtol=1e-10,
        atol=1e-12 * np.abs(state),
        events=left,
    )
    reached = wanted_s <= solved.t[-1] + 1e-9 * spell_s
    gas_m3, amount = solved.sol(np.minimum(wanted_s, solved.t[-1])) if len(wanted_s) else np.empty((2, 0))
    return np.where(reached, amount / gas_m3, math.nan), solved.y[:, -1] if solved.status == 0 else np.array([math.nan, math.nan])
