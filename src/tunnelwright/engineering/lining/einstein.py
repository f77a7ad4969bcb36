"""Forces in an extensible thin ring in elastic ground."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.lining.closed_forms import DERIVED_SECTION, THIN_RING, VALID_GROUND
from tunnelwright.engineering.lining.sources import EINSTEIN_SCHWARTZ_1979
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EinsteinSchwartzForces(Record):
    """Ring forces for free sliding and full bond, and the two ratios of stiffness."""

    compressibility_ratio: FloatArray
    flexibility_ratio: FloatArray
    uniform_coefficient: FloatArray
    mean_hoop_force_kn_m: FloatArray
    slip_coefficient: FloatArray
    hoop_force_amplitude_full_slip_kn_m: FloatArray
    moment_amplitude_full_slip_knm_m: FloatArray
    bond_ratio: FloatArray
    second_bond_coefficient: FloatArray
    first_bond_coefficient: FloatArray
    hoop_force_amplitude_no_slip_kn_m: FloatArray
    moment_amplitude_no_slip_knm_m: FloatArray


@method(
    "lining.forces.einstein_schwartz_1979",
    formulas={
        "compressibility_ratio": Formula("C_es", "E * R_m * (1 - nu_l^2) / (1000 * E_l * t_l * (1 - nu^2))"),
        "flexibility_ratio": Formula("F_es", "E * R_m^3 * (1 - nu_l^2) / (1000 * E_l * I_l * (1 - nu^2))"),
        "uniform_coefficient": Formula("a_0", "C_es * F_es * (1 - nu) / (C_es + F_es + C_es * F_es * (1 - nu))"),
        "mean_hoop_force_kn_m": Formula("N_0", "sigma_v * (1 + K) / 2 * R_m * (1 - a_0)"),
        "slip_coefficient": Formula("a_s", "(F_es + 6) * (1 - nu) / (2 * F_es * (1 - nu) + 6 * (5 - 6 * nu))"),
        "hoop_force_amplitude_full_slip_kn_m": Formula("N_amp_slip", "sigma_v * (1 - K) / 2 * R_m * (1 - 2 * a_s)"),
        "moment_amplitude_full_slip_knm_m": Formula("M_amp_slip", "sigma_v * (1 - K) / 2 * R_m^2 * (1 - 2 * a_s)"),
        "bond_ratio": Formula("beta", "((6 + F_es) * C_es * (1 - nu) + 2 * F_es * nu) / (3 * F_es + 3 * C_es + 2 * C_es * F_es * (1 - nu))"),
        "second_bond_coefficient": Formula(
            "b_2",
            "(1 - nu) * (3 * F_es + 3 * C_es + 2 * C_es * F_es * (1 - nu)) / (2 * ((1 - nu) * (3 * F_es + 3 * C_es + 2 * C_es * F_es * (1 - nu))"
            " + 12 * nu + 2 * nu * F_es * (1 - nu) - 6 * (6 + F_es) * (1 - nu) - 3 * C_es * (1 - nu)^2 * (6 + F_es)))",
        ),
        "first_bond_coefficient": Formula("a_2", "beta * b_2"),
        "hoop_force_amplitude_no_slip_kn_m": Formula("N_amp_bond", "sigma_v * (1 - K) / 2 * R_m * (1 + 2 * a_2)"),
        "moment_amplitude_no_slip_knm_m": Formula("M_amp_bond", "sigma_v * (1 - K) / 4 * R_m^2 * (1 - 2 * a_2 + 2 * b_2)"),
    },
    derived={"second_moment_m3": DERIVED_SECTION["second_moment_m3"]},
    symbols={"concrete_poisson_ratio": "nu_l"},
    valid=VALID_GROUND,
    remarks=(THIN_RING,),
    kind="mean",
    source=EINSTEIN_SCHWARTZ_1979,
)
def einstein_schwartz(
    young_modulus_kpa: Number,
    poisson_ratio: Number,
    total_vertical_stress_kpa: Number,
    lateral_coefficient: Number,
    centroid_radius_m: Number,
    lining_thickness_m: Number,
    concrete_modulus_mpa: Number,
    concrete_poisson_ratio: Number = 0.0,
    second_moment_m3: Number = DERIVED,
) -> EinsteinSchwartzForces:
    """Return the forces of a ring that shortens under hoop force, in elastic ground.

    Parameters
    ----------
    young_modulus_kpa : of the ground.
    poisson_ratio : of the ground.
    total_vertical_stress_kpa : at the axis; effective in a drained calculation.
    lateral_coefficient : horizontal over vertical stress, of the same kind.
    centroid_radius_m : used for ground and ring alike.
    lining_thickness_m : of the ring.
    concrete_modulus_mpa : of the ring.
    concrete_poisson_ratio : of the ring; 0 for a jointed ring, which is nearer to plane stress.
    second_moment_m3 : per length of tunnel; that of the whole thickness when left out.

    Notes
    -----
    The paper counts the angle from the springline; signs here are for the angle from the crown. Its second coefficient of full bond is 0/0 for a
    ring without compressibility; it is written here with that factor divided out, so that it holds there too.
    """
    nu, radius = np.asarray(poisson_ratio), np.asarray(centroid_radius_m)
    plane = (1 - np.square(concrete_poisson_ratio)) / (1 - np.square(nu))
    compressible = young_modulus_kpa * radius * plane / (1000 * np.multiply(concrete_modulus_mpa, lining_thickness_m))
    flexible = young_modulus_kpa * np.power(radius, 3) * plane / (1000 * np.multiply(concrete_modulus_mpa, second_moment_m3))
    half_difference = total_vertical_stress_kpa * (1 - np.asarray(lateral_coefficient)) / 2
    mean_stress = total_vertical_stress_kpa * (1 + np.asarray(lateral_coefficient)) / 2
    uniform = compressible * flexible * (1 - nu) / (compressible + flexible + compressible * flexible * (1 - nu))
    slip = (flexible + 6) * (1 - nu) / (2 * flexible * (1 - nu) + 6 * (5 - 6 * nu))
    common = 3 * flexible + 3 * compressible + 2 * compressible * flexible * (1 - nu)
    ratio = ((6 + flexible) * compressible * (1 - nu) + 2 * flexible * nu) / common
    below = 12 * nu + 2 * nu * flexible * (1 - nu) - (6 + flexible) * (1 - nu) * (6 + 3 * compressible * (1 - nu))
    second = (1 - nu) * common / (2 * ((1 - nu) * common + below))
    first = ratio * second
    return EinsteinSchwartzForces(
        compressibility_ratio=compressible,
        flexibility_ratio=flexible,
        uniform_coefficient=uniform,
        mean_hoop_force_kn_m=mean_stress * radius * (1 - uniform),
        slip_coefficient=slip,
        hoop_force_amplitude_full_slip_kn_m=half_difference * radius * (1 - 2 * slip),
        moment_amplitude_full_slip_knm_m=half_difference * np.square(radius) * (1 - 2 * slip),
        bond_ratio=ratio,
        second_bond_coefficient=second,
        first_bond_coefficient=first,
        hoop_force_amplitude_no_slip_kn_m=half_difference * radius * (1 + 2 * first),
        moment_amplitude_no_slip_knm_m=half_difference / 2 * np.square(radius) * (1 - 2 * first + 2 * second),
    )
