"""Tension of fibre concrete, shear without links, and strength at an early age."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.lining.sources import EN_1992_AGE, EN_1992_PLAIN_SHEAR, EN_1992_SHEAR, MODEL_CODE_FIBRES
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FibreTension(Record):
    """Tension that fibres carry after cracking, and the strain up to which they do."""

    serviceability_tension_mpa: FloatArray
    ultimate_tension_linear_mpa: FloatArray
    ultimate_tension_rigid_mpa: FloatArray
    design_tension_mpa: FloatArray
    strain_limit: FloatArray


@method(
    "lining.section.fibre_tension",
    formulas={
        "serviceability_tension_mpa": Formula("f_Fts", "0.45 * f_R1"),
        "ultimate_tension_linear_mpa": Formula("f_Ftu", "max(0, f_Fts - w_u / 2.5 * (f_Fts - 0.5 * f_R3 + 0.2 * f_R1))"),
        "ultimate_tension_rigid_mpa": Formula("f_Ftu_r", "f_R3 / 3"),
        "design_tension_mpa": Formula("f_Ftud", "f_Ftu_r / gamma_F"),
        "strain_limit": Formula("epsilon_Fu", "min(0.02, w_u / 1000 / l_cs)"),
    },
    symbols={
        "residual_strength_1_mpa": "f_R1",
        "residual_strength_3_mpa": "f_R3",
        "crack_width_limit_mm": "w_u",
        "structural_length_m": "l_cs",
        "fibre_factor": "gamma_F",
        "design_tension_mpa": "f_Ftud",
    },
    possible={
        "residual_strength_1_mpa": (0.1, 30.0),
        "residual_strength_3_mpa": (0.1, 30.0),
        "crack_width_limit_mm": (0.01, 2.5),
        "structural_length_m": (0.02, 3.0),
        "fibre_factor": (1.0, 3.0),
    },
    remarks=(
        Remark(
            lambda v: v["residual_strength_3_mpa"] <= 0.5 * v["residual_strength_1_mpa"],
            "residual strength falls by half or more: fibres may not replace bars",
        ),
    ),
    kind="mean",
    source=MODEL_CODE_FIBRES,
    # The linear law is anchored at a crack width of 2.5 mm.
    dimensional=True,
)
def fibre_tension(
    residual_strength_1_mpa: Number,
    residual_strength_3_mpa: Number,
    structural_length_m: Number,
    crack_width_limit_mm: Number = 2.5,
    fibre_factor: Number = 1.5,
) -> FibreTension:
    """Return the tension of fibre concrete from its residual strengths.

    Parameters
    ----------
    residual_strength_1_mpa, residual_strength_3_mpa : characteristic, at crack openings of 0.5 and 2.5 mm.
    structural_length_m : over which a crack counts as strain; the height of the section without bars.
    crack_width_limit_mm : at the ultimate state, 2.5 at most.
    fibre_factor : partial factor.
    """
    first, third = np.asarray(residual_strength_1_mpa), np.asarray(residual_strength_3_mpa)
    serviceability = 0.45 * first
    falling = serviceability - 0.5 * third + 0.2 * first
    return FibreTension(
        serviceability_tension_mpa=serviceability,
        ultimate_tension_linear_mpa=np.maximum(0.0, serviceability - np.asarray(crack_width_limit_mm) / 2.5 * falling),
        ultimate_tension_rigid_mpa=third / 3,
        design_tension_mpa=third / 3 / fibre_factor,
        strain_limit=np.minimum(0.02, np.asarray(crack_width_limit_mm) / 1000 / structural_length_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShearWithBars(Record):
    """Shear resistance of a section with bars and without links."""

    size_factor: FloatArray
    axial_stress_mpa: FloatArray
    shear_resistance_kn_m: FloatArray


@method(
    "lining.section.shear",
    formulas={
        "size_factor": Formula("k_s", "min(2, 1 + sqrt(200 / (1000 * d)))"),
        "axial_stress_mpa": Formula("sigma_cp", "min(N_h / (1000 * t_l), 0.2 * f_ck / gamma_con)"),
        "shear_resistance_kn_m": Formula(
            "V_Rd",
            "max(0, 1000 * d * (max(0.18 / gamma_con * k_s * (100 * min(rho_l, 0.02) * f_ck)^(1/3), 0.035 * k_s^1.5 * sqrt(f_ck)) + 0.15 * sigma_cp))",
        ),
    },
    symbols={"effective_depth_m": "d", "reinforcement_ratio": "rho_l"},
    possible={"effective_depth_m": (0.05, 2.0), "reinforcement_ratio": (0.0, 0.1)},
    requires=(Require("effective_depth_m", lambda v: np.all(~(v["effective_depth_m"] >= v["lining_thickness_m"])), "must be less than lining_thickness_m"),),
    kind="lower bound",
    source=EN_1992_SHEAR,
    # The code's coefficients are for MPa and mm.
    dimensional=True,
)
def shear(
    effective_depth_m: Number,
    lining_thickness_m: Number,
    cylinder_strength_mpa: Number,
    reinforcement_ratio: Number,
    hoop_force_kn_m: Number,
    concrete_factor: Number = 1.5,
) -> ShearWithBars:
    """Return the shear resistance of the lining without links.

    Parameters
    ----------
    effective_depth_m : to the bars in tension.
    lining_thickness_m : of the lining.
    cylinder_strength_mpa : characteristic.
    reinforcement_ratio : of the bars in tension over the effective depth; more than 2 % counts as 2 %.
    hoop_force_kn_m : the least that comes with the shear, for it helps.
    concrete_factor : partial factor.
    """
    depth, strength = np.asarray(effective_depth_m), np.asarray(cylinder_strength_mpa)
    size = np.minimum(2.0, 1 + np.sqrt(200 / (1000 * depth)))
    axial = np.minimum(np.asarray(hoop_force_kn_m) / (1000 * np.asarray(lining_thickness_m)), 0.2 * strength / concrete_factor)
    by_bars = 0.18 / np.asarray(concrete_factor) * size * np.cbrt(100 * np.minimum(reinforcement_ratio, 0.02) * strength)
    least = 0.035 * size**1.5 * np.sqrt(strength)
    resistance = np.maximum(0.0, 1000 * depth * (np.maximum(by_bars, least) + 0.15 * axial))
    return ShearWithBars(size_factor=size, axial_stress_mpa=axial, shear_resistance_kn_m=resistance)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlainShear(Record):
    """Shear resistance of an uncracked section."""

    axial_stress_mpa: FloatArray
    shear_resistance_kn_m: FloatArray


@method(
    "lining.section.shear_plain",
    formulas={
        "axial_stress_mpa": Formula("sigma_cp", "N_h / (1000 * t_l)"),
        "shear_resistance_kn_m": Formula("V_Rd", "2000 / 3 * t_l * sqrt(max(0, f_ctd^2 + sigma_cp * f_ctd))"),
    },
    valid={"hoop_force_kn_m": Range(0.0, np.inf, "under tension an uncracked section should not be counted on")},
    kind="lower bound",
    source=EN_1992_PLAIN_SHEAR,
)
def shear_plain(lining_thickness_m: Number, design_tension_mpa: Number, hoop_force_kn_m: Number) -> PlainShear:
    """Return the shear at which the principal tension of an uncracked rectangle reaches the concrete's tension.

    Parameters
    ----------
    lining_thickness_m : of the lining.
    design_tension_mpa : design value of the concrete in tension.
    hoop_force_kn_m : the least that comes with the shear, for it helps.
    """
    tension = np.asarray(design_tension_mpa)
    axial = np.asarray(hoop_force_kn_m) / (1000 * np.asarray(lining_thickness_m))
    return PlainShear(axial_stress_mpa=axial, shear_resistance_kn_m=2000 / 3 * lining_thickness_m * np.sqrt(np.maximum(0.0, tension**2 + axial * tension)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthAtAge(Record):
    """Strength of concrete at an age."""

    age_factor: FloatArray
    strength_mpa: FloatArray


@method(
    "lining.handling.strength_at_age",
    formulas={"age_factor": Formula("beta_cc", "exp(s_c * (1 - sqrt(28 * 86400 / t_a)))"), "strength_mpa": Formula("f_cm_t", "beta_cc * f_cm")},
    symbols={"mean_strength_mpa": "f_cm", "age_s": "t_a", "cement_coefficient": "s_c"},
    possible={"mean_strength_mpa": (5.0, 250.0), "age_s": (600.0, 1e10), "cement_coefficient": (0.05, 0.6)},
    valid={"age_s": Range(43200.0, np.inf, "before half a day the strength depends on the heat of curing: test it")},
    kind="mean",
    source=EN_1992_AGE,
    # Age counts against 28 days.
    dimensional=True,
)
def strength_at_age(mean_strength_mpa: Number, age_s: Number, cement_coefficient: Number = 0.2) -> StrengthAtAge:
    """Return the mean strength of concrete at an age at ordinary temperature.

    Parameters
    ----------
    mean_strength_mpa : of cylinders at 28 days.
    age_s : since casting.
    cement_coefficient : 0.20 for rapid, 0.25 for normal, 0.38 for slow cement.
    """
    factor = np.exp(np.asarray(cement_coefficient) * (1 - np.sqrt(28 * 86400 / np.asarray(age_s))))
    return StrengthAtAge(age_factor=factor, strength_mpa=mean_strength_mpa * factor)
