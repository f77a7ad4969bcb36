"""Continuous pipes: one that follows the ground, and one that is a beam on springs under a normal trough.

kappa(x) i^2 / S_max = -2 / sqrt(2 pi)  integral over q from 0 of  q^2 exp(-q^2/2) cos(q x/i) / (1 + rho q^4),    rho = EI / (k i^4)
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.assets.sources import ATTEWELL_1986, AXIAL_SLIP, FLEXIBLE, FOURIER, KLAR_2005
from tunnelwright.engineering.assets.springs import Troughs
from tunnelwright.engineering.assets.stiffness import vesic_spring_kpa
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
_LAST_WAVENUMBER: Final = 9.0
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(600)
_WAVENUMBER: Final = (_NODES + 1) * _LAST_WAVENUMBER / 2
_MEASURE: Final = 2 / _ROOT_2_PI * _WEIGHTS * _LAST_WAVENUMBER / 2 * np.exp(-0.5 * np.square(_WAVENUMBER))
_KPA_PER_MPA: Final = 1000.0
_PLACES: Final = 401
_SPAN_WIDTHS: Final = 5.0
_PIPE_POSSIBLE: Final = {"trough_width_m": (0.1, 1000.0)}
_THIN: Final = Require(
    "pipe_wall_thickness_m",
    lambda v: ~(np.asarray(v["pipe_wall_thickness_m"]) > np.asarray(v["pipe_outer_diameter_m"]) / 2),
    "must not be more than the outside radius",
)
_SECOND_MOMENT: Final = Formula("I_b", "pi / 64 * (D_e^4 - (D_e - 2 * t_p)^4)")
_FLEXIBLE_STRAIN: Final = Formula("eps_flex", "abs(S_max) / i^2 * D_e / 2")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlexibleStrain(Record):
    """Strain of a pipe that follows the ground."""

    bending_strain: FloatArray
    pipe_strain: FloatArray


@method(
    "assets.pipe.flexible",
    formulas={"bending_strain": Formula("eps_b", "abs(kappa) * D_e / 2"), "pipe_strain": Formula("eps_p", "eps_b + abs(eps_t)")},
    kind="upper bound",
    source=FLEXIBLE,
)
def flexible_pipe(curvature_1_m: Number, pipe_outer_diameter_m: Number, tensile_strain: Number = 0.0) -> FlexibleStrain:
    """Return the greatest strain of a continuous pipe that follows the ground.

    Parameters
    ----------
    curvature_1_m : of the ground along the pipe, at its axis.
    pipe_outer_diameter_m : outside.
    tensile_strain : of the ground along the pipe; its size is added.
    """
    bending = np.abs(curvature_1_m) * np.asarray(pipe_outer_diameter_m) / 2
    return FlexibleStrain(bending_strain=bending, pipe_strain=bending + np.abs(tensile_strain))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurvatureFactors(Record):
    """Curvature and settlement of a stiff line over those of the ground at the axis."""

    sag_curvature_factor: FloatArray
    hog_curvature_factor: FloatArray
    settlement_factor: FloatArray


def _response(stiffness_ratio: FloatArray, places: FloatArray, power: int) -> FloatArray:
    """Return the Fourier integral with a power of the wavenumber; the last axis of places stays, those of the ratio come before it."""
    weight = _MEASURE * _WAVENUMBER**power / (1 + stiffness_ratio[..., None] * _WAVENUMBER**4)
    return np.asarray(np.einsum("...q,...pq->...p", weight, np.cos(places[..., None] * _WAVENUMBER)))


def line_factors(stiffness_ratio: Number) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return sag factor, greatest hog factor and settlement factor for any shape of stiffness ratios.

    Parameters
    ----------
    stiffness_ratio : rho = EI / (k i^4).
    """

    def at_ratio(ratio: float) -> tuple[float, float, float]:
        rho = np.asarray(ratio)
        # A flexible line hogs most at sqrt(3) i, a stiff one further out with the fourth root of its stiffness.
        places = np.linspace(0.8, 2.2 + 3.5 * ratio**0.25, _PLACES)
        hog = -_response(rho, places, 2)
        centre = _response(rho, np.zeros(1), 2)[0], _response(rho, np.zeros(1), 0)[0]
        return float(centre[0]), _peak(hog), float(centre[1])

    sag, hog, settlement = each_place(lambda one: at_ratio(one) if np.isfinite(one) else (np.nan,) * 3, 3, [stiffness_ratio])
    return sag, hog, settlement


