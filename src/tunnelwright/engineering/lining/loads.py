"""Loads on the ring: ground above it, reduced by arching or not, and its own weight."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.lining.sources import SELF_WEIGHT, TERZAGHI_1943, WEIGHT_ABOVE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, Rows, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayersAbove(Table):
    """Layers from the ground surface down to the crown, total unit weights."""

    thickness_m: FloatArray
    unit_weight_kn_m3: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Overburden(Record):
    """Vertical stress at the crown."""

    total_vertical_stress_kpa: FloatArray
    pore_pressure_kpa: FloatArray
    effective_vertical_stress_kpa: FloatArray


def _not_more_than_all_weights(values: Values) -> FloatArray:
    layers = values["layers"]
    weight = values["total_vertical_stress_kpa"] - values["surcharge_kpa"]
    return ~(weight < layers.thickness_m.sum(axis=-1) * layers.unit_weight_kn_m3.min(axis=-1) - 1e-9)


@method(
    "lining.load.overburden",
    found_by={
        "total_vertical_stress_kpa": Algorithm(
            "surcharge and free water plus the weight of all layers down to the crown",
            "sigma_v",
            {"no less than if all were the lightest": _not_more_than_all_weights},
        ),
        "pore_pressure_kpa": Algorithm(
            "hydrostatic below the water level, 0 above and in dry ground", "u", {"it does not suck": lambda v: ~(v["pore_pressure_kpa"] < 0)}
        ),
    },
    formulas={"effective_vertical_stress_kpa": Formula("sigma'_v", "sigma_v - u")},
    remarks=(Remark(lambda v: v["effective_vertical_stress_kpa"] < 0, "effective vertical stress is negative: the water would lift the ground above"),),
    kind="upper bound",
    source=WEIGHT_ABOVE,
)
def overburden(
    layers: LayersAbove, surcharge_kpa: Number = 0.0, water_table_depth_m: Number | None = None, water_unit_weight_kn_m3: Number = 9.81
) -> Overburden:
    """Return the vertical stress at the crown from the whole weight above, without any arching.

    Parameters
    ----------
    layers : from the ground surface down to the crown, total unit weights.
    surcharge_kpa : on the surface.
    water_table_depth_m : below the surface; negative is free water above it; dry when left out.
    water_unit_weight_kn_m3 : of the water.
    """
    dry = water_table_depth_m is None
    depth_m = np.inf if water_table_depth_m is None else np.asarray(water_table_depth_m)
    crown_m = layers.thickness_m.sum(axis=-1)
    with np.errstate(invalid="ignore"):
        free_water_m = np.zeros(()) if dry else np.maximum(0.0, -depth_m)
        head_m = np.zeros_like(crown_m) if dry else np.maximum(0.0, crown_m - depth_m)
    total = surcharge_kpa + water_unit_weight_kn_m3 * free_water_m + (layers.thickness_m * layers.unit_weight_kn_m3).sum(axis=-1)
    pore = water_unit_weight_kn_m3 * head_m
    return Overburden(total_vertical_stress_kpa=total, pore_pressure_kpa=pore, effective_vertical_stress_kpa=total - pore)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiloLayers(Table):
    """Layers from the ground surface down to the crown; below water with their effective unit weight."""

    thickness_m: FloatArray
    unit_weight_kn_m3: FloatArray
    cohesion_kpa: FloatArray
    friction_angle_rad: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiloLoad(Record):
    """Vertical load on the ring reduced by arching, and its floor."""

    silo_half_width_m: FloatArray
    silo_stress_kpa: FloatArray
    floor_load_kpa: FloatArray
    vertical_load_kpa: FloatArray


def lowest(thickness_m: FloatArray, column: FloatArray) -> FloatArray:
    """Return a column's value in the lowest layer that has thickness."""
    count = thickness_m.shape[-1]
    last = count - 1 - np.argmax(np.flip(thickness_m > 0, axis=-1), axis=-1)
    return np.take_along_axis(column, last[..., None], axis=-1)[..., 0]


