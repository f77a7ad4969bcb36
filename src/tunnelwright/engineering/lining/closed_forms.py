"""Forces in a thin ring in elastic ground, deep below the surface.

The ground presses with sigma_v from above and K sigma_v from the side. N(theta) = N_0 - N_2 cos 2 theta and M(theta) = M_2 cos 2 theta, theta from
the crown; M is positive with tension inside. Amplitudes keep their sign: for K above 1 they turn negative.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.lining.sources import CURTIS_1976, DUDDECK_ERDMANN_1985, MUIR_WOOD_1975
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Values

Q2_FORMULA: Final = Formula("Q_2", "E * R_m^3 / (12000 * E_l * I_l * (1 + nu))")
MEAN_FORCE: Final = Formula("N_0", "sigma_v * (1 + K) / 2 * R_load / (1 + E * R_load / (1000 * E_l * t_l * (1 + nu)))")
FULL_SLIP_MOMENT: Final = Formula("M_amp_slip", "R_m^2 * (3 - 4 * nu) * sigma_v * (1 - K) / 2 / (5 - 6 * nu + 4 * Q_2)")
DERIVED_SECTION: Final = {"second_moment_m3": Formula("I_l", "t_l^3 / 12"), "load_radius_m": Formula("R_load", "R_m + t_l / 2")}
SYMBOLS: Final = {"stiffness_ratio": "Q_2"}
VALID_GROUND: Final = {"lateral_coefficient": Range(0.2, 3.0, "outside what ground at rest or after tectonics shows")}
THIN_RING: Final = Remark(
    lambda v: (2 * v["centroid_radius_m"] / v["lining_thickness_m"] < 13) | (2 * v["centroid_radius_m"] / v["lining_thickness_m"] > 31),
    "the ring is unusually thick or thin for its diameter: are radius and thickness in m?",
)


def stiffness_ratio(young_modulus_kpa: Number, poisson_ratio: Number, centroid_radius_m: Number, bending_knm2_m: Number) -> FloatArray:
    """Return the ratio of the ground's stiffness against ovalisation to that of the ring."""
    return np.asarray(young_modulus_kpa * np.power(centroid_radius_m, 3) / (12 * np.asarray(bending_knm2_m) * (1 + np.asarray(poisson_ratio))))


def mean_hoop_force(mean_stress_kpa: Number, young_modulus_kpa: Number, poisson_ratio: Number, load_radius_m: Number, axial_kn_m: Number) -> FloatArray:
    """Return the hoop force of the uniform part of the ground's stress."""
    ground = np.multiply(young_modulus_kpa, load_radius_m) / (np.asarray(axial_kn_m) * (1 + np.asarray(poisson_ratio)))
    return np.asarray(np.multiply(mean_stress_kpa, load_radius_m) / (1 + ground))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurtisForces(Record):
    """Ring forces for free sliding, full bond, and limited shear between ground and ring."""

    stiffness_ratio: FloatArray
    mean_hoop_force_kn_m: FloatArray
    normal_full_slip_kpa: FloatArray
    hoop_force_amplitude_full_slip_kn_m: FloatArray
    moment_amplitude_full_slip_knm_m: FloatArray
    normal_no_slip_kpa: FloatArray
    shear_no_slip_kpa: FloatArray
    hoop_force_amplitude_no_slip_kn_m: FloatArray
    moment_amplitude_no_slip_knm_m: FloatArray
    radial_displacement_no_slip_m: FloatArray
    shear_limited_kpa: FloatArray
    normal_limited_kpa: FloatArray
    hoop_force_amplitude_limited_kn_m: FloatArray
    moment_amplitude_limited_knm_m: FloatArray


def _within_the_limit(values: Values) -> FloatArray:
    limit = values["shear_limit_kpa"]
    return np.asarray(True if limit is None else ~(np.abs(values["shear_limited_kpa"]) > limit * (1 + 1e-9)))


