"""Vertical and horizontal stresses in layered ground, with free water over it or a water table in it.

~~~~~~~~~~ free water, height h_w over the bed
========== ground or bed, depth 0, surcharge q
  gamma          | layer 1
---------------- water table, depth z_w (0 under free water)
  gamma_sat      | layer 1, 2, ... the last one reaches down
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.ground.rows import interpolated, overlap_m, summed, tops_and_bases
from tunnelwright.engineering.ground.sources import EFFECTIVE_STRESS
from tunnelwright.engineering.ground.water import PorePressures
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightLayers(Table):
    """Layers from the ground or bed down; leading axes run over stations."""

    thickness_m: FloatArray
    unit_weight_kn_m3: FloatArray
    unit_weight_saturated_kn_m3: FloatArray | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayeredStress(Record):
    """Stresses at depths; the horizontal ones are NaN without a coefficient at rest."""

    total_vertical_stress_kpa: FloatArray
    pore_pressure_kpa: FloatArray
    effective_vertical_stress_kpa: FloatArray
    effective_horizontal_stress_kpa: FloatArray
    total_horizontal_stress_kpa: FloatArray


def _saturated(layers: WeightLayers) -> FloatArray:
    """Return the weight below the water table; where none is given the same as above."""
    if layers.unit_weight_saturated_kn_m3 is None:
        return layers.unit_weight_kn_m3
    return np.where(np.isnan(layers.unit_weight_saturated_kn_m3), layers.unit_weight_kn_m3, layers.unit_weight_saturated_kn_m3)


def _saturated_is_heavier(values: Values) -> bool:
    layers = values["layers"]
    return bool(np.all((_saturated(layers) >= layers.unit_weight_kn_m3) | np.isnan(layers.unit_weight_kn_m3)))


def _between_lightest_and_heaviest(values: Values) -> FloatArray:
    layers = values["layers"]
    weights = np.concatenate([layers.unit_weight_kn_m3, _saturated(layers)], axis=-1)
    above = values["surcharge_kpa"] + values["water_unit_weight_kn_m3"] * values["free_water_height_m"]
    own = values["total_vertical_stress_kpa"] - above
    depth = values["depth_m"]
    slack = 1e-9 * (1 + np.abs(own))
    return np.isnan(own) | ((own >= depth * weights.min() - slack) & (own <= depth * weights.max() + slack))


@method(
    "ground.stress.layered",
    found_by={
        "total_vertical_stress_kpa": Algorithm(
            "surcharge plus weight of free water plus, layer by layer, bulk weight above and saturated weight below the water table",
            "sigma_v",
            {"between the lightest and the heaviest layer alone": _between_lightest_and_heaviest},
        ),
        "pore_pressure_kpa": Algorithm(
            "hydrostatic below the water table or free water, 0 above; within a measured profile by straight lines between readings", "u"
        ),
    },
    formulas={
        "effective_vertical_stress_kpa": Formula("sigma'_v", "sigma_v - u"),
        "effective_horizontal_stress_kpa": Formula("sigma'_h", "K_0 * sigma'_v"),
        "total_horizontal_stress_kpa": Formula("sigma_h", "K_0 * sigma'_v + u"),
    },
    possible={"water_table_depth_m": (0.0, 300.0), "depth_m": (0.0, 1000.0)},
    requires=(
        Require(
            "water_table_depth_m",
            lambda v: np.all((v["free_water_height_m"] == 0) | (v["water_table_depth_m"] == 0)),
            "must be 0 under free water, with free_water_height_m over the bed",
        ),
        Require("layers", _saturated_is_heavier, "must have a saturated weight no less than the bulk weight", "never give the submerged weight"),
        Require(
            "pore_pressure_profile",
            lambda v: v["pore_pressure_profile"] is None or np.all(np.diff(v["pore_pressure_profile"].depth_m) >= 0),
            "must run from the top down",
        ),
    ),
    remarks=(Remark(lambda v: v["effective_vertical_stress_kpa"] < 0, "effective vertical stress is negative: the water would lift the ground above"),),
    kind="identity",
    source=EFFECTIVE_STRESS,
)
def layered_stress(
    layers: WeightLayers,
    water_table_depth_m: Number,
    depth_m: Number,
    free_water_height_m: Number = 0.0,
    surcharge_kpa: Number = 0.0,
    pore_pressure_profile: PorePressures | None = None,
    water_unit_weight_kn_m3: Number = 9.81,
    earth_pressure_coefficient_at_rest: Number | None = None,
) -> LayeredStress:
    """Return the stresses at depths in layered ground.

    Parameters
    ----------
    layers : from the ground or bed down; the last one with thickness reaches down without limit.
    water_table_depth_m : below ground; 0 under free water.
    depth_m : below ground or bed, one or many.
    free_water_height_m : over the bed.
    surcharge_kpa : on the ground or bed.
    pore_pressure_profile : measured; used instead of the hydrostatic pressure between its first and last depth.
    water_unit_weight_kn_m3 : one for the whole project.
    earth_pressure_coefficient_at_rest : effective; without it there are no horizontal stresses.

    Notes
    -----
    The weight of free water acts as total stress on the bed and as pore pressure alike, so the effective stress does not feel it.
    """
    top, base = tops_and_bases(layers.thickness_m, last_reaches_down=True)
    dry = overlap_m(top, base, 0.0, np.minimum(depth_m, water_table_depth_m))
    wet = overlap_m(top, base, water_table_depth_m, depth_m)
    weight_kpa = summed(dry, layers.unit_weight_kn_m3) + summed(wet, _saturated(layers))
    total_kpa = surcharge_kpa + water_unit_weight_kn_m3 * np.asarray(free_water_height_m) + weight_kpa
    below_head_m = np.where(np.less(depth_m, water_table_depth_m), 0.0, np.subtract(depth_m, water_table_depth_m) + free_water_height_m)
    pore_kpa = water_unit_weight_kn_m3 * below_head_m
    if pore_pressure_profile is not None:
        measured = interpolated(pore_pressure_profile.depth_m, pore_pressure_profile.pore_pressure_kpa, depth_m)
        pore_kpa = np.where(np.isnan(measured), pore_kpa, measured)
    effective_kpa = total_kpa - pore_kpa
    at_rest = np.nan if earth_pressure_coefficient_at_rest is None else earth_pressure_coefficient_at_rest
    return LayeredStress(
        total_vertical_stress_kpa=total_kpa,
        pore_pressure_kpa=pore_kpa,
        effective_vertical_stress_kpa=effective_kpa,
        effective_horizontal_stress_kpa=at_rest * effective_kpa,
        total_horizontal_stress_kpa=at_rest * effective_kpa + pore_kpa,
    )
