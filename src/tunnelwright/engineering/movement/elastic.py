"""Closed forms of elastic ground around a tunnel that closes: checks beside the normal trough, whose far field they exceed.

y across, z down from the surface, h the axis depth, R the radius; z - h and z + h are the distances to the tunnel and to its image.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from tunnelwright.engineering.movement.sources import LOGANATHAN_POULOS_1998, SAGASETA_1987, VERRUIJT_BOOKER_1996
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_INSIDE: Final = Remark(
    lambda v: np.hypot(v["offset_m"], np.subtract(v["depth_m"], v["axis_depth_m"])) < np.asarray(v["excavation_diameter_m"]) / 2,
    "not checked: the point lies inside the tunnel",
)
_BELOW_GROUND: Final = Require(
    "axis_depth_m", lambda v: ~(np.asarray(v["axis_depth_m"]) <= np.asarray(v["excavation_diameter_m"]) / 2), "must be more than the radius: axis, not cover"
)
_SYMBOLS: Final = {"axis_depth_m": "h", "poisson_ratio": "nu"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElasticMovement(Record):
    """Movement at a point, settlement down, sideways to the right."""

    settlement_m: FloatArray
    horizontal_displacement_m: FloatArray


_RADIAL_Z: Final = "-eps_0 * (D / 2)^2 * ((z - h) / (y^2 + (z - h)^2) + (z + h) / (y^2 + (z + h)^2))"
_OVAL_Z: Final = (
    "delta * (D / 2)^2 * ((z - h) * (nu / (1 - nu) * y^2 - (z - h)^2) / (y^2 + (z - h)^2)^2"
    " + (z + h) * (nu / (1 - nu) * y^2 - (z + h)^2) / (y^2 + (z + h)^2)^2)"
)
_RADIAL_FREE_Z: Final = "2 * eps_0 * (D / 2)^2 * (2 * (1 - nu) * (z + h) / (y^2 + (z + h)^2) - z * (y^2 - (z + h)^2) / (y^2 + (z + h)^2)^2)"
_OVAL_FREE_Z: Final = (
    "2 * delta * (D / 2)^2 * h * ((y^2 - (z + h)^2) / (y^2 + (z + h)^2)^2 + z * (z + h) * (3 * y^2 - (z + h)^2) / ((1 - nu) * (y^2 + (z + h)^2)^3))"
)
_RADIAL_Y: Final = "-eps_0 * (D / 2)^2 * (y / (y^2 + (z - h)^2) + y / (y^2 + (z + h)^2))"
_OVAL_Y: Final = (
    "delta * (D / 2)^2 * (y * (y^2 - nu / (1 - nu) * (z - h)^2) / (y^2 + (z - h)^2)^2 + y * (y^2 - nu / (1 - nu) * (z + h)^2) / (y^2 + (z + h)^2)^2)"
)
_RADIAL_FREE_Y: Final = "2 * eps_0 * (D / 2)^2 * y * ((1 - 2 * nu) / (y^2 + (z + h)^2) - 2 * z * (z + h) / (y^2 + (z + h)^2)^2)"
_OVAL_FREE_Y: Final = (
    "2 * delta * (D / 2)^2 * y * h / (1 - nu) * ((1 - 2 * nu) * (z + h) / (y^2 + (z + h)^2)^2 + z * (y^2 - 3 * (z + h)^2) / (y^2 + (z + h)^2)^3)"
)


@method(
    "movement.elastic.verruijt_booker_1996",
    formulas={
        "settlement_m": Formula("S", f"{_RADIAL_Z} + {_OVAL_Z} + {_RADIAL_FREE_Z} - {_OVAL_FREE_Z}"),
        "horizontal_displacement_m": Formula("u_y", f"{_RADIAL_Y} + {_OVAL_Y} - {_RADIAL_FREE_Y} - {_OVAL_FREE_Y}"),
    },
    symbols={**_SYMBOLS, "radial_strain": "eps_0", "ovalisation": "delta"},
    possible={"radial_strain": (-0.05, 0.1), "ovalisation": (-0.1, 0.1), "axis_depth_m": (0.5, 400.0)},
    valid={"radial_strain": Range(0.0, 0.025, "small strain"), "ovalisation": Range(-0.025, 0.025, "small strain")},
    requires=(_BELOW_GROUND,),
    remarks=(_INSIDE,),
    kind="mean",
    source=VERRUIJT_BOOKER_1996,
)
def closing_and_flattening(
    excavation_diameter_m: Number,
    axis_depth_m: Number,
    radial_strain: Number,
    poisson_ratio: Number,
    offset_m: Number,
    ovalisation: Number = 0.0,
    depth_m: Number = 0.0,
) -> ElasticMovement:
    """Return the movement of an elastic half plane around a tunnel that closes evenly and flattens.

    Parameters
    ----------
    excavation_diameter_m : cut diameter.
    axis_depth_m : surface to axis.
    radial_strain : inward movement of the wall over the radius, half the volume loss.
    poisson_ratio : of the ground, 0.5 undrained.
    offset_m, depth_m : of the point.
    ovalisation : part by which crown and invert approach and the sides spread, over the radius.

    Notes
    -----
    Two singularities at the axis and their images make normal stress vanish at the surface; the rest of the terms takes away the shear.
    """
    square = np.square(excavation_diameter_m) / 4
    across, image = np.asarray(offset_m, dtype=np.float64), np.add(depth_m, axis_depth_m)
    real_strength = np.asarray(np.divide(poisson_ratio, np.subtract(1.0, poisson_ratio)))
    closing, oval = radial_strain * square, ovalisation * square
    down, sideways = np.zeros(()), np.zeros(())
    for height in (np.subtract(depth_m, axis_depth_m), image):
        radius2 = np.square(across) + np.square(height)
        down = down - closing * height / radius2 + oval * height * (real_strength * np.square(across) - np.square(height)) / np.square(radius2)
        sideways = sideways - closing * across / radius2 + oval * across * (np.square(across) - real_strength * np.square(height)) / np.square(radius2)
    radius2, difference = np.square(across) + np.square(image), np.square(across) - np.square(image)
    freedom = np.subtract(1.0, poisson_ratio)
    compressible = 1 - 2 * np.asarray(poisson_ratio)
    down = down + 2 * closing * (2 * freedom * image / radius2 - depth_m * difference / np.square(radius2))
    down = down - 2 * oval * axis_depth_m * (
        difference / np.square(radius2) + depth_m * image * (3 * np.square(across) - np.square(image)) / (freedom * radius2**3)
    )
    sideways = sideways - 2 * closing * across * (compressible / radius2 - 2 * depth_m * image / np.square(radius2))
    sideways = sideways - 2 * oval * across * axis_depth_m / freedom * (
        compressible * image / np.square(radius2) + depth_m * (np.square(across) - 3 * np.square(image)) / radius2**3
    )
    return ElasticMovement(settlement_m=down, horizontal_displacement_m=sideways)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GapMovement(Record):
    """Movement at a point, and the surface volume over the ground lost."""

    settlement_m: FloatArray
    horizontal_displacement_m: FloatArray
    surface_volume_factor: FloatArray


_DECAY: Final = "exp(-(1.38 * y^2 / (h / tan(pi / 4 + phi / 2) + D / 2)^2 + 0.69 * z^2 / h^2))"
_A: Final = "1.38 * h^2 / (h / tan(pi / 4 + phi / 2) + D / 2)^2"


@method(
    "movement.elastic.loganathan_poulos_1998",
    formulas={
        "settlement_m": Formula(
            "S",
            "V_L * (D / 2)^2 * (-(z - h) / (y^2 + (z - h)^2) + (3 - 4 * nu) * (z + h) / (y^2 + (z + h)^2)"
            f" - 2 * z * (y^2 - (z + h)^2) / (y^2 + (z + h)^2)^2) * {_DECAY}",
        ),
        "horizontal_displacement_m": Formula(
            "u_y",
            f"-V_L * (D / 2)^2 * y * (1 / (y^2 + (z - h)^2) + (3 - 4 * nu) / (y^2 + (z + h)^2) - 4 * z * (z + h) / (y^2 + (z + h)^2)^2) * {_DECAY}",
        ),
        "surface_volume_factor": Formula("f_V", f"4 * (1 - nu) * exp({_A}) * (1 - erf(sqrt({_A})))"),
    },
    symbols={**_SYMBOLS, "friction_angle_rad": "phi"},
    possible={"axis_depth_m": (0.5, 400.0)},
    valid={"volume_loss": Range(0.0, 0.05, "clay")},
    requires=(_BELOW_GROUND,),
    remarks=(
        _INSIDE,
        Remark(lambda v: np.abs(np.asarray(v["surface_volume_factor"]) - 1) > 0.05, "the surface trough does not hold the volume that was lost"),
        Remark(lambda v: (np.asarray(v["friction_angle_rad"]) > 0) & (np.asarray(v["depth_m"]) > 0), "drained ground is described at the surface only"),
    ),
    kind="mean",
    source=LOGANATHAN_POULOS_1998,
)
def gap_closing(
    excavation_diameter_m: Number,
    axis_depth_m: Number,
    volume_loss: Number,
    offset_m: Number,
    poisson_ratio: Number = 0.5,
    friction_angle_rad: Number = 0.0,
    depth_m: Number = 0.0,
) -> GapMovement:
    """Return the movement around a tunnel whose gap closes mostly from the crown.

    Parameters
    ----------
    excavation_diameter_m : cut diameter.
    axis_depth_m : surface to axis.
    volume_loss : undrained ground loss of the gap, e_0.
    offset_m, depth_m : of the point.
    poisson_ratio : of the ground.
    friction_angle_rad : 0 for undrained clay; makes the surface trough narrower.
    """
    square = np.square(excavation_diameter_m) / 4
    across, above, image = np.asarray(offset_m, dtype=np.float64), np.subtract(depth_m, axis_depth_m), np.add(depth_m, axis_depth_m)
    near2, image2 = np.square(across) + np.square(above), np.square(across) + np.square(image)
    reach_m = axis_depth_m / np.tan(np.pi / 4 + np.asarray(friction_angle_rad) / 2) + np.asarray(excavation_diameter_m) / 2
    decay = np.exp(-(1.38 * np.square(across / reach_m) + 0.69 * np.square(np.divide(depth_m, axis_depth_m))))
    stretch = 3 - 4 * np.asarray(poisson_ratio)
    down = -above / near2 + stretch * image / image2 - 2 * depth_m * (np.square(across) - np.square(image)) / np.square(image2)
    sideways = 1 / near2 + stretch / image2 - 4 * depth_m * image / np.square(image2)
    return GapMovement(
        settlement_m=volume_loss * square * down * decay,
        horizontal_displacement_m=-volume_loss * square * across * sideways * decay,
        surface_volume_factor=4 * np.subtract(1.0, poisson_ratio) * special.erfcx(np.sqrt(1.38) * axis_depth_m / reach_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PointSinkMovement(Record):
    """Movement of the surface around the head of a drive."""

    settlement_m: FloatArray
    horizontal_displacement_along_m: FloatArray
    horizontal_displacement_across_m: FloatArray


@method(
    "movement.elastic.sagaseta_1987",
    formulas={
        "settlement_m": Formula("S", "V_s / (2 * pi) * h / (y^2 + h^2) * (1 - x / sqrt(x^2 + y^2 + h^2))"),
        "horizontal_displacement_along_m": Formula("u_x", "-V_s / (2 * pi) / sqrt(x^2 + y^2 + h^2)"),
        "horizontal_displacement_across_m": Formula("u_y", "-y / h * S"),
    },
    symbols={"axis_depth_m": "h", "distance_from_face_m": "x"},
    possible={"axis_depth_m": (0.5, 400.0)},
    kind="mean",
    source=SAGASETA_1987,
)
def point_sinks(trough_volume_m3_m: Number, axis_depth_m: Number, distance_from_face_m: Number, offset_m: Number) -> PointSinkMovement:
    """Return the movement of the surface of incompressible ground above a half-infinite line of sinks.

    Parameters
    ----------
    trough_volume_m3_m : ground lost per metre of drive.
    axis_depth_m : surface to axis.
    distance_from_face_m : of the point, positive ahead.
    offset_m : of the point.
    """
    strength = np.asarray(trough_volume_m3_m) / (2 * np.pi)
    across2 = np.square(offset_m) + np.square(axis_depth_m)
    distance_m = np.sqrt(np.square(distance_from_face_m) + across2)
    # Far ahead 1 - x / r is the small difference of two near numbers; written as a quotient it keeps its digits.
    lead = np.where(
        np.asarray(distance_from_face_m) > 0, across2 / (distance_m * (distance_m + np.abs(distance_from_face_m))), 1 - distance_from_face_m / distance_m
    )
    settlement_m = strength * axis_depth_m / across2 * lead
    return PointSinkMovement(
        settlement_m=settlement_m,
        horizontal_displacement_along_m=-strength / distance_m,
        horizontal_displacement_across_m=-np.divide(offset_m, axis_depth_m) * settlement_m,
    )
