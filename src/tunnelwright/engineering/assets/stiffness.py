"""Stiffness of a building against that of the ground, as the published charts take it, and springs under a beam."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.assets.sources import FRANZIUS_2006, POTTS_ADDENBROOKE_1997, VESIC_1961
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_NEEDS_CURVES = Remark(lambda _: True, "modification factors come from curves that the engineer reads from the paper; run an upper and a lower bound of EI")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RelativeStiffness(Record):
    """Stiffness of a building over that of the ground; the first has a unit as published."""

    relative_bending_stiffness_1_m: FloatArray
    relative_axial_stiffness: FloatArray


@method(
    "assets.building.potts_addenbrooke_1997",
    formulas={
        "relative_bending_stiffness_1_m": Formula("rho_rel", "EI_l / (E * (B_b / 2)^4)"),
        "relative_axial_stiffness": Formula("alpha_rel", "EA_l / (E * B_b / 2)"),
    },
    symbols={"axial_stiffness_kn_m": "EA_l"},
    possible={"axial_stiffness_kn_m": (0.0, np.inf)},
    remarks=(_NEEDS_CURVES,),
    kind="identity",
    source=POTTS_ADDENBROOKE_1997,
)
def potts_addenbrooke(bending_stiffness_knm2_m: Number, axial_stiffness_kn_m: Number, young_modulus_kpa: Number, building_width_m: Number) -> RelativeStiffness:
    """Return the relative stiffness of a building per metre along the tunnel.

    Parameters
    ----------
    bending_stiffness_knm2_m, axial_stiffness_kn_m : EI and EA per metre along the tunnel.
    young_modulus_kpa : secant stiffness of the ground at half the axis depth and 0.01 % of strain.
    building_width_m : across the tunnel.
    """
    half_m = np.asarray(building_width_m) / 2
    return RelativeStiffness(
        relative_bending_stiffness_1_m=bending_stiffness_knm2_m / (young_modulus_kpa * half_m**4),
        relative_axial_stiffness=axial_stiffness_kn_m / (young_modulus_kpa * half_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModifiedStiffness(Record):
    """Stiffness of a whole building over that of the ground, without unit."""

    relative_bending_stiffness: FloatArray
    relative_axial_stiffness: FloatArray


@method(
    "assets.building.franzius_2006",
    formulas={
        "relative_bending_stiffness": Formula("rho_mod", "EI / (E * z_0 * B_b^2 * L_b)"),
        "relative_axial_stiffness": Formula("alpha_rel", "EA / (E * B_b * L_b)"),
    },
    symbols={"building_length_m": "L_b"},
    possible={"building_length_m": (0.5, 2000.0), "axis_depth_m": (0.5, 400.0)},
    remarks=(_NEEDS_CURVES,),
    kind="identity",
    source=FRANZIUS_2006,
)
def franzius(
    bending_stiffness_knm2: Number,
    axial_stiffness_kn: Number,
    young_modulus_kpa: Number,
    building_width_m: Number,
    building_length_m: Number,
    axis_depth_m: Number,
) -> ModifiedStiffness:
    """Return the modified relative stiffness of a whole building.

    Parameters
    ----------
    bending_stiffness_knm2, axial_stiffness_kn : EI and EA of the whole building, not per metre.
    young_modulus_kpa : secant stiffness of the ground at half the axis depth and 0.01 % of strain.
    building_width_m, building_length_m : across and along the tunnel.
    axis_depth_m : surface to axis.

    Notes
    -----
    Not comparable with the stiffness of 1997, which has another power of the width.
    """
    area = np.multiply(building_width_m, building_length_m)
    return ModifiedStiffness(
        relative_bending_stiffness=bending_stiffness_knm2 / (young_modulus_kpa * np.asarray(axis_depth_m) * building_width_m * area),
        relative_axial_stiffness=axial_stiffness_kn / (young_modulus_kpa * area),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spring(Record):
    """Reaction of the ground per settlement and per length of line."""

    spring_stiffness_kpa: FloatArray


def vesic_spring_kpa(young_modulus_kpa: Number, poisson_ratio: Number, width_m: Number, bending_stiffness_knm2: Number) -> FloatArray:
    """Return Vesic's spring under a long beam.

    Parameters
    ----------
    young_modulus_kpa, poisson_ratio : of the ground.
    width_m : of the foundation, or outside diameter of a pipe.
    bending_stiffness_knm2 : of the beam.
    """
    modulus = np.asarray(young_modulus_kpa, dtype=np.float64)
    relative = modulus * np.power(width_m, 4) / bending_stiffness_knm2
    return 0.65 * np.power(relative, 1 / 12) * modulus / (1 - np.square(poisson_ratio))


@method(
    "assets.building.spring_vesic_1961",
    formulas={"spring_stiffness_kpa": Formula("k_s", "0.65 * (E * b^4 / EI)^(1 / 12) * E / (1 - nu^2)")},
    symbols={"foundation_width_m": "b"},
    possible={"foundation_width_m": (0.01, 200.0), "bending_stiffness_knm2": (1e-6, np.inf)},
    kind="mean",
    source=VESIC_1961,
)
def vesic_spring(young_modulus_kpa: Number, poisson_ratio: Number, foundation_width_m: Number, bending_stiffness_knm2: Number) -> Spring:
    """Return the stiffness of the springs under a beam on the ground.

    Parameters
    ----------
    young_modulus_kpa, poisson_ratio : of the ground.
    foundation_width_m : of the beam, or outside diameter of a pipe.
    bending_stiffness_knm2 : of the beam.

    Notes
    -----
    Derived for loads on the beam, not for ground that settles under it.
    """
    return Spring(spring_stiffness_kpa=vesic_spring_kpa(young_modulus_kpa, poisson_ratio, foundation_width_m, bending_stiffness_knm2))
