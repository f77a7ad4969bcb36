"""Uplift of a ring in fresh grout, and how long a length floats."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.grout.sources import BEZUIJEN_TALMON, GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

MM_S_PER_M_MIN: Final = 60000.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FreshUplift(Record):
    """Forces on a ring in fresh grout, per metre."""

    ring_weight_kn_m: FloatArray
    grout_uplift_kn_m: FloatArray
    net_uplift_kn_m: FloatArray
    holding_yield_stress_kpa: FloatArray


@method(
    "grout.uplift.fresh",
    formulas={
        "ring_weight_kn_m": Formula("W_l", "gamma_l * pi / 4 * (D_o^2 - D_i^2) + w_b"),
        "grout_uplift_kn_m": Formula("F_up", "gamma_g * pi / 4 * D_o^2 - 2 * tau_y * D_o^2 / d_a - 2 * tau_y * D_o"),
        "net_uplift_kn_m": Formula("q_net", "max(0, F_up - W_l)"),
        "holding_yield_stress_kpa": Formula("tau_hold", "max(0, (gamma_g * pi / 4 * D_o^2 - W_l) / (2 * D_o^2 / d_a + 2 * D_o))"),
    },
    symbols={"backup_weight_kn_m": "w_b"},
    requires=(Require("ring_inner_diameter_m", lambda v: v["ring_inner_diameter_m"] < v["ring_outer_diameter_m"], "must be less than ring_outer_diameter_m"),),
    remarks=(
        Remark(
            lambda v: v["net_uplift_kn_m"] > 0,
            "the grout lifts the ring: bolts, tail and thrust must hold it down until the grout has the holding yield stress",
        ),
    ),
    kind="mean",
    source=BEZUIJEN_TALMON,
)
def fresh_uplift(
    ring_outer_diameter_m: Number,
    ring_inner_diameter_m: Number,
    annulus_thickness_m: Number,
    grout_unit_weight_kn_m3: Number,
    yield_stress_kpa: Number = 0.0,
    concrete_unit_weight_kn_m3: Number = 25.0,
    backup_weight_kn_m: Number = 0.0,
) -> FreshUplift:
    """Return weight and uplift of a ring in fresh grout, and the yield stress that would hold it.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    ring_inner_diameter_m : of the ring.
    annulus_thickness_m : mean.
    grout_unit_weight_kn_m3 : of the fresh grout.
    yield_stress_kpa : now, taken as fully mobilised against the rise.
    concrete_unit_weight_kn_m3 : of the lining.
    backup_weight_kn_m : share of the back-up that stands on the ring.

    Notes
    -----
    A rising ring drives grout from crown to invert: the shear takes 8 tau R^2 / d from the pressure and 4 tau R on the ring itself. Yield stress holds,
    it never pushes down.
    """
    outer_m2 = np.square(ring_outer_diameter_m)
    weight = concrete_unit_weight_kn_m3 * np.pi / 4 * (outer_m2 - np.square(ring_inner_diameter_m)) + backup_weight_kn_m
    buoyancy = grout_unit_weight_kn_m3 * np.pi / 4 * outer_m2
    per_stress_m = 2 * outer_m2 / annulus_thickness_m + 2 * np.asarray(ring_outer_diameter_m)
    uplift = buoyancy - yield_stress_kpa * per_stress_m
    return FreshUplift(
        ring_weight_kn_m=weight,
        grout_uplift_kn_m=uplift,
        net_uplift_kn_m=np.maximum(0.0, uplift - weight),
        holding_yield_stress_kpa=np.maximum(0.0, (buoyancy - weight) / per_stress_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FreshLength(Record):
    """Length behind the tail on which the grout does not hold yet."""

    fresh_length_m: FloatArray


@method(
    "grout.uplift.fresh_length",
    formulas={"fresh_length_m": Formula("L_f", "v * t_hold / 60000")},
    symbols={"holding_time_s": "t_hold"},
    kind="mean",
    source=GEOMETRY,
)
def fresh_length(advance_rate_mm_min: Number, holding_time_s: Number) -> FreshLength:
    """Return the length behind the tail on which the ring still floats.

    Parameters
    ----------
    advance_rate_mm_min : mean with stops, not the speed of the push.
    holding_time_s : until the yield stress reaches what holds the ring.
    """
    return FreshLength(fresh_length_m=np.multiply(advance_rate_mm_min, holding_time_s) / MM_S_PER_M_MIN)
