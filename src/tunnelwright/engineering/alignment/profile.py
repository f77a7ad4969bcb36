"""The designed axis in the long section: gradients, vertical curves, and rings counted along the axis in space."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tunnelwright.engineering.alignment.plan_curve import IntArray
from tunnelwright.engineering.alignment.sources import EN_13803, GEOMETRY
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Series, Table, Values

CurveType = Literal["parabola", "circle"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Vertices(Table):
    """Intersections of grades; the radius has no sign and is 0 in the first and last row."""

    chainage_m: FloatArray
    level_m: FloatArray
    vertical_radius_m: FloatArray


class ProfileCurve:
    """A profile as pieces in order of chainage: grade, curve, grade, curve, ... grade."""

    def __init__(self, vertices: Vertices, curve_type: str) -> None:
        chainage, level, radius = vertices.chainage_m, vertices.level_m, vertices.vertical_radius_m[1:-1]
        grade = np.diff(level) / np.diff(chainage)
        before, after = tangent_lengths_m(grade[:-1], grade[1:], radius, curve_type)
        pieces = 2 * len(grade) - 1
        self.curve_type = curve_type
        self.start_m, self.start_level_m, self.start_gradient, self.radius_m = (np.zeros(pieces) for _ in range(4))
        self.start_m[0], self.start_level_m[0] = chainage[0], level[0]
        self.start_m[1::2], self.start_level_m[1::2] = chainage[1:-1] - before, level[1:-1] - before * grade[:-1]
        self.start_m[2::2], self.start_level_m[2::2] = chainage[1:-1] + after, level[1:-1] + after * grade[1:]
        self.start_gradient[0::2], self.start_gradient[1::2] = grade, grade[:-1]
        self.radius_m[1::2] = radius * np.sign(np.diff(grade))

    def piece_at(self, chainage_m: FloatArray) -> IntArray:
        """Return the index of the piece in which chainages lie; a joint belongs to the piece ahead."""
        return np.clip(np.searchsorted(self.start_m, chainage_m, side="right") - 1, 0, len(self.start_m) - 1)

    def level_and_gradient(self, chainage_m: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return level, gradient and vertical curvature at chainages; beyond the ends the grade goes on."""
        piece = self.piece_at(chainage_m)
        run, first, radius = chainage_m - self.start_m[piece], self.start_gradient[piece], self.radius_m[piece]
        curved = radius != 0
        divisor = np.where(curved, radius, 1.0)
        if self.curve_type == "circle":
            sine_start = first / np.sqrt(1 + first**2)
            sine = sine_start + np.where(curved, run / divisor, 0.0)
            cosine = np.sqrt(1 - sine**2)
            rise = np.where(curved, radius * (np.sqrt(1 - sine_start**2) - cosine), first * run)
            return self.start_level_m[piece] + rise, np.where(curved, sine / cosine, first), np.where(curved, 1 / divisor, 0.0 * run)
        gradient = first + np.where(curved, run / divisor, 0.0 * run)
        level = self.start_level_m[piece] + first * run + np.where(curved, run**2 / (2 * divisor), 0.0)
        return level, gradient, np.where(curved, 1 / divisor, 0.0) / (1 + gradient**2) ** 1.5

    def space_starts_m(self) -> FloatArray:
        """Return the distance along the axis in space from the first vertex to the start of every piece."""
        run = np.diff(self.start_m)
        return np.concatenate([[0.0], np.cumsum(space_run_m(run, self.start_gradient[:-1], self.radius_m[:-1]))])


def tangent_lengths_m(before: FloatArray, after: FloatArray, radius_m: FloatArray, curve_type: str) -> tuple[FloatArray, FloatArray]:
    """Return how far, horizontally, a vertical curve reaches before and after its vertex."""
    if curve_type == "parabola":
        half = radius_m * np.abs(after - before) / 2
        return half, half
    along_grade = radius_m * np.tan(np.abs(np.arctan(after) - np.arctan(before)) / 2)
    return along_grade / np.sqrt(1 + before**2), along_grade / np.sqrt(1 + after**2)


def space_run_m(run_m: FloatArray, start_gradient: FloatArray, radius_m: FloatArray) -> FloatArray:
    """Return the length in space of a run along a grade (radius 0) or a parabola of signed radius."""
    curved = radius_m != 0
    divisor = np.where(curved, radius_m, 1.0)
    end_gradient = start_gradient + np.where(curved, run_m / divisor, 0.0)
    return np.where(curved, divisor * (_parabola_length(end_gradient) - _parabola_length(start_gradient)), run_m * np.sqrt(1 + start_gradient**2))


def _parabola_length(gradient: FloatArray) -> FloatArray:
    """Return the length of a parabola of radius 1 from its level point to a gradient."""
    return (gradient * np.sqrt(1 + gradient**2) + np.arcsinh(gradient)) / 2


def _increasing(values: Values) -> bool:
    return values["vertices"].row_count >= 2 and bool(np.all(np.diff(values["vertices"].chainage_m) > 0))


def _curves_apart(values: Values) -> bool:
    """Say whether no vertical curve reaches into the next one or over an end of the profile."""
    if not _increasing(values):
        return True
    starts = ProfileCurve(values["vertices"], values.get("curve_type", "parabola")).start_m
    ends = np.append(starts[1:], values["vertices"].chainage_m[-1])
    return bool(np.all(ends - starts >= -1e-6))


def _ends_without_radius(values: Values) -> bool:
    radius = values["vertices"].vertical_radius_m
    return bool(radius[0] == 0 and radius[-1] == 0)


