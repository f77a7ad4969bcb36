"""Resistance of the section to hoop force and moment: bars, fibres or plain concrete.

Strains stay plane. Their limit is reached at one of three pivots: A, the tension face of fibre concrete; B, the compressed face; C, inside the
section, when all of it is compressed. One number, the depth x of zero strain below the compressed face, runs through all of them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.lining.sources import EN_1992_SECTION
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_STEEL_MODULUS_KPA: Final = 200e6
_DEEPEST: Final = 1e4
_SHALLOWEST: Final = 1e-9
# Halvings of the search interval: beyond the last digit.
_HALVINGS: Final = 90
_NORMAL_STRENGTH_MPA: Final = 50.0
Test: TypeAlias = Callable[[FloatArray, FloatArray], NDArray[np.bool_]]


@dataclass(frozen=True, slots=True)
class Concrete:
    """Parabola and rectangle of the concrete's stress; strengths in kPa."""

    strength_kpa: FloatArray
    peak_strain: FloatArray
    last_strain: FloatArray
    power: FloatArray

    def stress(self, strain: FloatArray) -> FloatArray:
        """Return the stress at compressive strains."""
        share = np.clip(1 - strain / self.peak_strain, 0.0, 1.0)
        return np.asarray(self.strength_kpa * (1 - share**self.power))

    def area(self, strain: FloatArray) -> FloatArray:
        """Return the integral of stress over strain from zero."""
        strain = np.maximum(strain, 0.0)
        left = np.clip(1 - strain / self.peak_strain, 0.0, 1.0)
        return np.asarray(self.strength_kpa * (strain - self.peak_strain / (self.power + 1) * (1 - left ** (self.power + 1))))

    def first_moment(self, strain: FloatArray) -> FloatArray:
        """Return the integral of stress times strain over strain from zero."""
        strain = np.maximum(strain, 0.0)
        left = np.clip(1 - strain / self.peak_strain, 0.0, 1.0)
        missing = (1 - left ** (self.power + 1)) / (self.power + 1) - (1 - left ** (self.power + 2)) / (self.power + 2)
        return np.asarray(self.strength_kpa * (np.square(strain) / 2 - np.square(self.peak_strain) * missing))