def _peak(values: FloatArray) -> float:
    """Return the greatest of values on even places, by a parabola through it and its neighbours."""
    at = int(np.clip(np.argmax(values), 1, values.size - 2))
    before, here, after = values[at - 1 : at + 2]
    bend = before - 2 * here + after
    return float(here - (after - before) ** 2 / (8 * bend)) if bend < 0 else float(np.max(values))


@method(
    "assets.pipe.curvature_factor",
    found_by={
        "sag_curvature_factor": Algorithm(
            "Fourier integral of the beam on springs over the axis", "f_sag", {"not above 1": lambda v: ~(v["sag_curvature_factor"] > 1 + 1e-9)}
        ),
        "hog_curvature_factor": Algorithm(
            "greatest of the same beside it", "f_hog", {"not above that of the ground": lambda v: ~(v["hog_curvature_factor"] > 0.44627)}
        ),
        "settlement_factor": Algorithm("the same integral of the settlement", "f_w"),
    },
    possible={"stiffness_ratio": (0.0, 1e5)},
    valid={"stiffness_ratio": Range(0.0, 1000.0, "a stiffer line spreads beyond any drive of usual length")},
    kind="mean",
    source=FOURIER,
)
def curvature_factor(stiffness_ratio: Number) -> CurvatureFactors:
    """Return how much of the curvature of a normal trough a stiff line takes.

    Parameters
    ----------
    stiffness_ratio : EI / (k i^4).
    """
    sag, hog, settlement = line_factors(stiffness_ratio)
    return CurvatureFactors(sag_curvature_factor=sag, hog_curvature_factor=hog, settlement_factor=settlement)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KlarPipe(Record):
    """A pipe as a beam on springs, the springs fitted to a continuum."""

    second_moment_m4: FloatArray
    spring_stiffness_kpa: FloatArray
    relative_stiffness: FloatArray
    stiffness_ratio: FloatArray
    settlement_factor: FloatArray
    sag_strain: FloatArray
    hog_strain: FloatArray
    flexible_strain: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VesicPipe(Record):
    """A pipe as a beam on springs of a loaded beam."""

    second_moment_m4: FloatArray
    spring_stiffness_kpa: FloatArray
    stiffness_ratio: FloatArray
    settlement_factor: FloatArray
    sag_strain: FloatArray
    hog_strain: FloatArray
    flexible_strain: FloatArray


def _below_flexible(values: Values) -> FloatArray:
    return np.asarray(~(np.asarray(values["sag_strain"]) > np.asarray(values["flexible_strain"]) * (1 + 1e-9)), dtype=np.float64)


_BY_INTEGRAL: Final = {
    "settlement_factor": Algorithm("Fourier integral of the beam on springs", "f_w"),
    "sag_strain": Algorithm("flexible strain times the factor of curvature over the axis", "eps_sag", {"not above the flexible one": _below_flexible}),
    "hog_strain": Algorithm("flexible strain times the greatest factor beside the axis", "eps_hog"),
}


def _second_moment_m4(outer_m: Number, wall_m: Number) -> FloatArray:
    inner_m = np.asarray(outer_m) - 2 * np.asarray(wall_m)
    return np.pi / 64 * (np.power(outer_m, 4) - inner_m**4)


