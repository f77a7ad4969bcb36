"""Strength and stress history of soils from field tests; every correlation adds spread of its own."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.ground.sources import (
    HATANAKA_UCHIDA_1996,
    KULHAWY_MAYNE_1990,
    LADD_1977,
    LIAO_WHITMAN_1986,
    ROBERTSON_CABAL_2015,
    STRENGTH_WITH_DEPTH,
    STROUD_1974,
)
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record

_OVERBURDEN_FACTOR_MAX: Final = 1.7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UndrainedStrength(Record):
    """Undrained shear strength."""

    undrained_strength_kpa: FloatArray


@method(
    "ground.undrained_strength.linear_depth",
    formulas={"undrained_strength_kpa": Formula("c_u", "max(s_min, s_0 + k * (H_0 - H))")},
    symbols={
        "undrained_strength_reference_kpa": "s_0",
        "reference_level_m": "H_0",
        "undrained_strength_gradient_kpa_m": "k",
        "undrained_strength_min_kpa": "s_min",
    },
    kind="identity",
    source=STRENGTH_WITH_DEPTH,
)
def linear_depth(
    undrained_strength_reference_kpa: Number,
    reference_level_m: Number,
    undrained_strength_gradient_kpa_m: Number,
    level_m: Number,
    undrained_strength_min_kpa: Number = 0.0,
) -> UndrainedStrength:
    """Return an undrained strength that grows linearly below a reference level.

    Parameters
    ----------
    undrained_strength_reference_kpa : at the reference level.
    reference_level_m : a level, not a depth.
    undrained_strength_gradient_kpa_m : per metre down.
    level_m : where.
    undrained_strength_min_kpa : nowhere less than this.
    """
    grown = undrained_strength_reference_kpa + undrained_strength_gradient_kpa_m * np.subtract(reference_level_m, level_m)
    return UndrainedStrength(undrained_strength_kpa=np.maximum(grown, undrained_strength_min_kpa))


def _more_than_overburden(field: str) -> Require:
    return Require(
        field,
        lambda v: np.all(~(v["cone_resistance_kpa"] < v["total_vertical_stress_kpa"])),
        "must not be less than the total vertical stress",
        "is the resistance in kPa, not MPa?",
    )


@method(
    "ground.undrained_strength.cone",
    formulas={"undrained_strength_kpa": Formula("c_u", "(q_t - sigma_v) / N_kt")},
    symbols={"cone_factor": "N_kt"},
    possible={"cone_factor": (1.0, 100.0)},
    valid={"cone_factor": Range(10.0, 18.0, "range of the factor in clay")},
    requires=(_more_than_overburden("cone_resistance_kpa"),),
    kind="mean",
    source=ROBERTSON_CABAL_2015,
)
def strength_from_cone(cone_resistance_kpa: Number, total_vertical_stress_kpa: Number, cone_factor: Number = 14.0) -> UndrainedStrength:
    """Return the undrained strength of clay from a cone test.

    Parameters
    ----------
    cone_resistance_kpa : corrected for pore pressure on the shoulder.
    total_vertical_stress_kpa : at the depth.
    cone_factor : by local experience.
    """
    return UndrainedStrength(undrained_strength_kpa=np.subtract(cone_resistance_kpa, total_vertical_stress_kpa) / cone_factor)


@method(
    "ground.undrained_strength.stroud_1974",
    formulas={"undrained_strength_kpa": Formula("c_u", "f_1 * N_60")},
    derived={"factor_kpa": Formula("f_1", "4.5 if I_P > 0.30 else 5.5")},
    symbols={"factor_kpa": "f_1"},
    possible={"factor_kpa": (0.1, 50.0)},
    valid={"plasticity_index": Range(0.15, 6.0, "insensitive overconsolidated clay"), "factor_kpa": Range(4.0, 7.0, "range of the factor")},
    kind="mean",
    source=STROUD_1974,
    dimensional=True,
)
def strength_from_spt(spt_count_60: Number, plasticity_index: Number, factor_kpa: Number = DERIVED) -> UndrainedStrength:
    """Return the undrained strength of clay from a standard penetration test.

    Parameters
    ----------
    spt_count_60 : blows at 60 % energy.
    plasticity_index : as a ratio; gives the factor where that is left out.
    factor_kpa : strength per blow.
    """
    return UndrainedStrength(undrained_strength_kpa=np.multiply(factor_kpa, spt_count_60) + 0.0 * np.asarray(plasticity_index))


@method(
    "ground.undrained_strength.ladd_1977",
    formulas={"undrained_strength_kpa": Formula("c_u", "a * sigma'_v * OCR^b")},
    symbols={"factor": "a", "exponent": "b"},
    possible={"exponent": (0.0, 2.0)},
    valid={"exponent": Range(0.70, 0.85, "range of the exponent")},
    kind="mean",
    source=LADD_1977,
)
def strength_from_history(
    effective_vertical_stress_kpa: Number, overconsolidation_ratio: Number, factor: Number = 0.22, exponent: Number = 0.8
) -> UndrainedStrength:
    """Return the undrained strength of clay from its stress history.

    Parameters
    ----------
    effective_vertical_stress_kpa : today.
    overconsolidation_ratio : today.
    factor, exponent : of the relation.
    """
    return UndrainedStrength(undrained_strength_kpa=factor * np.asarray(effective_vertical_stress_kpa) * np.power(overconsolidation_ratio, exponent))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CorrectedCount(Record):
    """Blows of a standard penetration test, corrected."""

    spt_count_60: FloatArray
    spt_count_1_60: FloatArray
    overburden_factor: FloatArray


@method(
    "ground.spt.liao_whitman_1986",
    formulas={
        "spt_count_60": Formula("N_60", "N * E_r / 0.6"),
        "spt_count_1_60": Formula("N_1_60", "C_N * N_60"),
        "overburden_factor": Formula("C_N", "min(1.7, sqrt(100 / sigma'_v))"),
    },
    symbols={"spt_count": "N", "energy_ratio": "E_r"},
    possible={"spt_count": (0.0, 1000.0), "energy_ratio": (0.1, 1.2), "effective_vertical_stress_kpa": (1e-3, 2e4)},
    valid={"spt_count": Range(0.0, 50.0, "a refusal is a lower bound, not a number")},
    kind="mean",
    source=LIAO_WHITMAN_1986,
    dimensional=True,
)
def spt_correction(spt_count: Number, energy_ratio: Number, effective_vertical_stress_kpa: Number) -> CorrectedCount:
    """Return blows of a standard penetration test in sand at 60 % energy and under 100 kPa.

    Parameters
    ----------
    spt_count : as counted.
    energy_ratio : of the hammer.
    effective_vertical_stress_kpa : at the depth.
    """
    at_60 = np.multiply(spt_count, energy_ratio) / 0.6
    factor = np.minimum(np.sqrt(100 / np.asarray(effective_vertical_stress_kpa)), _OVERBURDEN_FACTOR_MAX)
    return CorrectedCount(spt_count_60=at_60, spt_count_1_60=factor * at_60, overburden_factor=factor)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrictionAngle(Record):
    """Effective friction angle."""

    friction_angle_rad: FloatArray


@method(
    "ground.friction_angle.hatanaka_uchida_1996",
    formulas={"friction_angle_rad": Formula("phi'", "(sqrt(15.4 * N_1_60) + 20) * pi / 180")},
    valid={"spt_count_1_60": Range(1.0, 50.0, "sand, not gravel")},
    kind="mean",
    source=HATANAKA_UCHIDA_1996,
)
def friction_from_spt(spt_count_1_60: Number) -> FrictionAngle:
    """Return the friction angle of sand from a standard penetration test.

    Parameters
    ----------
    spt_count_1_60 : blows at 60 % energy, under 100 kPa.
    """
    return FrictionAngle(friction_angle_rad=np.radians(np.sqrt(15.4 * np.asarray(spt_count_1_60)) + 20))


@method(
    "ground.friction_angle.kulhawy_mayne_1990",
    formulas={"friction_angle_rad": Formula("phi'", "(17.6 + 11 * log10(q_t / 100 / sqrt(sigma'_v / 100))) * pi / 180")},
    possible={"cone_resistance_kpa": (1.0, 2e5), "effective_vertical_stress_kpa": (1e-3, 2e4)},
    valid={"friction_angle_rad": Range(0.45, 0.80, "clean sand, not cemented")},
    kind="mean",
    source=KULHAWY_MAYNE_1990,
    dimensional=True,
)
def friction_from_cone(cone_resistance_kpa: Number, effective_vertical_stress_kpa: Number) -> FrictionAngle:
    """Return the friction angle of clean sand from a cone test.

    Parameters
    ----------
    cone_resistance_kpa : corrected for pore pressure on the shoulder.
    effective_vertical_stress_kpa : at the depth.
    """
    normalised = np.divide(cone_resistance_kpa, 100) / np.sqrt(np.divide(effective_vertical_stress_kpa, 100))
    return FrictionAngle(friction_angle_rad=np.radians(17.6 + 11 * np.log10(normalised)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OverconsolidationRatio(Record):
    """Greatest effective stress of the past over today's."""

    overconsolidation_ratio: FloatArray