@method(
    "lining.forces.curtis_1976",
    formulas={
        "stiffness_ratio": Q2_FORMULA,
        "mean_hoop_force_kn_m": MEAN_FORCE,
        "normal_full_slip_kpa": Formula("S_n_slip", "3 * (3 - 4 * nu) * sigma_v * (1 - K) / 2 / (5 - 6 * nu + 4 * Q_2)"),
        "hoop_force_amplitude_full_slip_kn_m": Formula("N_amp_slip", "R_m * S_n_slip / 3"),
        "moment_amplitude_full_slip_knm_m": Formula("M_amp_slip", "R_m^2 * S_n_slip / 3"),
        "normal_no_slip_kpa": Formula("S_n", "(1 - Q_2) * sigma_v * (1 - K) / 2 / (1 + Q_2 * (3 - 2 * nu) / (3 - 4 * nu))"),
        "shear_no_slip_kpa": Formula("S_t", "(1 + 2 * Q_2) * sigma_v * (1 - K) / 2 / (1 + Q_2 * (3 - 2 * nu) / (3 - 4 * nu))"),
        "hoop_force_amplitude_no_slip_kn_m": Formula("N_amp_bond", "R_m * (S_n + 2 * S_t) / 3"),
        "moment_amplitude_no_slip_knm_m": Formula("M_amp_bond", "R_m^2 * (2 * S_n + S_t) / 6"),
        "radial_displacement_no_slip_m": Formula("u_2", "R_m^4 * (2 * S_n + S_t) / (18000 * E_l * I_l)"),
        "normal_limited_kpa": Formula(
            "S_n_lim", "((3 - 4 * nu) * sigma_v * (1 - K) / 2 - S_t_lim * ((4 - 6 * nu) / 3 + 2 * Q_2 / 3)) / ((5 - 6 * nu) / 3 + 4 * Q_2 / 3)"
        ),
        "hoop_force_amplitude_limited_kn_m": Formula("N_amp_lim", "R_m * (S_n_lim + 2 * S_t_lim) / 3"),
        "moment_amplitude_limited_knm_m": Formula("M_amp_lim", "R_m^2 * (2 * S_n_lim + S_t_lim) / 6"),
    },
    found_by={
        "shear_limited_kpa": Algorithm("shear of full bond, held at the limit where it would be greater", "S_t_lim", {"within the limit": _within_the_limit})
    },
    derived=DERIVED_SECTION,
    symbols=SYMBOLS,
    possible={"shear_limit_kpa": (0.0, 2000.0)},
    valid=VALID_GROUND,
    remarks=(
        THIN_RING,
        Remark(
            lambda v: (
                v["young_modulus_kpa"] * v["load_radius_m"] / (1000 * v["concrete_modulus_mpa"] * v["lining_thickness_m"] * (1 + v["poisson_ratio"])) > 0.3
            ),
            "the ring is soft against hoop force compared with the ground: it counts as incompressible here",
        ),
    ),
    kind="mean",
    source=CURTIS_1976,
)
def curtis(
    young_modulus_kpa: Number,
    poisson_ratio: Number,
    total_vertical_stress_kpa: Number,
    lateral_coefficient: Number,
    centroid_radius_m: Number,
    lining_thickness_m: Number,
    concrete_modulus_mpa: Number,
    second_moment_m3: Number = DERIVED,
    load_radius_m: Number = DERIVED,
    shear_limit_kpa: Number | None = None,
) -> CurtisForces:
    """Return the forces of a thin ring in elastic ground for free sliding, full bond and limited shear.

    Parameters
    ----------
    young_modulus_kpa : of the ground, at the strain of interest.
    poisson_ratio : of the ground.
    total_vertical_stress_kpa : at the axis; effective in a drained calculation, with water added apart.
    lateral_coefficient : horizontal over vertical stress, of the same kind.
    centroid_radius_m : to the middle of the lining's thickness.
    lining_thickness_m : of the ring.
    concrete_modulus_mpa : of the ring.
    second_moment_m3 : per length of tunnel; that of the whole thickness when left out.
    load_radius_m : on which the uniform part acts; the outside of the ring when left out.
    shear_limit_kpa : adhesion or friction between ground and ring; full bond when left out.

    Notes
    -----
    Full slip gives the greater moment and the smaller hoop force, which is worst for the section; check the envelope of both. Against a thick
    elastic lining the moment of full bond is 3 to 5 % high and its hoop force at the crown some 3 % high. The ring is taken to be in place before
    any ground has moved.
    """
    bending = 1000 * np.multiply(concrete_modulus_mpa, second_moment_m3)
    nu, radius = np.asarray(poisson_ratio), np.asarray(centroid_radius_m)
    half_difference = total_vertical_stress_kpa * (1 - np.asarray(lateral_coefficient)) / 2
    ratio = stiffness_ratio(young_modulus_kpa, nu, radius, bending)
    normal_slip = 3 * (3 - 4 * nu) * half_difference / (5 - 6 * nu + 4 * ratio)
    bond = half_difference / (1 + ratio * (3 - 2 * nu) / (3 - 4 * nu))
    normal, shear = (1 - ratio) * bond, (1 + 2 * ratio) * bond
    limit = np.inf if shear_limit_kpa is None else shear_limit_kpa
    shear_limited = np.sign(shear) * np.minimum(np.abs(shear), limit)
    normal_limited = ((3 - 4 * nu) * half_difference - shear_limited * ((4 - 6 * nu) / 3 + 2 * ratio / 3)) / ((5 - 6 * nu) / 3 + 4 * ratio / 3)
    mean_stress = total_vertical_stress_kpa * (1 + np.asarray(lateral_coefficient)) / 2
    return CurtisForces(
        stiffness_ratio=ratio,
        mean_hoop_force_kn_m=mean_hoop_force(mean_stress, young_modulus_kpa, nu, load_radius_m, 1000 * np.multiply(concrete_modulus_mpa, lining_thickness_m)),
        normal_full_slip_kpa=normal_slip,
        hoop_force_amplitude_full_slip_kn_m=radius * normal_slip / 3,
        moment_amplitude_full_slip_knm_m=np.square(radius) * normal_slip / 3,
        normal_no_slip_kpa=normal,
        shear_no_slip_kpa=shear,
        hoop_force_amplitude_no_slip_kn_m=radius * (normal + 2 * shear) / 3,
        moment_amplitude_no_slip_knm_m=np.square(radius) * (2 * normal + shear) / 6,
        radial_displacement_no_slip_m=np.power(radius, 4) * (2 * normal + shear) / (18 * bending),
        shear_limited_kpa=shear_limited,
        normal_limited_kpa=normal_limited,
        hoop_force_amplitude_limited_kn_m=radius * (normal_limited + 2 * shear_limited) / 3,
        moment_amplitude_limited_knm_m=np.square(radius) * (2 * normal_limited + shear_limited) / 6,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MomentAmplitude(Record):
    """Two-wave part of the bending moment."""

    moment_amplitude_knm_m: FloatArray


@method(
    "lining.forces.muir_wood_1975",
    formulas={"moment_amplitude_knm_m": Formula("M_amp", "sigma_v * (1 - K) * R_m^2 / (6 + 2 * E * R_m^3 / (1000 * E_l * I_l * (1 + nu) * (5 - 6 * nu)))")},
    derived={"second_moment_m3": DERIVED_SECTION["second_moment_m3"]},
    valid=VALID_GROUND,
    remarks=(Remark(lambda v: np.abs(v["moment_amplitude_knm_m"]) >= 0, "unsafe: smaller than the corrected full-slip moment; for comparison only"),),
    kind="lower bound",
    source=MUIR_WOOD_1975,
)
def muir_wood(
    young_modulus_kpa: Number,
    poisson_ratio: Number,
    total_vertical_stress_kpa: Number,
    lateral_coefficient: Number,
    centroid_radius_m: Number,
    lining_thickness_m: Number,
    concrete_modulus_mpa: Number,
    second_moment_m3: Number = DERIVED,
) -> MomentAmplitude:
    """Return the moment of the original formula, kept only for comparison with older calculations.

    Parameters
    ----------
    young_modulus_kpa : of the ground.
    poisson_ratio : of the ground.
    total_vertical_stress_kpa : at the axis.
    lateral_coefficient : horizontal over vertical stress.
    centroid_radius_m : to the middle of the lining's thickness.
    lining_thickness_m : of the ring.
    concrete_modulus_mpa : of the ring.
    second_moment_m3 : per length of tunnel; that of the whole thickness when left out.
    """
    nu = np.asarray(poisson_ratio)
    bending = 1000 * np.multiply(concrete_modulus_mpa, second_moment_m3)
    difference = total_vertical_stress_kpa * (1 - np.asarray(lateral_coefficient))
    ground = 2 * young_modulus_kpa * np.power(centroid_radius_m, 3) / (bending * (1 + nu) * (5 - 6 * nu))
    return MomentAmplitude(moment_amplitude_knm_m=difference * np.square(centroid_radius_m) / (6 + ground))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DuddeckErdmannForces(Record):
    """Mean hoop force and moments of an inextensible ring."""

    stiffness_ratio: FloatArray
    mean_hoop_force_kn_m: FloatArray
    moment_amplitude_no_slip_knm_m: FloatArray
    moment_amplitude_full_slip_knm_m: FloatArray


@method(
    "lining.forces.duddeck_erdmann_1985",
    formulas={
        "stiffness_ratio": Q2_FORMULA,
        "mean_hoop_force_kn_m": MEAN_FORCE,
        "moment_amplitude_no_slip_knm_m": Formula(
            "M_amp_bond", "sigma_v * (1 - K) * R_m^2 / (4 + (3 - 2 * nu) / (3 * (1 + nu) * (3 - 4 * nu)) * E * R_m^3 / (1000 * E_l * I_l))"
        ),
        "moment_amplitude_full_slip_knm_m": FULL_SLIP_MOMENT,
    },
    derived=DERIVED_SECTION,
    symbols=SYMBOLS,
    valid=VALID_GROUND,
    remarks=(THIN_RING,),
    kind="mean",
    source=DUDDECK_ERDMANN_1985,
)
def duddeck_erdmann(
    young_modulus_kpa: Number,
    poisson_ratio: Number,
    total_vertical_stress_kpa: Number,
    lateral_coefficient: Number,
    centroid_radius_m: Number,
    lining_thickness_m: Number,
    concrete_modulus_mpa: Number,
    second_moment_m3: Number = DERIVED,
    load_radius_m: Number = DERIVED,
) -> DuddeckErdmannForces:
    """Return the moments of an inextensible ring bonded to elastic ground, and sliding in it.

    Parameters
    ----------
    young_modulus_kpa : of the ground.
    poisson_ratio : of the ground.
    total_vertical_stress_kpa : at the axis; effective in a drained calculation.
    lateral_coefficient : horizontal over vertical stress, of the same kind.
    centroid_radius_m : to the middle of the lining's thickness.
    lining_thickness_m : of the ring.
    concrete_modulus_mpa : of the ring.
    second_moment_m3 : per length of tunnel; that of the whole thickness when left out.
    load_radius_m : on which the uniform part acts; the outside of the ring when left out.
    """
    nu, radius = np.asarray(poisson_ratio), np.asarray(centroid_radius_m)
    bending = 1000 * np.multiply(concrete_modulus_mpa, second_moment_m3)
    difference = total_vertical_stress_kpa * (1 - np.asarray(lateral_coefficient))
    mean_stress = total_vertical_stress_kpa * (1 + np.asarray(lateral_coefficient)) / 2
    ratio = stiffness_ratio(young_modulus_kpa, nu, radius, bending)
    bonded = 4 + (3 - 2 * nu) / (3 * (1 + nu) * (3 - 4 * nu)) * young_modulus_kpa * np.power(radius, 3) / bending
    return DuddeckErdmannForces(
        stiffness_ratio=ratio,
        mean_hoop_force_kn_m=mean_hoop_force(mean_stress, young_modulus_kpa, nu, load_radius_m, 1000 * np.multiply(concrete_modulus_mpa, lining_thickness_m)),
        moment_amplitude_no_slip_knm_m=difference * np.square(radius) / bonded,
        moment_amplitude_full_slip_knm_m=np.square(radius) * (3 - 4 * nu) * difference / 2 / (5 - 6 * nu + 4 * ratio),
    )