@method(
    "lining.load.silo_terzaghi_1943",
    formulas={
        "silo_half_width_m": Formula("B_1", "D_o / 2 / tan(pi / 8 + phi_a / 4)"),
        "vertical_load_kpa": Formula("P_v", "max(p_silo, p_floor)"),
    },
    found_by={
        "silo_stress_kpa": Rows(
            "layers",
            "p_silo",
            "max(0, B_1 * (gamma - c / B_1) / (K * tan(phi)) * (1 - exp(-K * tan(phi) * t / B_1)) + previous * exp(-K * tan(phi) * t / B_1)"
            " if phi > 0 else previous + (gamma - c / B_1) * t)",
            start="q",
        ),
        "floor_load_kpa": Algorithm(
            "least height of soil on the ring times the unit weight of the lowest layer", "p_floor", {"it does not lift": lambda v: ~(v["floor_load_kpa"] < 0)}
        ),
    },
    derived={"minimum_soil_load_height_m": Formula("H_min", "2 * D_o")},
    symbols={
        "arching_friction_angle_rad": "phi_a",
        "unit_weight_kn_m3": "gamma",
        "cohesion_kpa": "c",
        "friction_angle_rad": "phi",
        "minimum_soil_load_height_m": "H_min",
    },
    possible={"arching_friction_angle_rad": (0.0, 0.9), "lateral_coefficient": (0.1, 5.0), "minimum_soil_load_height_m": (0.0, 60.0)},
    requires=(Require("layers", lambda v: np.all(v["layers"].thickness_m.sum(axis=-1) > 0), "must have thickness"),),
    remarks=(
        Remark(lambda v: v["floor_load_kpa"] >= v["silo_stress_kpa"], "the least load governs, not the silo"),
        Remark(
            lambda v: v["layers"].thickness_m.sum(axis=-1) < 1.5 * v["ring_outer_diameter_m"],
            "cover is below 1.5 diameters: no arching should be counted on, take the whole weight",
        ),
    ),
    kind="mean",
    source=TERZAGHI_1943,
)
def silo(
    ring_outer_diameter_m: Number,
    arching_friction_angle_rad: Number,
    layers: SiloLayers,
    surcharge_kpa: Number = 0.0,
    lateral_coefficient: Number = 1.0,
    minimum_soil_load_height_m: Number = DERIVED,
) -> SiloLoad:
    """Return the vertical load on the ring with arching in the ground above it.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    arching_friction_angle_rad : of the ground beside the ring, for the width of the silo.
    layers : from the surface down to the crown, effective unit weights below water.
    surcharge_kpa : on the surface.
    lateral_coefficient : horizontal over vertical stress on the sliding planes, not at rest.
    minimum_soil_load_height_m : least height of soil that loads the ring; two diameters when left out, 0 for none.

    Notes
    -----
    Only in dense sand or stiff clay with a cover of 1.5 to 2 diameters and more, never in soft clay or made ground or where a later excavation may
    disturb the arch. Water is added afterwards, unreduced. A layer that carries itself carries nothing above it.
    """
    half_width = np.asarray(ring_outer_diameter_m) / 2 / np.tan(np.pi / 8 + np.asarray(arching_friction_angle_rad) / 4)
    stress = np.asarray(surcharge_kpa)
    for at in range(layers.thickness_m.shape[-1]):
        thickness, friction = layers.thickness_m[..., at], np.tan(layers.friction_angle_rad[..., at])
        net_weight = layers.unit_weight_kn_m3[..., at] - layers.cohesion_kpa[..., at] / half_width
        rate = lateral_coefficient * friction / half_width
        fading = np.exp(-rate * thickness)
        with np.errstate(divide="ignore", invalid="ignore"):
            arched = net_weight / rate * (1 - fading) + stress * fading
        stress = np.maximum(0.0, np.where(friction > 0, arched, stress + net_weight * thickness))
    floor = minimum_soil_load_height_m * lowest(layers.thickness_m, layers.unit_weight_kn_m3)
    return SiloLoad(silo_half_width_m=half_width, silo_stress_kpa=stress, floor_load_kpa=floor, vertical_load_kpa=np.maximum(stress, floor))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingSelfWeight(Record):
    """Weight of the ring per area of its middle surface and per length of tunnel."""

    area_load_kpa: FloatArray
    ring_weight_kn_m: FloatArray


def ring_weight(ring_outer_diameter_m: Number, lining_thickness_m: Number, concrete_unit_weight_kn_m3: Number) -> FloatArray:
    """Return the weight of a ring per length of tunnel."""
    return np.asarray(concrete_unit_weight_kn_m3 * np.pi * np.asarray(lining_thickness_m) * np.subtract(ring_outer_diameter_m, lining_thickness_m))


RING_HAS_A_HOLE = Require("lining_thickness_m", lambda v: 2 * v["lining_thickness_m"] < v["ring_outer_diameter_m"], "must be less than half the diameter")


@method(
    "lining.load.self_weight",
    formulas={"area_load_kpa": Formula("g", "gamma_l * t_l"), "ring_weight_kn_m": Formula("W_l", "gamma_l * pi * t_l * (D_o - t_l)")},
    requires=(RING_HAS_A_HOLE,),
    kind="identity",
    source=SELF_WEIGHT,
)
def self_weight(ring_outer_diameter_m: Number, lining_thickness_m: Number, concrete_unit_weight_kn_m3: Number = 25.0) -> RingSelfWeight:
    """Return the weight of the ring, per area of its middle surface and per length of tunnel.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    lining_thickness_m : of the ring.
    concrete_unit_weight_kn_m3 : of the reinforced concrete.
    """
    return RingSelfWeight(
        area_load_kpa=np.multiply(concrete_unit_weight_kn_m3, lining_thickness_m),
        ring_weight_kn_m=ring_weight(ring_outer_diameter_m, lining_thickness_m, concrete_unit_weight_kn_m3),
    )
