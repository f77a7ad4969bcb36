"""Vertical curves at an intersection of two gradients.

i1  ----______        ______----  i2     gradients, uphill positive in drive direction
              --.__.--                   curve; mid ordinate = curve minus vertex, positive in a sag
               vertex
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.alignment.sources import GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_GRADIENTS = {"start_gradient": "i_1", "end_gradient": "i_2"}
_UNSIGNED = {"vertical_radius_m": (0.0, 1e6)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VerticalParabola(Record):
    """A parabola between two gradients; the extreme is NaN where it lies outside the curve."""

    curve_length_m: FloatArray
    tangent_length_m: FloatArray
    mid_ordinate_m: FloatArray
    extreme_distance_m: FloatArray
    extreme_level_change_m: FloatArray


@method(
    "alignment.vertical.parabola",
    formulas={
        "curve_length_m": Formula("L_v", "R_v * abs(i_2 - i_1)"),
        "tangent_length_m": Formula("T", "L_v / 2"),
        "mid_ordinate_m": Formula("e", "L_v * (i_2 - i_1) / 8"),
        "extreme_distance_m": Formula("s_x", "-i_1 * sign(i_2 - i_1) * R_v if i_1 * i_2 <= 0 and i_1 != i_2 else 0 / 0"),
        "extreme_level_change_m": Formula("Delta_H", "-i_1^2 * sign(i_2 - i_1) * R_v / 2 if i_1 * i_2 <= 0 and i_1 != i_2 else 0 / 0"),
    },
    symbols=_GRADIENTS,
    possible=_UNSIGNED,
    kind="identity",
    source=GEOMETRY,
)
def vertical_parabola(start_gradient: Number, end_gradient: Number, vertical_radius_m: Number) -> VerticalParabola:
    """Return length, mid ordinate and extreme of a parabola that joins two gradients.

    Parameters
    ----------
    start_gradient, end_gradient : uphill positive in drive direction.
    vertical_radius_m : at the vertex, without sign; sag or crest follows from the gradients.

    Notes
    -----
    The extreme is counted from the start of the curve, its level from the level there; the tangent length is horizontal.
    """
    change = np.subtract(end_gradient, start_gradient)
    curve_length_m = vertical_radius_m * np.abs(change)
    has_extreme = (np.multiply(start_gradient, end_gradient) <= 0) & (change != 0)
    extreme_distance_m = np.where(has_extreme, -start_gradient * np.sign(change) * vertical_radius_m, np.nan)
    return VerticalParabola(
        curve_length_m=curve_length_m,
        tangent_length_m=curve_length_m / 2,
        mid_ordinate_m=curve_length_m * change / 8,
        extreme_distance_m=extreme_distance_m,
        extreme_level_change_m=start_gradient * extreme_distance_m / 2,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VerticalCircle(Record):
    """A circle between two gradients."""

    curve_length_m: FloatArray
    tangent_length_m: FloatArray
    external_distance_m: FloatArray


@method(
    "alignment.vertical.circle",
    formulas={
        "curve_length_m": Formula("L_v", "R_v * abs(sin(atan(i_2)) - sin(atan(i_1)))"),
        "tangent_length_m": Formula("T", "R_v * tan(abs(atan(i_2) - atan(i_1)) / 2)"),
        "external_distance_m": Formula("e", "R_v * (1 / cos((atan(i_2) - atan(i_1)) / 2) - 1)"),
    },
    symbols=_GRADIENTS,
    possible=_UNSIGNED,
    kind="identity",
    source=GEOMETRY,
)
def vertical_circle(start_gradient: Number, end_gradient: Number, vertical_radius_m: Number) -> VerticalCircle:
    """Return length, tangent and distance from the vertex of a circle that joins two gradients.

    Parameters
    ----------
    start_gradient, end_gradient : uphill positive in drive direction.
    vertical_radius_m : without sign.

    Notes
    -----
    The curve length is horizontal; the tangent runs along the grade; the distance from the vertex is taken along the bisector.
    """
    start_angle, end_angle = np.arctan(start_gradient), np.arctan(end_gradient)
    half_turn = np.abs(end_angle - start_angle) / 2
    return VerticalCircle(
        curve_length_m=vertical_radius_m * np.abs(np.sin(end_angle) - np.sin(start_angle)),
        tangent_length_m=vertical_radius_m * np.tan(half_turn),
        external_distance_m=vertical_radius_m * (1 / np.cos(half_turn) - 1),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnsymmetricalParabola(Record):
    """Two parabolas that share gradient and level at the station of the vertex."""

    vertex_gradient: FloatArray
    mid_ordinate_m: FloatArray


@method(
    "alignment.vertical.unsymmetrical_parabola",
    formulas={
        "vertex_gradient": Formula("i_v", "(i_1 * L_1 + i_2 * L_2) / (L_1 + L_2)"),
        "mid_ordinate_m": Formula("e", "L_1 * L_2 * (i_2 - i_1) / (2 * (L_1 + L_2))"),
    },
    symbols={**_GRADIENTS, "first_length_m": "L_1", "second_length_m": "L_2"},
    possible={"first_length_m": (1e-6, 1e5), "second_length_m": (1e-6, 1e5)},
    kind="identity",
    source=GEOMETRY,
)
def unsymmetrical_parabola(start_gradient: Number, end_gradient: Number, first_length_m: Number, second_length_m: Number) -> UnsymmetricalParabola:
    """Return gradient and distance from the vertex, at its station, of a vertical curve of two unlike lengths.

    Parameters
    ----------
    start_gradient, end_gradient : uphill positive in drive direction.
    first_length_m, second_length_m : horizontal, before and after the vertex.

    Notes
    -----
    Each half has its chord slope half-way between its end gradients; both chords meet over the vertex, which gives the shared gradient.
    """
    whole = np.add(first_length_m, second_length_m)
    return UnsymmetricalParabola(
        vertex_gradient=(start_gradient * np.asarray(first_length_m) + end_gradient * np.asarray(second_length_m)) / whole,
        mid_ordinate_m=np.multiply(first_length_m, second_length_m) * np.subtract(end_gradient, start_gradient) / (2 * whole),
    )
