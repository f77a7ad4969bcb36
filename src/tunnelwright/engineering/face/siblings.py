"""Other ways to the effective support pressure of a uniform drained face; they stand beside the wedge below a silo, never blended with it."""

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.face.declared import POSSIBLE, SYMBOLS, angle_in_radians
from tunnelwright.engineering.face.sources import ANAGNOSTOU_2012, ANAGNOSTOU_KOVARI_1996, KOLYMBAS_2005, LECA_DORMIEUX_1990, VERMEER_2002
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_FRICTION: Final = Require(
    "friction_angle_rad", lambda values: ~(values["friction_angle_rad"] <= 0), "must be greater than 0", "for clay that does not drain take its own method"
)
_IN_RADIANS: Final = angle_in_radians("friction_angle_rad")
_FRICTION_RANGE: Final = Range(math.radians(20.0), math.radians(50.0), "fitted from 20 deg on, for cover of at least one to one and a half diameters")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiblingSupport(Record):
    """Effective support of a uniform face."""

    effective_support_pressure_kpa: FloatArray


@method(
    "face.effective_support.vermeer_2002",
    formulas={"effective_support_pressure_kpa": Formula("e", "gamma' * D * (1 / (9 * tan(phi)) - 0.05) - c / tan(phi)")},
    symbols=SYMBOLS,
    possible=POSSIBLE,
    valid={"friction_angle_rad": _FRICTION_RANGE},
    requires=(_FRICTION, _IN_RADIANS),
    kind="mean",
    source=VERMEER_2002,
)
def vermeer(excavation_diameter_m: Number, effective_unit_weight_kn_m3: Number, cohesion_kpa: Number, friction_angle_rad: Number) -> SiblingSupport:
    """Return the effective support pressure fitted to finite element calculations of deep headings.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    effective_unit_weight_kn_m3, cohesion_kpa, friction_angle_rad : of the ground in the face.
    """
    slope = np.tan(friction_angle_rad)
    weight = np.multiply(effective_unit_weight_kn_m3, excavation_diameter_m)
    with np.errstate(divide="ignore", invalid="ignore"):
        return SiblingSupport(effective_support_pressure_kpa=weight * (1 / (9 * slope) - 0.05) - cohesion_kpa / slope)


@method(
    "face.effective_support.anagnostou_2012",
    formulas={"effective_support_pressure_kpa": Formula("e", "0.05 * gamma' * D * (1 / tan(phi))^1.75 - c / tan(phi)")},
    symbols=SYMBOLS,
    possible=POSSIBLE,
    valid={"friction_angle_rad": Range(math.radians(20.0), math.radians(45.0), "fit to slices in equilibrium, deep, face of equal area; 5 % low at 35 deg")},
    requires=(_FRICTION, _IN_RADIANS),
    kind="mean",
    source=ANAGNOSTOU_2012,
)
def anagnostou(excavation_diameter_m: Number, effective_unit_weight_kn_m3: Number, cohesion_kpa: Number, friction_angle_rad: Number) -> SiblingSupport:
    """Return the effective support pressure fitted to slices that carry their own load.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    effective_unit_weight_kn_m3, cohesion_kpa, friction_angle_rad : of the ground in the face.
    """
    weight = np.multiply(effective_unit_weight_kn_m3, excavation_diameter_m)
    with np.errstate(divide="ignore", invalid="ignore"):
        cotangent = 1 / np.tan(friction_angle_rad)
        return SiblingSupport(effective_support_pressure_kpa=0.05 * weight * cotangent**1.75 - cohesion_kpa * cotangent)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ConeSupport(Record):
    """Effective support below which one rigid cone runs into the face."""

    cone_axis_angle_rad: FloatArray
    weight_factor: FloatArray
    effective_support_pressure_kpa: FloatArray
    apex_height_m: FloatArray


@method(
    "face.effective_support.leca_dormieux_cone",
    formulas={
        "cone_axis_angle_rad": Formula("a", "atan(sqrt((1 + cos(2 * phi)) / (2 - cos(2 * phi) + sqrt(5 - 4 * cos(2 * phi)))))"),
        "weight_factor": Formula("N", "tan(a) / (3 * (tan(a + phi) - tan(a - phi)))"),
        "effective_support_pressure_kpa": Formula("e", "N * gamma' * D - c / tan(phi)"),
        "apex_height_m": Formula("h_apex", "D * tan(a - phi) / (tan(a + phi) - tan(a - phi))"),
    },
    symbols=SYMBOLS | {"cone_axis_angle_rad": "a", "weight_factor": "N", "apex_height_m": "h_apex"},
    possible=POSSIBLE,
    requires=(_FRICTION, _IN_RADIANS),
    remarks=(
        Remark(
            lambda values: values["cover_m"] is not None and np.asarray(values["apex_height_m"]) > np.asarray(values["cover_m"]),
            "the cone would come out at the surface: this value does not hold for so little cover",
        ),
        Remark(lambda values: np.isfinite(values["weight_factor"]), "kinematic bound: the face needs at least this much, so the value lies on the unsafe side"),
    ),
    kind="upper bound",
    source=LECA_DORMIEUX_1990,
)
def leca_dormieux_cone(
    excavation_diameter_m: Number, effective_unit_weight_kn_m3: Number, cohesion_kpa: Number, friction_angle_rad: Number, cover_m: Number | None = None
) -> ConeSupport:
    """Return the effective support at which one cone of ground just begins to slide into the face.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    effective_unit_weight_kn_m3, cohesion_kpa, friction_angle_rad : of the ground in the face.
    cover_m : crown to surface; given, the apex of the cone is held against it.

    Notes
    -----
    The axis is inclined at the angle of the greatest load; its tangent squared solves a quadratic in the cosine of twice the friction angle.
    """
    twice = np.cos(2 * np.asarray(friction_angle_rad, dtype=np.float64))
    axis = np.arctan(np.sqrt((1 + twice) / (2 - twice + np.sqrt(5 - 4 * twice))))
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.tan(axis + friction_angle_rad) - np.tan(axis - friction_angle_rad)
        factor = np.tan(axis) / (3 * spread)
        support = factor * np.multiply(effective_unit_weight_kn_m3, excavation_diameter_m) - cohesion_kpa / np.tan(friction_angle_rad)
        apex = excavation_diameter_m * np.tan(axis - friction_angle_rad) / spread
    return ConeSupport(cone_axis_angle_rad=axis, weight_factor=factor, effective_support_pressure_kpa=support, apex_height_m=apex + _nothing(cover_m))