def concrete_of(cylinder_strength_mpa: Number, design_strength_mpa: Number) -> Concrete:
    """Return the stress of concrete over its strain."""
    strength = np.asarray(cylinder_strength_mpa, dtype=np.float64)
    above = np.maximum(0.0, strength - _NORMAL_STRENGTH_MPA)
    share = np.clip((90 - strength) / 100, 0.0, None)
    is_normal = strength <= _NORMAL_STRENGTH_MPA
    return Concrete(
        strength_kpa=1000 * np.asarray(design_strength_mpa),
        peak_strain=np.where(is_normal, 2.0e-3, (2.0 + 0.085 * above**0.53) * 1e-3),
        last_strain=np.where(is_normal, 3.5e-3, (2.6 + 35 * share**4) * 1e-3),
        power=np.where(is_normal, 2.0, 1.4 + 23.4 * share**4),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A rectangular section per length of tunnel; stresses in kPa, all fields broadcast."""

    height_m: FloatArray
    concrete: Concrete
    steel_m2_m: FloatArray
    steel_depth_m: FloatArray
    yield_kpa: FloatArray
    fibre_kpa: FloatArray
    fibre_strain: FloatArray

    def strains(self, depth_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the strain at the compressed face and the curvature at the limit with this depth of zero strain."""
        last, peak = self.concrete.last_strain, self.concrete.peak_strain
        pivot_c = (1 - peak / last) * self.height_m
        inside = depth_m <= self.height_m
        with np.errstate(divide="ignore", invalid="ignore"):
            curvature = np.where(inside, last / depth_m, peak / (depth_m - pivot_c))
            by_fibre = self.fibre_strain / (self.height_m - depth_m)
            governs = inside & (self.fibre_kpa > 0) & (by_fibre < curvature)
        curvature = np.where(governs, by_fibre, curvature)
        return curvature * depth_m, curvature

    def forces(self, depth_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return hoop force and moment about mid height at the limit with this depth of zero strain."""
        top, curvature = self.strains(depth_m)
        bottom = np.maximum(0.0, top - curvature * self.height_m)
        area = self.concrete.area(top) - self.concrete.area(bottom)
        lever = self.concrete.first_moment(top) - self.concrete.first_moment(bottom)
        force = area / curvature
        moment = ((self.height_m / 2 - depth_m) * area + lever / curvature) / curvature
        tension_m = np.maximum(0.0, self.height_m - depth_m)
        force = force - self.fibre_kpa * tension_m
        moment = moment + self.fibre_kpa * tension_m * np.minimum(depth_m, self.height_m) / 2
        for place in (self.steel_depth_m, self.height_m - self.steel_depth_m):
            strain = curvature * (depth_m - place)
            # Bars stand where concrete would have been.
            stress = np.clip(_STEEL_MODULUS_KPA * strain, -self.yield_kpa, self.yield_kpa) - self.concrete.stress(np.maximum(strain, 0.0))
            force = force + self.steel_m2_m * stress
            moment = moment + self.steel_m2_m * stress * (self.height_m / 2 - place)
        return force, moment

    def depth_where(self, is_deeper: Test) -> FloatArray:
        """Return the depth of zero strain at which a test on force and moment turns from true to false."""
        low, high = np.log(_SHALLOWEST * self.height_m), np.log(_DEEPEST * self.height_m)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            deeper = is_deeper(*self.forces(np.exp(middle)))
            low, high = np.where(deeper, middle, low), np.where(deeper, high, middle)
        return np.asarray(np.exp((low + high) / 2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionResistance(Record):
    """Resistance of a section and how far it is used."""

    design_strength_mpa: FloatArray
    peak_strain: FloatArray
    axial_resistance_kn_m: FloatArray
    moment_resistance_knm_m: FloatArray
    utilisation: FloatArray
    ray_utilisation: FloatArray


def _moment_at(section: Section, force_kn_m: FloatArray, squash_kn_m: FloatArray) -> FloatArray:
    """Return the moment resistance at a hoop force; 0 where the force alone is more than the section carries, pushed or pulled."""
    depth = section.depth_where(lambda force, _: force < force_kn_m)
    pulled, _ = section.forces(_SHALLOWEST * section.height_m)
    is_carried = (force_kn_m < squash_kn_m) & (force_kn_m > pulled)
    moment = np.where(is_carried, np.maximum(0.0, section.forces(depth)[1]), 0.0)
    return np.where(np.isnan(force_kn_m + squash_kn_m), np.nan, moment)


def _ray(section: Section, force_kn_m: FloatArray, moment_knm_m: FloatArray) -> FloatArray:
    """Return load over resistance when hoop force and moment grow together."""
    depth = section.depth_where(lambda force, moment: (force < 0) & (force_kn_m >= 0) | (moment * force_kn_m > moment_knm_m * force))
    force, moment = section.forces(depth)
    with np.errstate(divide="ignore", invalid="ignore"):
        by_force, by_moment = force_kn_m / force, moment_knm_m / moment
        # The larger part of the ray measures it best.
        steep = np.abs(moment_knm_m) > np.abs(force_kn_m) * section.height_m / 2
    used = np.where(steep, by_moment, by_force)
    # Pulled concrete without bars or fibres resists nothing: the ray never meets the curve.
    return np.where((force_kn_m == 0) & (moment_knm_m == 0), 0.0, np.where(used < 0, np.inf, used))


@method(
    "lining.section.resistance",
    formulas={
        "design_strength_mpa": Formula("f_cd", "alpha_cc * f_ck / gamma_con"),
        "peak_strain": Formula("epsilon_c2", "0.002 if f_ck <= 50 else (2 + 0.085 * (f_ck - 50)^0.53) / 1000"),
        "axial_resistance_kn_m": Formula("N_Rd0", "1000 * (f_cd * t_l + 2 * A_s * (min(200000 * epsilon_c2, f_yk / gamma_s) - f_cd))"),
        "utilisation": Formula("u_M", "abs(M_b) / M_Rd if M_Rd > 0 else u_ray"),
    },
    found_by={
        "moment_resistance_knm_m": Algorithm(
            "depth of zero strain halved in until the inner force is the hoop force; the moment about mid height there",
            "M_Rd",
            {"it is none or more than none": lambda v: ~(v["moment_resistance_knm_m"] < 0)},
        ),
        "ray_utilisation": Algorithm(
            "load over resistance when hoop force and moment grow together",
            "u_ray",
            {
                "more than one outside, less than one inside": lambda v: (
                    ~((v["hoop_force_kn_m"] > 0) & (v["utilisation"] < 0.999) & (v["ray_utilisation"] > 1.001))
                )
            },
        ),
    },
    symbols={
        "steel_area_m2_m": "A_s",
        "steel_yield_mpa": "f_yk",
        "steel_factor": "gamma_s",
        "long_term_factor": "alpha_cc",
        "steel_depth_m": "d_2",
        "fibre_tension_mpa": "f_Ftud",
        "fibre_strain_limit": "epsilon_Fu",
    },
    possible={
        "steel_depth_m": (0.01, 1.0),
        "steel_yield_mpa": (100.0, 1500.0),
        "fibre_tension_mpa": (0.0, 20.0),
        "fibre_strain_limit": (1e-4, 0.2),
        "steel_factor": (1.0, 2.0),
        "long_term_factor": (0.5, 1.0),
    },
    valid={"cylinder_strength_mpa": Range(12.0, 90.0, "strength classes of the code; take care not to give the cube strength")},
    requires=(
        Require("steel_depth_m", lambda v: np.all(~(2 * v["steel_depth_m"] >= v["lining_thickness_m"])), "must be less than half of lining_thickness_m"),
    ),
    remarks=(
        Remark(lambda v: v["utilisation"] > 1, "hoop force and moment are outside the resistance of the section"),
        Remark(
            lambda v: np.abs(v["moment_knm_m"]) < v["hoop_force_kn_m"] * np.maximum(v["lining_thickness_m"] / 30, 0.02),
            "the moment is less than the least eccentricity of the code gives: add it before",
        ),
    ),
    kind="lower bound",
    source=EN_1992_SECTION,
    # The stress of concrete depends on its strength in MPa, that of steel on a fixed modulus.
    dimensional=True,
)
def section_resistance(
    lining_thickness_m: Number,
    cylinder_strength_mpa: Number,
    hoop_force_kn_m: Number,
    moment_knm_m: Number = 0.0,
    steel_area_m2_m: Number = 0.0,
    steel_depth_m: Number = 0.05,
    steel_yield_mpa: Number = 500.0,
    fibre_tension_mpa: Number = 0.0,
    fibre_strain_limit: Number = 0.0083333,
    concrete_factor: Number = 1.5,
    steel_factor: Number = 1.15,
    long_term_factor: Number = 1.0,
) -> SectionResistance:
    """Return how far the section of the lining is used by hoop force and moment.

    Parameters
    ----------
    lining_thickness_m : height of the section.
    cylinder_strength_mpa : characteristic, of cylinders.
    hoop_force_kn_m : design value, compression positive.
    moment_knm_m : design value; its sign does not matter.
    steel_area_m2_m : of bars at each face.
    steel_depth_m : of the bars from their face.
    steel_yield_mpa : characteristic.
    fibre_tension_mpa : design value of the fibre concrete's tension, as a block over the tension zone; 0 without fibres.
    fibre_strain_limit : at the tension face, governs at small hoop force.
    concrete_factor, steel_factor : partial factors.
    long_term_factor : on the strength of concrete, a national choice.

    Notes
    -----
    Utilisation is at constant hoop force; beside it stands the one for force and moment growing together, which also holds where the hoop force
    alone is too much. Check greatest and least hoop force: the least with its moment is often the worst. Bars have no limit of strain.
    """
    strength = np.asarray(long_term_factor) * cylinder_strength_mpa / concrete_factor
    concrete = concrete_of(cylinder_strength_mpa, strength)
    yield_kpa = 1000 * np.asarray(steel_yield_mpa) / steel_factor
    section = Section(
        height_m=np.asarray(lining_thickness_m),
        concrete=concrete,
        steel_m2_m=np.asarray(steel_area_m2_m),
        steel_depth_m=np.asarray(steel_depth_m),
        yield_kpa=yield_kpa,
        fibre_kpa=1000 * np.asarray(fibre_tension_mpa),
        fibre_strain=np.asarray(fibre_strain_limit),
    )
    squash = concrete.strength_kpa * lining_thickness_m
    squash = squash + 2 * np.asarray(steel_area_m2_m) * (np.minimum(_STEEL_MODULUS_KPA * concrete.peak_strain, yield_kpa) - concrete.strength_kpa)
    force, moment = np.asarray(hoop_force_kn_m), np.abs(moment_knm_m)
    resistance = _moment_at(section, force, squash)
    ray = _ray(section, force, moment)
    with np.errstate(divide="ignore", invalid="ignore"):
        utilisation = np.where(resistance > 0, moment / resistance, ray)
    return SectionResistance(
        design_strength_mpa=strength,
        peak_strain=concrete.peak_strain,
        axial_resistance_kn_m=squash,
        moment_resistance_knm_m=resistance,
        utilisation=utilisation,
        ray_utilisation=ray,
    )