@method(
    "assets.pipe.beam_klar_2005",
    formulas={
        "second_moment_m4": _SECOND_MOMENT,
        "spring_stiffness_kpa": Formula("k_s", "6 * E * D_e / i"),
        "relative_stiffness": Formula("R_p", "E_p * 1000 * I_b / (E * D_e / 2 * i^3)"),
        "stiffness_ratio": Formula("rho_s_g", "R_p / 12"),
        "flexible_strain": _FLEXIBLE_STRAIN,
    },
    found_by=_BY_INTEGRAL,
    possible=_PIPE_POSSIBLE,
    requires=(_THIN,),
    kind="upper bound",
    source=KLAR_2005,
)
def klar_pipe(
    pipe_outer_diameter_m: Number,
    pipe_wall_thickness_m: Number,
    pipe_young_modulus_mpa: Number,
    young_modulus_kpa: Number,
    trough_width_m: Number,
    settlement_max_m: Number,
) -> KlarPipe:
    """Return the bending strains of a continuous pipe across a normal trough, with springs of 12 E r / i.

    Parameters
    ----------
    pipe_outer_diameter_m, pipe_wall_thickness_m, pipe_young_modulus_mpa : of the pipe.
    young_modulus_kpa : of the ground.
    trough_width_m : at the pipe and along it; on a skew crossing longer than across the drive.
    settlement_max_m : greenfield, at the pipe.

    Notes
    -----
    Elastic and without a gap: where the ground yields the pipe is bent less.
    """
    second_moment = _second_moment_m4(pipe_outer_diameter_m, pipe_wall_thickness_m)
    radius_m, width = np.asarray(pipe_outer_diameter_m) / 2, np.asarray(trough_width_m)
    relative = np.asarray(pipe_young_modulus_mpa) * _KPA_PER_MPA * second_moment / (young_modulus_kpa * radius_m * width**3)
    flexible = np.abs(settlement_max_m) / np.square(width) * radius_m
    sag, hog, settlement = line_factors(relative / 12)
    return KlarPipe(
        second_moment_m4=second_moment,
        spring_stiffness_kpa=12 * np.asarray(young_modulus_kpa) * radius_m / width,
        relative_stiffness=relative,
        stiffness_ratio=relative / 12,
        settlement_factor=settlement,
        sag_strain=sag * flexible,
        hog_strain=hog * flexible,
        flexible_strain=flexible,
    )


