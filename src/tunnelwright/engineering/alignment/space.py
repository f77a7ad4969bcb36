"""The axis as a curve in space: curvature, length and the frame that moves along it.

forward f, right r, down d = f x r, each (easting, northing, level)
"""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from tunnelwright.engineering.alignment.sources import GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

CurveType = Literal["parabola", "circle"]


def _bend(vertical_radius_m: Number) -> FloatArray:
    """Return 1 over a signed radius; 0 for the radius 0, which means a constant gradient as in the table of a profile."""
    radius = np.asarray(vertical_radius_m, dtype=np.float64)
    return np.where(radius == 0, 0.0, 1 / np.where(radius == 0, 1.0, radius))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpaceCurvature(Record):
    """Curvature of the axis in space; radius and direction are NaN where it is straight."""

    space_curvature_1_m: FloatArray
    space_radius_m: FloatArray
    vertical_curvature_1_m: FloatArray
    bend_clock_angle_rad: FloatArray


@method(
    "alignment.space.curvature",
    formulas={
        "space_curvature_1_m": Formula("kappa", "sqrt(kappa_v^2 + (kappa_h / (1 + i^2))^2)"),
        "space_radius_m": Formula("R", "1 / kappa if kappa > 0 else 0 / 0"),
        "vertical_curvature_1_m": Formula("kappa_v", '0 if R_v == 0 else (1 / R_v / (1 + i^2)^1.5 if curve_type == "parabola" else 1 / R_v)'),
        "bend_clock_angle_rad": Formula("theta_b", "atan2(kappa_h / (1 + i^2), kappa_v) if kappa > 0 else 0 / 0"),
    },
    symbols={"horizontal_curvature_1_m": "kappa_h", "gradient": "i"},
    possible={"horizontal_curvature_1_m": (-1.0, 1.0)},
    kind="identity",
    source=GEOMETRY,
)
def space_curvature(horizontal_curvature_1_m: Number, gradient: Number, vertical_radius_m: Number = 0.0, curve_type: CurveType = "parabola") -> SpaceCurvature:
    """Return the curvature of the axis in space, and the clock direction towards its centre.

    Parameters
    ----------
    horizontal_curvature_1_m : of the plan, positive right.
    gradient : uphill positive.
    vertical_radius_m : signed, sag positive; 0 is a constant gradient.
    curve_type : a parabola has its radius at the level point only.

    Notes
    -----
    The tangent is (cos t cos b, cos t sin b, sin t) with slope t and bearing b. Along the axis in space the bearing turns by kappa_h cos t per metre,
    so the part of the curvature across the slope is kappa_h cos^2 t; that in the vertical plane is kappa_v.
    """
    rise = 1 + np.square(gradient)
    vertical = _bend(vertical_radius_m) / (rise**1.5 if curve_type == "parabola" else 1.0)
    sideways = horizontal_curvature_1_m / rise
    curvature = np.hypot(vertical, sideways)
    is_bent = curvature > 0
    return SpaceCurvature(
        space_curvature_1_m=curvature,
        space_radius_m=np.where(is_bent, 1 / np.where(is_bent, curvature, 1.0), np.nan),
        vertical_curvature_1_m=vertical,
        bend_clock_angle_rad=np.where(is_bent, np.arctan2(sideways, vertical), np.nan),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpaceLength(Record):
    """Length of a stretch of the axis in space, and the gradient at its end."""

    space_length_m: FloatArray
    end_gradient: FloatArray


_CIRCLE_SINE = "(i_1 / sqrt(1 + i_1^2) + l / R_v)"


@method(
    "alignment.space.length",
    formulas={
        "space_length_m": Formula(
            "l_s",
            "l * sqrt(1 + i_1^2) if R_v == 0 else (R_v / 2 * (i_2 * sqrt(1 + i_2^2) + asinh(i_2) - i_1 * sqrt(1 + i_1^2) - asinh(i_1)) "
            'if curve_type == "parabola" else R_v * (atan(i_2) - atan(i_1)))',
        ),
        "end_gradient": Formula("i_2", f'i_1 if R_v == 0 else (i_1 + l / R_v if curve_type == "parabola" else {_CIRCLE_SINE} / sqrt(1 - {_CIRCLE_SINE}^2))'),
    },
    symbols={"horizontal_length_m": "l", "start_gradient": "i_1"},
    possible={"horizontal_length_m": (0.0, 1e6)},
    requires=(
        Require(
            "horizontal_length_m",
            lambda v: np.all(np.abs(v["start_gradient"] + v["horizontal_length_m"] * _bend(v["vertical_radius_m"])) < 1),
            "must not lead a vertical curve to a gradient of 100 % or more",
        ),
    ),
    kind="identity",
    source=GEOMETRY,
)
def space_length(horizontal_length_m: Number, start_gradient: Number, vertical_radius_m: Number = 0.0, curve_type: CurveType = "parabola") -> SpaceLength:
    """Return the length in space of a stretch of one grade or one vertical curve.

    Parameters
    ----------
    horizontal_length_m : difference of chainage.
    start_gradient : at its start, uphill positive.
    vertical_radius_m : signed, sag positive; 0 is a constant gradient.
    curve_type : form of the vertical curve.
    """
    bend = _bend(vertical_radius_m)
    first = np.asarray(start_gradient)
    if curve_type == "parabola":
        last = first + horizontal_length_m * bend
        curved = vertical_radius_m / 2 * (last * np.sqrt(1 + last**2) + np.arcsinh(last) - first * np.sqrt(1 + first**2) - np.arcsinh(first))
    else:
        sine = first / np.sqrt(1 + first**2) + horizontal_length_m * bend
        last = np.where(bend == 0, first, sine / np.sqrt(1 - sine**2))
        curved = vertical_radius_m * (np.arctan(last) - np.arctan(first))
    return SpaceLength(space_length_m=np.where(bend == 0, horizontal_length_m * np.sqrt(1 + first**2), curved), end_gradient=last)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisFrame(Record):
    """Unit vectors of the frame on the axis, each easting, northing, level."""

    forward: Series
    right: Series
    down: Series


def _unit_and_square(values: Values) -> bool:
    frame = np.stack([values["forward"], values["right"], values["down"]], axis=-2)
    return bool(np.allclose(frame @ np.swapaxes(frame, -1, -2), np.eye(3), atol=1e-12))


def _right_handed(values: Values) -> bool:
    return bool(np.allclose(np.cross(values["forward"], values["right"]), values["down"], atol=1e-12))


_FRAME: dict[str, Any] = {"three unit vectors, square to each other": _unit_and_square, "down is forward times right": _right_handed}


@method(
    "alignment.space.frame",
    found_by={
        "forward": Algorithm("(cos t sin b, cos t cos b, sin t) with t = atan(gradient) and b = bearing", "f", _FRAME),
        "right": Algorithm("(cos b, -sin b, 0)", "r", _FRAME),
        "down": Algorithm("(sin t sin b, sin t cos b, -cos t)", "d", _FRAME),
    },
    kind="identity",
    source=GEOMETRY,
)
def axis_frame(bearing_rad: Number, gradient: Number) -> AxisFrame:
    """Return the frame forward, right, down on the axis.

    Parameters
    ----------
    bearing_rad : clockwise from north.
    gradient : uphill positive.
    """
    bearing, slope = np.broadcast_arrays(bearing_rad, np.arctan(gradient))
    sine, cosine = np.sin(bearing), np.cos(bearing)
    return AxisFrame(
        forward=np.stack([np.cos(slope) * sine, np.cos(slope) * cosine, np.sin(slope)], axis=-1),
        right=np.stack([cosine, -sine, np.zeros_like(sine)], axis=-1),
        down=np.stack([np.sin(slope) * sine, np.sin(slope) * cosine, -np.cos(slope)], axis=-1),
    )
