"""Upper limits of the face pressure: what neither lifts the ground nor opens a crack in it.

All but one are pressures at the crown of the bore.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.declared import SYMBOLS, angle_in_radians, thickness_given
from tunnelwright.engineering.face.sources import DAUB_2016, DAVIS_1980, EFFECTIVE_UPPER, HEAVE_PRISM, MORI_TAMURA_1987
from tunnelwright.engineering.face.undrained import DERIVED_CRITICAL_NUMBER, UNDRAINED_POSSIBLE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Rows, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Table, Values

_POSSIBLE: Final = UNDRAINED_POSSIBLE | {"stress_factor": (0.1, 1.0), "shear_factor": (1.0, 10.0), "resistance_factor": (0.0, 2.0)}
_RAISED_FACTOR: Final = Remark(lambda values: values["stress_factor"] > 0.9, "factor on the vertical stress above 0.9: only by a signed decision")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CrownLimit(Record):
    """Greatest face pressure at the crown."""

    face_pressure_limit_crown_kpa: FloatArray


@method(
    "face.upper.vertical_stress_0_9",
    formulas={"face_pressure_limit_crown_kpa": Formula("s_max", "f_v * sigma_v")},
    symbols=SYMBOLS,
    possible=_POSSIBLE,
    remarks=(_RAISED_FACTOR,),
    kind="lower bound",
    source=DAUB_2016,
)
def vertical_stress_limit(total_vertical_stress_crown_kpa: Number, stress_factor: Number = 0.9) -> CrownLimit:
    """Return the greatest face pressure at the crown as a share of the total vertical stress there.

    Parameters
    ----------
    total_vertical_stress_crown_kpa : least credible, without surcharge, with free water.
    stress_factor : share of it.

    Notes
    -----
    In deep water the limit can fall below the water pressure; that is a property of the formula, not of the ground.
    """
    return CrownLimit(face_pressure_limit_crown_kpa=np.multiply(stress_factor, total_vertical_stress_crown_kpa))


@method(
    "face.upper.effective_part",
    formulas={"face_pressure_limit_crown_kpa": Formula("s_max", "u_crown + f_v * (sigma_v - u_crown)")},
    symbols=SYMBOLS,
    possible=_POSSIBLE | {"pore_pressure_crown_kpa": (0.0, 5000.0)},
    remarks=(
        _RAISED_FACTOR,
        Remark(
            lambda values: values["total_vertical_stress_crown_kpa"] - values["pore_pressure_crown_kpa"] < 30,
            "effective vertical stress at the crown below 30 kPa: danger of blow-out",
        ),
    ),
    kind="screening",
    source=EFFECTIVE_UPPER,
)
def effective_part_limit(total_vertical_stress_crown_kpa: Number, pore_pressure_crown_kpa: Number, stress_factor: Number = 0.9) -> CrownLimit:
    """Return the greatest face pressure at the crown as water pressure plus a share of the effective stress.

    Parameters
    ----------
    total_vertical_stress_crown_kpa : least credible, without surcharge, with free water.
    pore_pressure_crown_kpa : at the crown.
    stress_factor : share of the effective stress.
    """
    water = np.asarray(pore_pressure_crown_kpa, dtype=np.float64)
    return CrownLimit(face_pressure_limit_crown_kpa=water + stress_factor * (total_vertical_stress_crown_kpa - water))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoverLayers(Table):
    """Ground above the crown, top down, with total and effective weight."""

    thickness_m: FloatArray
    unit_weight_kn_m3: FloatArray
    effective_unit_weight_kn_m3: FloatArray
    cohesion_kpa: FloatArray
    friction_angle_rad: FloatArray
    earth_pressure_coefficient_at_rest: FloatArray | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeaveLimit(Record):
    """Greatest face pressure that the weight and the shear of the cover hold down."""

    total_vertical_stress_crown_kpa: FloatArray
    shear_resistance_kpa: FloatArray
    face_pressure_limit_crown_kpa: FloatArray


@method(
    "face.upper.heave_prism",
    formulas={"face_pressure_limit_crown_kpa": Formula("s_max", "sigma_v + tau_h")},
    found_by={
        "total_vertical_stress_crown_kpa": Rows("layers", "sigma_v", "previous + gamma * h", start="gamma_w * h_w"),
        "shear_resistance_kpa": Algorithm(
            "2 / (F D) times the integral of cohesion and at-rest friction over the cover, the effective stress growing layer by layer from the bed",
            "tau_h",
            {"shear holds down, it never lifts": lambda values: ~(values["shear_resistance_kpa"] < 0)},
        ),
    },
    symbols=SYMBOLS | {"free_water_height_m": "h_w", "shear_factor": "F", "shear_resistance_kpa": "tau_h", "earth_pressure_coefficient_at_rest": "K_0"},
    possible=_POSSIBLE,
    requires=(thickness_given("layers"), angle_in_radians("layers.friction_angle_rad")),
    remarks=(
        Remark(
            lambda values: _effective_at_crown(values) < 30,
            "effective vertical stress at the crown below 30 kPa: danger of blow-out",
        ),
    ),
    kind="upper bound",
    source=HEAVE_PRISM,
)
def heave_prism_limit(
    excavation_diameter_m: Number,
    layers: CoverLayers,
    free_water_height_m: Number = 0.0,
    water_unit_weight_kn_m3: Number = 9.81,
    shear_factor: Number = 1.5,
) -> HeaveLimit:
    """Return the face pressure that would lift a prism of ground as wide as the bore; for information, it never raises the limit.

    Parameters
    ----------
    excavation_diameter_m : over the cutters, width of the prism.
    layers : ground above the crown, top down; coefficient at rest left out: one minus the sine of the friction angle.
    free_water_height_m : above the bed.
    water_unit_weight_kn_m3 : of the free water.
    shear_factor : on the shear on both sides.
    """
    thickness_m, weight = layers.thickness_m, layers.effective_unit_weight_kn_m3
    at_rest = 1 - np.sin(layers.friction_angle_rad)
    if layers.earth_pressure_coefficient_at_rest is not None:
        at_rest = np.where(np.isnan(layers.earth_pressure_coefficient_at_rest), at_rest, layers.earth_pressure_coefficient_at_rest)
    mean_stress = np.cumsum(weight * thickness_m, axis=-1) - weight * thickness_m / 2
    shear = np.sum(thickness_m * (layers.cohesion_kpa + at_rest * np.tan(layers.friction_angle_rad) * mean_stress), axis=-1)
    resistance = 2 / np.asarray(excavation_diameter_m) * shear / shear_factor
    stress = np.multiply(water_unit_weight_kn_m3, free_water_height_m) + np.sum(layers.unit_weight_kn_m3 * thickness_m, axis=-1)
    return HeaveLimit(total_vertical_stress_crown_kpa=stress, shear_resistance_kpa=resistance, face_pressure_limit_crown_kpa=stress + resistance)


def _effective_at_crown(values: Values) -> FloatArray:
    layers = values["layers"]
    return np.asarray(np.sum(layers.thickness_m * layers.effective_unit_weight_kn_m3, axis=-1))


@method(
    "face.upper.undrained_blowout",
    formulas={"face_pressure_limit_crown_kpa": Formula("s_max", "sigma_v + N_c * c_u / F")},
    derived={"critical_stability_number": DERIVED_CRITICAL_NUMBER},
    symbols=SYMBOLS,
    possible=_POSSIBLE,
    kind="lower bound",
    source=DAVIS_1980,
)
def undrained_blowout_limit(
    excavation_diameter_m: Number,
    cover_m: Number,
    total_vertical_stress_crown_kpa: Number,
    undrained_strength_kpa: Number,
    strength_factor: Number = 1.5,
    critical_stability_number: Number = DERIVED,
) -> CrownLimit:
    """Return the face pressure at the crown that would burst through clay; it never raises the limit from the vertical stress.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    cover_m : crown to ground or bed.
    total_vertical_stress_crown_kpa : least credible, without surcharge, with free water.
    undrained_strength_kpa : mean over the cover and the face.
    strength_factor : on the strength.
    critical_stability_number : left out, the lower bound for this cover.

    Notes
    -----
    The mirror of the support limit, tested at the crown, because a medium lighter than the ground presses most there.
    """
    strength = np.divide(np.multiply(critical_stability_number, undrained_strength_kpa), strength_factor)
    return CrownLimit(face_pressure_limit_crown_kpa=total_vertical_stress_crown_kpa + strength)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FractureLimit(Record):
    """Pressure at which a crack opens in the ground."""

    minor_total_stress_kpa: FloatArray
    face_pressure_limit_kpa: FloatArray


@method(
    "face.upper.fracture",
    formulas={
        "minor_total_stress_kpa": Formula("sigma_3", "min(sigma_v, K_0 * (sigma_v - u) + u)"),
        "face_pressure_limit_kpa": Formula("s_max", "sigma_3 + f_c * c_u"),
    },
    symbols=SYMBOLS
    | {
        "total_vertical_stress_kpa": "sigma_v",
        "pore_pressure_kpa": "u",
        "earth_pressure_coefficient_at_rest": "K_0",
        "resistance_factor": "f_c",
        "face_pressure_limit_kpa": "s_max",
    },
    possible=_POSSIBLE | {"total_vertical_stress_kpa": (0.0, 10000.0), "pore_pressure_kpa": (0.0, 5000.0), "undrained_strength_kpa": (0.0, 2000.0)},
    kind="lower bound",
    source=MORI_TAMURA_1987,
)
def fracture_limit(
    total_vertical_stress_kpa: Number,
    pore_pressure_kpa: Number,
    earth_pressure_coefficient_at_rest: Number,
    undrained_strength_kpa: Number = 0.0,
    resistance_factor: Number = 0.0,
) -> FractureLimit:
    """Return the pressure at which the medium splits the ground, at the level looked at.

    Parameters
    ----------
    total_vertical_stress_kpa : at that level.
    pore_pressure_kpa : at that level.
    earth_pressure_coefficient_at_rest : effective.
    undrained_strength_kpa : of clay.
    resistance_factor : share of the strength that resists; 0 none, 2 at most.
    """
    water = np.asarray(pore_pressure_kpa, dtype=np.float64)
    minor = np.minimum(total_vertical_stress_kpa, earth_pressure_coefficient_at_rest * (total_vertical_stress_kpa - water) + water)
    return FractureLimit(minor_total_stress_kpa=minor, face_pressure_limit_kpa=minor + np.multiply(resistance_factor, undrained_strength_kpa))
