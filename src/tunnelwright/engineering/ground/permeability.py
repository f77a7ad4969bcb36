"""Permeability from grain size, of layers together, and what it means for drainage during an advance."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.ground.rows import summed
from tunnelwright.engineering.ground.sources import CARRIER_2003, DARCY, DRAINAGE, HAZEN_1892
from tunnelwright.engineering.ground.water import PermeableLayers
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray

_GRAVITY_M_S2: Final = 9.81
DRAINED_ABOVE_M_S: Final = 1e-6
UNDRAINED_BELOW_M_S: Final = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Permeability(Record):
    """Permeability to water."""

    permeability_m_s: FloatArray


@method(
    "ground.permeability.hazen_1892",
    formulas={"permeability_m_s": Formula("k", "0.01 * C * d_10^2 * (0.70 + 0.03 * T)")},
    symbols={"hazen_factor": "C", "temperature_degc": "T"},
    possible={"hazen_factor": (0.01, 10.0), "temperature_degc": (0.0, 60.0)},
    valid={
        "grain_size_d10_mm": Range(0.1, 3.0, "clean sand"),
        "uniformity_coefficient": Range(1.0, 5.0, "uniform sand"),
        "hazen_factor": Range(0.4, 1.5, "range of the factor"),
    },
    kind="screening",
    source=HAZEN_1892,
    dimensional=True,
)
def hazen(grain_size_d10_mm: Number, hazen_factor: Number = 1.0, temperature_degc: Number = 10.0, uniformity_coefficient: Number | None = None) -> Permeability:
    """Return the permeability of clean sand from its grain size, within a factor of three.

    Parameters
    ----------
    grain_size_d10_mm : size below which a tenth of the mass lies.
    hazen_factor : in 1/(mm s) hundredths.
    temperature_degc : of the water.
    uniformity_coefficient : decides only whether the estimate is within its limits.
    """
    return Permeability(permeability_m_s=0.01 * hazen_factor * np.square(grain_size_d10_mm) * (0.70 + 0.03 * np.asarray(temperature_degc)))


@method(
    "ground.permeability.carrier_2003",
    formulas={"permeability_m_s": Formula("k", "9.81 / nu_k * e^3 / (1 + e) / (C_KC * S_0^2)")},
    symbols={"shape_constant": "C_KC", "specific_surface_1_m": "S_0"},
    possible={"specific_surface_1_m": (1.0, 1e9), "shape_constant": (0.1, 100.0)},
    kind="mean",
    source=CARRIER_2003,
    dimensional=True,
)
def carrier(void_ratio: Number, specific_surface_1_m: Number, shape_constant: Number = 4.8, kinematic_viscosity_m2_s: Number = 1.0e-6) -> Permeability:
    """Return the permeability of sand after Kozeny and Carman.

    Parameters
    ----------
    void_ratio : volume of voids over volume of grains.
    specific_surface_1_m : surface of the grains over their volume, 6/d for spheres.
    shape_constant : of the pores.
    kinematic_viscosity_m2_s : of the water.
    """
    voids = np.power(void_ratio, 3) / np.add(1, void_ratio)
    return Permeability(permeability_m_s=_GRAVITY_M_S2 / np.asarray(kinematic_viscosity_m2_s) * voids / (shape_constant * np.square(specific_surface_1_m)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayeredPermeability(Record):
    """Permeability of layers together, along and across them."""

    permeability_along_m_s: FloatArray
    permeability_across_m_s: FloatArray


@method(
    "ground.permeability.layers",
    found_by={
        "permeability_along_m_s": Algorithm("mean of the permeabilities weighted by thickness", "k_h"),
        "permeability_across_m_s": Algorithm(
            "whole thickness over the sum of thickness over permeability",
            "k_v",
            {"no more across than along": lambda v: ~(v["permeability_across_m_s"] > v["permeability_along_m_s"] * (1 + 1e-12))},
        ),
    },
    possible={"permeability_m_s": (1e-16, 1.0)},
    requires=(Require("layers", lambda v: np.all(np.sum(v["layers"].thickness_m, axis=-1) > 0), "must have thickness"),),
    kind="identity",
    source=DARCY,
)
def layered_permeability(layers: PermeableLayers) -> LayeredPermeability:
    """Return the permeability of layers together.

    Parameters
    ----------
    layers : in any order.
    """
    whole = np.sum(layers.thickness_m, axis=-1)
    return LayeredPermeability(
        permeability_along_m_s=summed(layers.thickness_m, layers.permeability_m_s) / whole,
        permeability_across_m_s=whole / summed(layers.thickness_m, 1 / layers.permeability_m_s),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drainage(Record):
    """Which analysis governs: drained, undrained, or the worse of both."""

    drainage: TextArray


@method(
    "ground.drainage.permeability_class",
    found_by={"drainage": Algorithm("drained above 1e-6 m/s, undrained below 1e-8 m/s, both between")},
    kind="screening",
    source=DRAINAGE,
    dimensional=True,
)
def drainage_class(permeability_m_s: Number) -> Drainage:
    """Return whether ground drains during an advance at usual rates.

    Parameters
    ----------
    permeability_m_s : of the ground at the face.
    """
    permeability = np.asarray(permeability_m_s)
    return Drainage(drainage=np.where(permeability > DRAINED_ABOVE_M_S, "drained", np.where(permeability < UNDRAINED_BELOW_M_S, "undrained", "both")))