@method(
    "assets.pipe.beam_vesic_1961",
    formulas={
        "second_moment_m4": _SECOND_MOMENT,
        "spring_stiffness_kpa": Formula("k_s", "0.65 * (E * D_e^4 / (E_p * 1000 * I_b))^(1 / 12) * E / (1 - nu^2)"),
        "stiffness_ratio": Formula("rho_s_g", "E_p * 1000 * I_b / (k_s * i^4)"),
        "flexible_strain": _FLEXIBLE_STRAIN,
    },
    found_by=_BY_INTEGRAL,
    possible=_PIPE_POSSIBLE,
    requires=(_THIN,),
    kind="mean",
    source=ATTEWELL_1986,
)
def vesic_pipe(
    pipe_outer_diameter_m: Number,
    pipe_wall_thickness_m: Number,
    pipe_young_modulus_mpa: Number,
    young_modulus_kpa: Number,
    poisson_ratio: Number,
    trough_width_m: Number,
    settlement_max_m: Number,
) -> VesicPipe:
    """Return the bending strains of a continuous pipe across a normal trough, with springs of a beam under load.

    Parameters
    ----------
    pipe_outer_diameter_m, pipe_wall_thickness_m, pipe_young_modulus_mpa : of the pipe.
    young_modulus_kpa, poisson_ratio : of the ground.
    trough_width_m : at the pipe and along it.
    settlement_max_m : greenfield, at the pipe.
    """
    second_moment = _second_moment_m4(pipe_outer_diameter_m, pipe_wall_thickness_m)
    bending_stiffness = np.asarray(pipe_young_modulus_mpa) * _KPA_PER_MPA * second_moment
    spring = vesic_spring_kpa(young_modulus_kpa, poisson_ratio, pipe_outer_diameter_m, bending_stiffness)
    ratio = bending_stiffness / (spring * np.power(trough_width_m, 4))
    flexible = np.abs(settlement_max_m) / np.square(trough_width_m) * np.asarray(pipe_outer_diameter_m) / 2
    sag, hog, settlement = line_factors(ratio)
    return VesicPipe(
        second_moment_m4=second_moment,
        spring_stiffness_kpa=spring,
        stiffness_ratio=ratio,
        settlement_factor=settlement,
        sag_strain=sag * flexible,
        hog_strain=hog * flexible,
        flexible_strain=flexible,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TroughsPipe(Record):
    """Greatest bending strain of a pipe over several troughs and where it occurs."""

    bending_strain: FloatArray
    position_offset_m: FloatArray
    flexible_strain: FloatArray


@method(
    "assets.pipe.beam_troughs",
    found_by={
        "bending_strain": Algorithm("greatest size of the curvature, Fourier integrals of all troughs added, times the outside radius", "eps_b"),
        "position_offset_m": Algorithm("where it occurs, the first place of equal ones"),
        "flexible_strain": Algorithm("greatest size of the curvature of the ground times the outside radius", "eps_flex"),
    },
    possible={"bending_stiffness_knm2": (0.0, 1e12), "spring_stiffness_kpa": (1e-3, 1e9), "trough_width_m": (0.1, 1000.0)},
    requires=(Require("troughs", lambda v: v["troughs"].row_count >= 1, "must hold a row"),),
    kind="mean",
    source=FOURIER,
)
def troughs_pipe(troughs: Troughs, bending_stiffness_knm2: Number, spring_stiffness_kpa: Number, pipe_outer_diameter_m: Number) -> TroughsPipe:
    """Return the greatest bending strain of a long pipe over several troughs.

    Parameters
    ----------
    troughs : greenfield at the pipe and along it, added up.
    bending_stiffness_knm2 : EI of the pipe.
    spring_stiffness_kpa : reaction per settlement and per length.
    pipe_outer_diameter_m : outside.
    """

    def at_place(stiffness: float, spring: float, diameter_m: float) -> tuple[float, float, float]:
        if not np.all(np.isfinite((stiffness, spring, diameter_m))):
            return np.nan, np.nan, np.nan
        reach_m = _SPAN_WIDTHS * float(np.max(troughs.trough_width_m)) + 4 * (stiffness / spring) ** 0.25
        first, last = float(np.min(troughs.axis_offset_m)) - reach_m, float(np.max(troughs.axis_offset_m)) + reach_m
        steps = int(np.clip(np.ceil(30 * (last - first) / float(np.min(troughs.trough_width_m))), 800, 8000))
        places = np.linspace(first, last, steps + 1)
        bent, free = _curvatures(troughs, stiffness / spring, places)
        at = int(np.argmax(np.abs(bent) >= np.max(np.abs(bent)) * (1 - 1e-9)))
        return _peak(np.abs(bent)) * diameter_m / 2, float(places[at]), _peak(np.abs(free)) * diameter_m / 2

    numbers = [bending_stiffness_knm2, spring_stiffness_kpa, pipe_outer_diameter_m]
    strain, position_m, flexible = each_place(at_place, 3, numbers)
    return TroughsPipe(bending_strain=strain, position_offset_m=position_m, flexible_strain=flexible)


def _curvatures(troughs: Troughs, ratio_m4: float, places_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the curvature of the pipe and of the ground at places."""
    bent, free = np.zeros(places_m.size), np.zeros(places_m.size)
    for volume, width, axis_m in zip(troughs.trough_volume_m3_m, troughs.trough_width_m, troughs.axis_offset_m, strict=True):
        from_axis, size = (places_m - axis_m) / width, volume / (_ROOT_2_PI * width**3)
        bent -= size * _response(np.asarray(ratio_m4 / width**4), from_axis, 2)
        free += size * (np.square(from_axis) - 1) * np.exp(-0.5 * np.square(from_axis))
    return bent, free


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SlipStrain(Record):
    """Strain along a pipe; ``slips`` is 1 when friction is used up, else 0."""

    axial_strain: FloatArray
    slips: FloatArray


@method(
    "assets.pipe.axial_slip",
    formulas={
        "axial_strain": Formula("eps_a", "min(abs(eps_t), tau_s * pi * D_e * L_a / EA)"),
        "slips": Formula("is_slipping", "1 if tau_s * pi * D_e * L_a / EA < abs(eps_t) else 0"),
    },
    symbols={"shaft_friction_kpa": "tau_s", "anchorage_length_m": "L_a"},
    possible={"shaft_friction_kpa": (0.0, 5000.0), "anchorage_length_m": (0.0, 10000.0), "axial_stiffness_kn": (1e-3, np.inf)},
    kind="upper bound",
    source=AXIAL_SLIP,
)
def axial_slip(
    tensile_strain: Number, shaft_friction_kpa: Number, pipe_outer_diameter_m: Number, anchorage_length_m: Number, axial_stiffness_kn: Number
) -> SlipStrain:
    """Return the strain along a continuous pipe that friction can bring in.

    Parameters
    ----------
    tensile_strain : greatest of the ground along the pipe, of either sign.
    shaft_friction_kpa : on the outside.
    pipe_outer_diameter_m : outside.
    anchorage_length_m : over which the ground pulls one way, from no to the greatest displacement.
    axial_stiffness_kn : EA of the pipe.
    """
    bound = shaft_friction_kpa * np.pi * np.asarray(pipe_outer_diameter_m) * anchorage_length_m / axial_stiffness_kn
    of_ground = np.abs(tensile_strain)
    return SlipStrain(axial_strain=np.minimum(of_ground, bound), slips=(bound < of_ground).astype(np.float64))
