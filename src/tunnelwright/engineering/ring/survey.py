"""As-built shape of a ring from points surveyed on its intrados."""

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.ring.shape import fitted, largest_gap_rad, outliers
from tunnelwright.engineering.ring.sources import SHAPE_FIT
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values

Fit: TypeAlias = Literal["robust", "least_squares", "circle"]
_POINTS_FOR_SHAPE: Final = 6
_POINTS_FOR_CIRCLE: Final = 3
_WIDEST_GAP_RAD: Final = np.radians(120)
# Below a nanometre two waves are rounding and have no direction.
_ROUND_M: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurveyPoints(Table):
    """Points on the intrados against the design axis at its foot."""

    forward_m: FloatArray
    right_m: FloatArray
    up_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wriggle(Record):
    """Centre, size, shape and plane of a surveyed ring."""

    centre_right_mm: FloatArray
    centre_up_mm: FloatArray
    mean_radius_m: FloatArray
    ovality_amplitude_mm: FloatArray
    ovality: FloatArray
    long_axis_clock_angle_rad: FloatArray
    plane_yaw_rad: FloatArray
    plane_pitch_rad: FloatArray
    rejected_points: Series


def _plane(points: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return a point of the best plane and three directions: its normal, right and up in it.

    Axes forward, right, up. Points in one cross-section (all forward 0) are taken as square to the axis.
    """
    middle = points.mean(axis=0)
    normal = np.array([1.0, 0.0, 0.0])
    if np.any(points[:, 0] != 0):
        normal = np.linalg.svd(points - middle)[2][2]
        normal = normal * (1 if normal[0] >= 0 else -1)
    up = np.array([0.0, 0.0, 1.0]) - normal[2] * normal
    up /= np.linalg.norm(up)
    right = np.array([0.0, 1.0, 0.0]) - normal[1] * normal
    right -= (right @ up) * up
    return middle, normal, right / np.linalg.norm(right), up


def _kept(right: FloatArray, up: FloatArray, fit: Fit) -> tuple[NDArray[np.bool_], bool]:
    """Return which points are kept and whether they show two waves."""
    can_show = right.size >= _POINTS_FOR_SHAPE and largest_gap_rad(np.arctan2(right - right.mean(), up - up.mean())) <= _WIDEST_GAP_RAD
    keep = ~outliers(right, up, with_waves=can_show) if fit == "robust" else np.ones(right.shape, dtype=np.bool_)
    angle = np.arctan2(right[keep] - right.mean(), up[keep] - up.mean())
    still_shows = fit != "circle" and int(keep.sum()) >= _POINTS_FOR_SHAPE and largest_gap_rad(angle) <= _WIDEST_GAP_RAD
    return keep, bool(still_shows)


def _wriggle(fit: Fit, nominal_m: float, forward: FloatArray, right: FloatArray, up: FloatArray) -> tuple[float | FloatArray, ...]:
    present = np.flatnonzero(np.isfinite(forward) & np.isfinite(right) & np.isfinite(up))
    if present.size < _POINTS_FOR_CIRCLE:
        return (*(np.nan,) * 8, np.empty(0))
    points = np.column_stack([forward, right, up])[present]
    # A point that does not belong to the ring must not tilt its plane: the plane is laid again through those kept.
    middle, normal, across, upward = _plane(points)
    keep = _kept((points - middle) @ across, (points - middle) @ upward, fit)[0]
    middle, normal, across, upward = _plane(points[keep])
    x, y = (points - middle) @ across, (points - middle) @ upward
    with_waves = _kept(x[keep], y[keep], "circle" if fit == "circle" else "least_squares")[1]
    shape = fitted(x[keep], y[keep], with_waves=with_waves)
    centre = middle + shape.right_m * across + shape.up_m * upward
    has_plane = bool(np.any(points[:, 0] != 0))
    amplitude = shape.amplitude_m if with_waves else np.nan
    return (
        1000 * centre[1],
        1000 * centre[2],
        shape.mean_radius_m,
        1000 * amplitude,
        4 * amplitude / nominal_m,
        np.mod(np.arctan2(shape.sine_m, shape.cosine_m) / 2, np.pi) if amplitude > _ROUND_M else np.nan,
        float(np.arctan2(normal[1], normal[0])) if has_plane else np.nan,
        float(np.arcsin(normal[2])) if has_plane else np.nan,
        present[~keep].astype(np.float64),
    )


def _shows_no_shape(values: Values) -> FloatArray:
    return np.isnan(values["ovality"]) & np.asarray(values["fit"] != "circle")


@method(
    "ring.survey.wriggle",
    found_by={
        "centre_right_mm": Algorithm("centre moved until the radius has no part with one wave round the ring", "x_c"),
        "centre_up_mm": Algorithm("the same, upward part", "z_c"),
        "mean_radius_m": Algorithm("constant part of the radius", "r_0", {"it is a radius": lambda v: ~(v["mean_radius_m"] <= 0)}),
        "ovality_amplitude_mm": Algorithm("amplitude of the two waves round the ring; none with fewer than six points or a gap over 120 deg", "d_w"),
        "long_axis_clock_angle_rad": Algorithm("where these two waves are outward, 0 to half a turn", "theta_long"),
        "plane_yaw_rad": Algorithm("normal of the plane of least squares, turned right; none when all points lie in one cross-section", "yaw_p"),
        "plane_pitch_rad": Algorithm("rise of the same normal", "pitch_p"),
        "rejected_points": Algorithm(
            "rows, from 0, farther than three spreads and 3 mm off a first fit of least absolute residuals",
            "rejected",
            {"rows of the table": lambda v: np.all(v["rejected_points"] < v["points"].row_count)},
        ),
    },
    formulas={"ovality": Formula("o_rel", "4 * d_w / (1000 * D_nom)")},
    requires=(Require("points", lambda v: v["points"].row_count >= _POINTS_FOR_CIRCLE, "must be three or more"),),
    remarks=(
        Remark(_shows_no_shape, "too few points, or a gap of more than 120 deg between them: no ovality"),
        Remark(lambda v: v["fit"] == "circle", "a circle through few or uneven points takes some of the ovality for a shift of the centre"),
        Remark(lambda v: v["rejected_points"].size > 0, "points were rejected as lying off the ring: look at them before the result is used"),
    ),
    valid={"ovality": Range(0.0, 0.01, "usual limit 1 % of the diameter; common practice, no source")},
    kind="identity",
    source=SHAPE_FIT,
    # Outliers are judged in millimetres.
    dimensional=True,
)
def wriggle(points: SurveyPoints, nominal_diameter_m: Number, fit: Fit = "robust") -> Wriggle:
    """Return centre, mean radius, ovality and plane of a ring from surveyed points.

    Parameters
    ----------
    points : on the intrados, right and up of the design axis; forward may be 0 for all.
    nominal_diameter_m : inside diameter as designed.
    fit : ``robust`` rejects outliers first, ``least_squares`` takes all points, ``circle`` fits no ovality, for comparison.

    Notes
    -----
    Ovality is the longest less the shortest diameter over the nominal inside diameter. Others divide half the difference, or the change of radius by
    the radius: see ``ring.survey.ovality_definitions`` before a limit is applied.
    """
    columns = [points.forward_m, points.right_m, points.up_m]
    results = each_place(lambda nominal, *rows: _wriggle(fit, nominal, *rows), 9, [nominal_diameter_m], columns)
    names = ("centre_right_mm", "centre_up_mm", "mean_radius_m", "ovality_amplitude_mm", "ovality", "long_axis_clock_angle_rad", "plane_yaw_rad")
    return Wriggle(**dict(zip((*names, "plane_pitch_rad", "rejected_points"), results, strict=True)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OvalityDefinitions(Record):
    """One measured ovality under three definitions."""

    ovality: FloatArray
    half_difference_ratio: FloatArray
    radius_change_ratio: FloatArray


@method(
    "ring.survey.ovality_definitions",
    formulas={
        "ovality": Formula("o_rel", "(D_max - D_min) / D_nom"),
        "half_difference_ratio": Formula("o_half", "(D_max - D_min) / 2 / D_nom"),
        "radius_change_ratio": Formula("o_radius", "(D_max - D_min) / 4 / (D_nom / 2)"),
    },
    symbols={"largest_diameter_m": "D_max", "smallest_diameter_m": "D_min"},
    possible={"largest_diameter_m": (0.8, 20.0), "smallest_diameter_m": (0.8, 20.0)},
    requires=(Require("smallest_diameter_m", lambda v: v["smallest_diameter_m"] <= v["largest_diameter_m"], "must be at most largest_diameter_m"),),
    kind="identity",
    source=SHAPE_FIT,
)
def ovality_definitions(largest_diameter_m: Number, smallest_diameter_m: Number, nominal_diameter_m: Number) -> OvalityDefinitions:
    """Return a measured ovality under the three definitions in use, which differ by a factor of two.

    Parameters
    ----------
    largest_diameter_m, smallest_diameter_m : measured inside.
    nominal_diameter_m : inside diameter as designed.
    """
    difference = np.subtract(largest_diameter_m, smallest_diameter_m)
    nominal = np.asarray(nominal_diameter_m)
    return OvalityDefinitions(ovality=difference / nominal, half_difference_ratio=difference / 2 / nominal, radius_change_ratio=difference / 4 / (nominal / 2))