@method(
    "ground.overconsolidation_ratio.kulhawy_mayne_1990",
    formulas={"overconsolidation_ratio": Formula("OCR", "a * (q_t - sigma_v) / sigma'_v")},
    symbols={"factor": "a"},
    possible={"effective_vertical_stress_kpa": (1e-3, 2e4)},
    valid={"factor": Range(0.2, 0.5, "range of the factor in clay"), "overconsolidation_ratio": Range(1.0, 200.0, "below 1 the clay would still consolidate")},
    requires=(_more_than_overburden("cone_resistance_kpa"),),
    kind="mean",
    source=KULHAWY_MAYNE_1990,
)
def history_from_cone(
    cone_resistance_kpa: Number, total_vertical_stress_kpa: Number, effective_vertical_stress_kpa: Number, factor: Number = 0.33
) -> OverconsolidationRatio:
    """Return the overconsolidation ratio of clay from a cone test.

    Parameters
    ----------
    cone_resistance_kpa : corrected for pore pressure on the shoulder.
    total_vertical_stress_kpa, effective_vertical_stress_kpa : at the depth.
    factor : by local experience.
    """
    net = np.subtract(cone_resistance_kpa, total_vertical_stress_kpa)
    return OverconsolidationRatio(overconsolidation_ratio=factor * net / effective_vertical_stress_kpa)
