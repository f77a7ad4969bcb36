"""Movement at any point of the ground for any position of the face of a straight drive.

    x_1                     x_e    x_f          drive direction ->
     |=======================|......|
   start             effective    face          x_e = x_f + i Phi^-1(r), behind a closed face

Sources of equal strength lie between start and effective face; in plan each leaves a normal dimple of width i. What follows holds for a
level: i and the focus H belong to that level.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from tunnelwright.engineering.movement.release import CLOSED_FACE_RATIO, RATIO_POSSIBLE
from tunnelwright.engineering.movement.sources import ATTEWELL_WOODMAN_1982, STRAIN_TENSOR
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
# Beyond so many widths nothing is left of a dimple; keeps an infinite start or end out of products.
_FAR_WIDTHS: Final = 40.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriveMovement(Record):
    """Movement at points for one position of the face; horizontal results are NaN without a focus."""

    effective_face_chainage_m: FloatArray
    developed_ratio: FloatArray
    settlement_m: FloatArray
    slope_along: FloatArray
    slope_across: FloatArray
    curvature_along_1_m: FloatArray
    horizontal_displacement_along_m: FloatArray
    horizontal_displacement_across_m: FloatArray
    tensile_strain_along: FloatArray
    tensile_strain_across: FloatArray
    shear_strain: FloatArray


def effective_face(
    face_chainage_m: Number, start_chainage_m: Number, end_chainage_m: Number, settlement_ratio_at_face: Number, lag_trough_width_m: Number
) -> FloatArray:
    """Return the chainage to which all loss counts as released: lagged, never before the start, without lag once the drive has ended.

    Parameters
    ----------
    face_chainage_m, start_chainage_m, end_chainage_m : of the drive.
    settlement_ratio_at_face : share of the final settlement above the face.
    lag_trough_width_m : width of the trough at the surface.
    """
    lagged = np.add(face_chainage_m, np.multiply(lag_trough_width_m, special.ndtri(settlement_ratio_at_face)))
    running = np.where((lagged <= start_chainage_m) | (np.asarray(face_chainage_m) <= start_chainage_m), start_chainage_m, lagged)
    return np.where((np.asarray(face_chainage_m) >= end_chainage_m) | (running >= end_chainage_m), end_chainage_m, running)


_X_E: Final = (
    "x_2 if x_f >= x_2 else (x_1 if x_f <= x_1 or x_f + i_lag * Phi_inverse(r) <= x_1"
    " else (x_2 if x_f + i_lag * Phi_inverse(r) >= x_2 else x_f + i_lag * Phi_inverse(r)))"
)
_FROM_START: Final = "(1 if x_1 < -1e9 else Phi((x - x_1) / i))"
_FROM_FACE: Final = "(0 if x_e > 1e9 else (1 if x_e < -1e9 else Phi((x - x_e) / i)))"
_START_TERM: Final = "(0 if x_1 < -1e9 else exp(-(x - x_1)^2 / (2 * i^2)))"
_FACE_TERM: Final = "(0 if abs(x_e) > 1e9 else exp(-(x - x_e)^2 / (2 * i^2)))"
_START_MOMENT: Final = "(0 if x_1 < -1e9 else (x - x_1) * exp(-(x - x_1)^2 / (2 * i^2)))"
_FACE_MOMENT: Final = "(0 if abs(x_e) > 1e9 else (x - x_e) * exp(-(x - x_e)^2 / (2 * i^2)))"


@method(
    "movement.longitudinal.attewell_woodman_1982",
    formulas={
        "effective_face_chainage_m": Formula("x_e", _X_E),
        "developed_ratio": Formula("r_d", f"{_FROM_START} - {_FROM_FACE}"),
        "settlement_m": Formula("S", "V_L * pi / 4 * D^2 / (sqrt(2 * pi) * i) * exp(-y^2 / (2 * i^2)) * r_d"),
        "slope_along": Formula("S'_x", f"V_L * D^2 / (8 * i^2) * exp(-y^2 / (2 * i^2)) * ({_START_TERM} - {_FACE_TERM})"),
        "slope_across": Formula("S'_y", "-S * y / i^2"),
        "curvature_along_1_m": Formula("kappa_x", f"V_L * D^2 / (8 * i^4) * exp(-y^2 / (2 * i^2)) * ({_FACE_MOMENT} - {_START_MOMENT})"),
        "horizontal_displacement_along_m": Formula("u_x", "i^2 / H * S'_x"),
        "horizontal_displacement_across_m": Formula("u_y", "-S * y / H"),
        "tensile_strain_along": Formula("eps_x", "i^2 / H * kappa_x"),
        "tensile_strain_across": Formula("eps_y", "S / H * (y^2 / i^2 - 1)"),
        "shear_strain": Formula("eps_xy", "-y / H * S'_x"),
    },
    derived={"lag_trough_width_m": Formula("i_lag", "i")},
    symbols={"settlement_ratio_at_face": "r", "focus_distance_m": "H", "lag_trough_width_m": "i_lag"},
    possible={"settlement_ratio_at_face": RATIO_POSSIBLE, "face_chainage_m": (-np.inf, np.inf), "lag_trough_width_m": (0.1, 300.0)},
    valid={
        "volume_loss": Range(0.0, 0.05, "short term, one drive, level greenfield surface"),
        "settlement_ratio_at_face": Range(0.1, 0.5, "0.5 is an open face; 0.25 to 0.3 is usual for a closed one"),
    },
    requires=(Require("end_chainage_m", lambda v: ~(v["end_chainage_m"] < v["start_chainage_m"]), "must not lie before start_chainage_m"),),
    kind="mean",
    source=ATTEWELL_WOODMAN_1982,
)
def drive_movement(
    volume_loss: Number,
    excavation_diameter_m: Number,
    trough_width_m: Number,
    chainage_m: Number,
    offset_m: Number,
    face_chainage_m: Number,
    start_chainage_m: Number = -np.inf,
    end_chainage_m: Number = np.inf,
    settlement_ratio_at_face: Number = CLOSED_FACE_RATIO,
    focus_distance_m: Number | None = None,
    lag_trough_width_m: Number = DERIVED,
) -> DriveMovement:
    """Return the movement at a point while a straight drive passes.

    Parameters
    ----------
    volume_loss : trough volume over bored volume.
    excavation_diameter_m : cut diameter.
    trough_width_m : at the level of the point.
    chainage_m, offset_m : of the point, along the drive and right of the axis.
    face_chainage_m : of the face, or infinite.
    start_chainage_m : where the drive begins; never shifted.
    end_chainage_m : where it ends; from then on nothing lags, the tail being grouted.
    settlement_ratio_at_face : share of the final settlement already there above the face.
    focus_distance_m : depth of the focus below the level; without it there are no horizontal results.
    lag_trough_width_m : width at the surface, which sets the lag at every depth.

    Notes
    -----
    Horizontal movement is i^2 / H times the slope of the settlement in each direction, strain i^2 / H times its second derivative; near
    the face the ground moves back against the drive. ``shear_strain`` is the component of the tensor, half the change of angle.
    """
    width = np.asarray(trough_width_m, dtype=np.float64)
    reached_m = effective_face(face_chainage_m, start_chainage_m, end_chainage_m, settlement_ratio_at_face, lag_trough_width_m)
    from_start = np.clip(_widths_from(chainage_m, start_chainage_m, width), -_FAR_WIDTHS, _FAR_WIDTHS)
    from_face = np.clip(_widths_from(chainage_m, reached_m, width), -_FAR_WIDTHS, _FAR_WIDTHS)
    at_start, at_face = np.exp(-0.5 * np.square(from_start)), np.exp(-0.5 * np.square(from_face))
    developed = special.ndtr(from_start) - special.ndtr(from_face)
    across = np.exp(-0.5 * np.square(offset_m / width))
    settlement_m = volume_loss * np.pi / 4 * np.square(excavation_diameter_m) / (_ROOT_2_PI * width) * across * developed
    source = volume_loss * np.square(excavation_diameter_m) / (8 * np.square(width)) * across
    slope = source * (at_start - at_face)
    curvature = source / width * (from_face * at_face - from_start * at_start)
    focus_m = np.nan if focus_distance_m is None else focus_distance_m
    return DriveMovement(
        effective_face_chainage_m=reached_m,
        developed_ratio=developed,
        settlement_m=settlement_m,
        slope_along=slope,
        slope_across=-settlement_m * offset_m / np.square(width),
        curvature_along_1_m=curvature,
        horizontal_displacement_along_m=np.square(width) / focus_m * slope,
        horizontal_displacement_across_m=-settlement_m * offset_m / focus_m,
        tensile_strain_along=np.square(width) / focus_m * curvature,
        tensile_strain_across=settlement_m / focus_m * (np.square(offset_m / width) - 1),
        shear_strain=-np.divide(offset_m, focus_m) * slope,
    )


def _widths_from(chainage_m: Number, place_m: Number, width_m: FloatArray) -> FloatArray:
    return np.asarray(np.subtract(chainage_m, place_m) / width_m, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineStrain(Record):
    """Strain of the ground along a line."""

    tensile_strain: FloatArray


@method(
    "movement.strain.along_line",
    formulas={
        "tensile_strain": Formula("eps_t", "eps_x * cos(theta)^2 + eps_y * sin(theta)^2 + 2 * eps_xy * sin(theta) * cos(theta)"),
    },
    symbols={"line_angle_rad": "theta"},
    possible={"line_angle_rad": (-7.0, 7.0)},
    kind="identity",
    source=STRAIN_TENSOR,
)
def line_strain(tensile_strain_along: Number, tensile_strain_across: Number, shear_strain: Number, line_angle_rad: Number) -> LineStrain:
    """Return the strain of the ground along a line at any angle to the drive.

    Parameters
    ----------
    tensile_strain_along, tensile_strain_across : along and across the drive, extension positive.
    shear_strain : component of the tensor, half the change of angle.
    line_angle_rad : from the drive direction towards the right.
    """
    cosine, sine = np.cos(line_angle_rad), np.sin(line_angle_rad)
    return LineStrain(
        tensile_strain=tensile_strain_along * np.square(cosine) + tensile_strain_across * np.square(sine) + 2 * np.multiply(shear_strain, sine) * cosine
    )
