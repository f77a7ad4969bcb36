"""What a ring takes: electric energy and concrete."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.cycle.sources import GEOMETRY, MECHANICS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_SECONDS_PER_HOUR: Final = 3600


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingEnergy(Record):
    """Energy of one ring by what it was spent on; the power is that at the shaft."""

    cutterhead_power_kw: FloatArray
    cutterhead_energy_kwh: FloatArray
    thrust_energy_kwh: FloatArray
    base_energy_kwh: FloatArray
    energy_kwh: FloatArray


@method(
    "cycle.energy.ring",
    formulas={
        "cutterhead_power_kw": Formula("P_c", "2 * pi * n_rev * T / 60"),
        "cutterhead_energy_kwh": Formula("W_c", "P_c * t_push / (3600 * eta)"),
        "thrust_energy_kwh": Formula("W_t", "F_T * L / 3600"),
        "base_energy_kwh": Formula("W_b", "P_b * T_cyc / 3600"),
        "energy_kwh": Formula("W", "W_c + W_t + W_b"),
    },
    symbols={"base_power_kw": "P_b"},
    possible={"base_power_kw": (0.0, 1e5)},
    kind="mean",
    source=MECHANICS,
)
def ring_energy(
    torque_knm: Number,
    cutterhead_speed_rpm: Number,
    push_time_s: Number,
    thrust_kn: Number = 0.0,
    ring_length_m: Number = 0.0,
    efficiency: Number = 1.0,
    base_power_kw: Number = 0.0,
    cycle_time_s: Number = 0.0,
) -> RingEnergy:
    """Return the energy that one ring takes.

    Parameters
    ----------
    torque_knm : mean of the push.
    cutterhead_speed_rpm : mean of the push; of one sign with the torque.
    push_time_s : time of the push.
    thrust_kn : mean of the push.
    ring_length_m : way of the push.
    efficiency : of motor, converter and gears of the cutterhead.
    base_power_kw : ventilation, lighting, pumps and hydraulics that run all the time.
    cycle_time_s : over which the base load runs.
    """
    power_kw = 2 * np.pi / 60 * np.multiply(cutterhead_speed_rpm, torque_knm)
    cutterhead_kwh = power_kw * push_time_s / _SECONDS_PER_HOUR / efficiency
    thrust_kwh = np.multiply(thrust_kn, ring_length_m) / _SECONDS_PER_HOUR
    base_kwh = np.multiply(base_power_kw, cycle_time_s) / _SECONDS_PER_HOUR
    return RingEnergy(
        cutterhead_power_kw=power_kw,
        cutterhead_energy_kwh=cutterhead_kwh,
        thrust_energy_kwh=thrust_kwh,
        base_energy_kwh=base_kwh,
        energy_kwh=cutterhead_kwh + thrust_kwh + base_kwh,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LiningConcrete(Record):
    """Concrete of one ring."""

    concrete_volume_m3: FloatArray


@method(
    "cycle.quantity.lining_concrete",
    formulas={"concrete_volume_m3": Formula("V_c", "pi / 4 * (D_o^2 - D_i^2) * L - V_pocket")},
    symbols={"pocket_volume_m3": "V_pocket"},
    possible={"pocket_volume_m3": (0.0, 100.0)},
    requires=(
        Require("ring_inner_diameter_m", lambda v: ~(v["ring_inner_diameter_m"] >= v["ring_outer_diameter_m"]), "must be smaller than the outside", "swapped?"),
        Require(
            "pocket_volume_m3",
            lambda v: ~(v["pocket_volume_m3"] > np.pi / 4 * (v["ring_outer_diameter_m"] ** 2 - v["ring_inner_diameter_m"] ** 2) * v["ring_length_m"]),
            "must be less than the whole ring",
        ),
    ),
    kind="identity",
    source=GEOMETRY,
)
def lining_concrete(ring_outer_diameter_m: Number, ring_inner_diameter_m: Number, ring_length_m: Number, pocket_volume_m3: Number = 0.0) -> LiningConcrete:
    """Return the concrete of one ring.

    Parameters
    ----------
    ring_outer_diameter_m : outside.
    ring_inner_diameter_m : inside.
    ring_length_m : at its centre.
    pocket_volume_m3 : bolt pockets, gasket grooves and recesses of the whole ring.
    """
    area_m2 = np.pi / 4 * (np.square(ring_outer_diameter_m) - np.square(ring_inner_diameter_m))
    return LiningConcrete(concrete_volume_m3=area_m2 * ring_length_m - pocket_volume_m3)