def _nothing(optional: Number | None) -> FloatArray:
    """Return zeros of the shape of an input that only a caution looks at, so that results broadcast with it."""
    return np.zeros(np.shape(optional) if optional is not None else ())


@method(
    "face.effective_support.kolymbas_2005",
    formulas={
        "effective_support_pressure_kpa": Formula(
            "e",
            'C * (gamma\' - (2 if shape == "sphere" else 1) * c / r * cos(phi) / (1 - sin(phi)))'
            ' / (1 + (2 if shape == "sphere" else 1) * C / r * sin(phi) / (1 - sin(phi)))',
        )
    },
    symbols=SYMBOLS | {"radius_m": "r"},
    possible=POSSIBLE | {"radius_m": (0.5, 20.0)},
    requires=(_IN_RADIANS,),
    kind="mean",
    source=KOLYMBAS_2005,
)
def kolymbas(
    cover_m: Number,
    radius_m: Number,
    effective_unit_weight_kn_m3: Number,
    cohesion_kpa: Number,
    friction_angle_rad: Number,
    shape: Literal["cylinder", "sphere"] = "sphere",
) -> SiblingSupport:
    """Return the effective pressure at the crown when the ground above it arches as a parabola of stress and just yields at the crown.

    Parameters
    ----------
    cover_m : crown to ground or bed.
    radius_m : of the crown.
    effective_unit_weight_kn_m3, cohesion_kpa, friction_angle_rad : of the ground above.
    shape : cylinder over a roof, sphere over a face.
    """
    curvatures = 2.0 if shape == "sphere" else 1.0
    cover, radius, angle = (np.asarray(value, dtype=np.float64) for value in (cover_m, radius_m, friction_angle_rad))
    cohesive = curvatures * cohesion_kpa / radius * np.cos(angle) / (1 - np.sin(angle))
    frictional = curvatures * cover / radius * np.sin(angle) / (1 - np.sin(angle))
    return SiblingSupport(effective_support_pressure_kpa=cover * (effective_unit_weight_kn_m3 - cohesive) / (1 + frictional))


@method(
    "face.effective_support.seepage_form_1996",
    formulas={"effective_support_pressure_kpa": Formula("e", "F_0 * gamma' * D - F_1 * c + F_2 * gamma' * Delta_h - F_3 * c * Delta_h / D")},
    symbols=SYMBOLS | {"weight_factor": "F_0", "cohesion_factor": "F_1", "seepage_factor": "F_2", "seepage_cohesion_factor": "F_3"},
    possible=POSSIBLE
    | {
        "weight_factor": (0.0, 3.0),
        "cohesion_factor": (0.0, 20.0),
        "seepage_factor": (0.0, 3.0),
        "seepage_cohesion_factor": (0.0, 20.0),
        "head_difference_m": (0.0, 200.0),
    },
    remarks=(
        Remark(
            lambda values: (np.asarray(values["head_difference_m"]) > 0) & (np.asarray(values["seepage_factor"]) == 0),
            "a head difference is given without its factor: seepage towards the face is not counted",
        ),
    ),
    kind="screening",
    source=ANAGNOSTOU_KOVARI_1996,
)
def seepage_form(
    excavation_diameter_m: Number,
    effective_unit_weight_kn_m3: Number,
    cohesion_kpa: Number,
    weight_factor: Number,
    cohesion_factor: Number,
    head_difference_m: Number = 0.0,
    seepage_factor: Number = 0.0,
    seepage_cohesion_factor: Number = 0.0,
) -> SiblingSupport:
    """Return the effective support pressure from dimensionless factors of weight, cohesion and seepage.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    effective_unit_weight_kn_m3, cohesion_kpa : of the ground in the face.
    weight_factor, cohesion_factor : from a wedge of diameter 1 in ground of weight 1.
    head_difference_m : head in the ground less head in the chamber.
    seepage_factor, seepage_cohesion_factor : from a solution of the flow to the face.
    """
    diameter, head = np.asarray(excavation_diameter_m, dtype=np.float64), np.asarray(head_difference_m, dtype=np.float64)
    at_rest = weight_factor * effective_unit_weight_kn_m3 * diameter - np.multiply(cohesion_factor, cohesion_kpa)
    flowing = np.multiply(seepage_factor, effective_unit_weight_kn_m3) * head - np.multiply(seepage_cohesion_factor, cohesion_kpa) * head / diameter
    return SiblingSupport(effective_support_pressure_kpa=at_rest + flowing)