PROFILE_REQUIRES = (
    Require("vertices", _increasing, "must hold two rows or more with increasing chainage"),
    Require("vertices", _ends_without_radius, "must have the radius 0 in the first and last row, where there is no curve"),
    Require("vertices", _curves_apart, "must leave room between the vertical curves", "a curve reaches over the next one or over an end: reduce its radius"),
)
_UNSIGNED = {"vertical_radius_m": (0.0, 1e6)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisInProfile(Record):
    """Level, gradient and vertical curvature of the axis."""

    level_m: FloatArray
    gradient: FloatArray
    vertical_curvature_1_m: FloatArray


def _between_the_grades(values: Values) -> FloatArray:
    grade = np.diff(values["vertices"].level_m) / np.diff(values["vertices"].chainage_m)
    return np.isnan(values["gradient"]) | ((values["gradient"] >= grade.min() - 1e-12) & (values["gradient"] <= grade.max() + 1e-12))


def _beyond(values: Values) -> FloatArray:
    ends = values["vertices"].chainage_m
    return (values["chainage_m"] < ends[0] - 1e-6) | (values["chainage_m"] > ends[-1] + 1e-6)


@method(
    "alignment.vertical.profile",
    found_by={
        "level_m": Algorithm("level at the start of the grade or curve plus the rise inside it", "H"),
        "gradient": Algorithm("of the grade, or inside a curve by its parabola or circle", "i", {"between the steepest grades": _between_the_grades}),
        "vertical_curvature_1_m": Algorithm("1/R of a circle, 1/R over (1 + i^2)^1.5 in a parabola; sag positive", "kappa_v"),
    },
    possible=_UNSIGNED,
    requires=PROFILE_REQUIRES,
    remarks=(Remark(_beyond, "a chainage lies beyond the profile: the end grade is extended there"),),
    kind="identity",
    source=EN_13803,
)
def profile(vertices: Vertices, chainage_m: Number, curve_type: CurveType = "parabola") -> AxisInProfile:
    """Return level, gradient and vertical curvature of a profile at chainages.

    Parameters
    ----------
    vertices : intersections of grades in order of chainage; radius without sign, sag or crest follows from the grades.
    chainage_m : where, along the horizontal projection of the axis; one or many.
    curve_type : form of all vertical curves.
    """
    level, gradient, bend = ProfileCurve(vertices, curve_type).level_and_gradient(np.asarray(chainage_m))
    return AxisInProfile(level_m=level, gradient=gradient, vertical_curvature_1_m=bend)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingChainages(Record):
    """Front edges of rings 1 to n."""

    chainage_m: Series
    space_distance_m: Series


def _rings_are_spaced_in_space(values: Values) -> FloatArray:
    curve = ProfileCurve(values["vertices"], "parabola")
    length = np.diff(_space_distance_m(curve, np.concatenate([np.atleast_1d(values["start_chainage_m"]), values["chainage_m"]])))
    return np.isnan(length) | (np.abs(length - (values["ring_length_m"] + values["joint_gap_mm"] / 1000)) < 1e-7)


def _space_distance_m(curve: ProfileCurve, chainage_m: FloatArray) -> FloatArray:
    piece = curve.piece_at(chainage_m)
    run = space_run_m(chainage_m - curve.start_m[piece], curve.start_gradient[piece], curve.radius_m[piece])
    return curve.space_starts_m()[piece] + run


@method(
    "alignment.space.ring_chainages",
    found_by={
        "chainage_m": Algorithm(
            "cumulative length in space, closed for grades and parabolas, inverted by Newton's rule inside the piece",
            "s",
            {"neighbouring fronts are one ring and one joint apart in space": _rings_are_spaced_in_space},
        ),
        "space_distance_m": Algorithm("ring number times ring length and joint gap", "d", {"increasing": lambda v: np.diff(v["space_distance_m"]) > 0}),
    },
    possible=_UNSIGNED,
    requires=PROFILE_REQUIRES,
    remarks=(Remark(lambda v: _beyond(v) if np.size(v["chainage_m"]) else np.False_, "rings reach beyond the profile: the end grade is extended there"),),
    kind="identity",
    source=GEOMETRY,
)
def ring_chainages(vertices: Vertices, start_chainage_m: Number, ring_length_m: Number, ring_count: Count, joint_gap_mm: Number = 0.0) -> RingChainages:
    """Return the chainages of the front edges of rings, which are counted along the axis in space.

    Parameters
    ----------
    vertices : of the profile; its vertical curves are parabolas.
    start_chainage_m : front edge of ring 0.
    ring_length_m : at the axis.
    ring_count : rings 1 to n are returned.
    joint_gap_mm : mean gap of a circumferential joint, which every ring adds to its length.
    """
    curve = ProfileCurve(vertices, "parabola")
    starts = curve.space_starts_m()
    number = np.arange(1.0, ring_count + 1)
    distance = np.multiply.outer(np.add(ring_length_m, np.divide(joint_gap_mm, 1000)), number)
    wanted = _space_distance_m(curve, np.asarray(start_chainage_m))[..., None] + distance
    piece = np.clip(np.searchsorted(starts, wanted, side="right") - 1, 0, len(starts) - 1)
    first, radius = curve.start_gradient[piece], curve.radius_m[piece]
    divisor = np.where(radius != 0, radius, 1.0)
    run = (wanted - starts[piece]) / np.sqrt(1 + first**2)
    # Newton's rule: the length in space grows by sqrt(1 + i^2) per metre, so three or four steps reach rounding.
    for _ in range(6):
        slope = first + np.where(radius != 0, run / divisor, 0.0)
        run = run - (space_run_m(run, first, radius) - (wanted - starts[piece])) / np.sqrt(1 + slope**2)
    return RingChainages(chainage_m=curve.start_m[piece] + run, space_distance_m=distance)
