"""Cover over the bore and what its face shows: segments of a circle, arcs of cutters, measures of an uneven face.

     .---------.
  .-'   unit 1   '-.
 (------------------)    boundary, height h above the axis
(       unit 2       )
 (------------------)
  '-.   unit 3   .-'
     '---------'
"""

from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.ground.sources import CIRCLE, LEVELS, MIXED_FACE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, TextArray, Values

COVER_RATIO_LEAST: Final = 1.0
COVER_RATIO_LEAST_UNDER_WATER: Final = 1.5
MIXED_FROM_SHARE: Final = 0.10
HARD_MIXED_FROM_CONTRAST: Final = 10.0
# A unit with a smaller share of the face does not count for the contrast of strengths.
CONTRAST_LEAST_FRACTION: Final = 0.05
# Below this share of the face an area has no centroid worth the name.
_NO_AREA: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cover(Record):
    """Cover over the excavated crown, and depth of the axis."""

    cover_m: FloatArray
    cover_ratio: FloatArray
    axis_depth_m: FloatArray
    state: TextArray


@method(
    "ground.cover.levels",
    formulas={
        "cover_m": Formula("C", "H_g - b - (H_a + D / 2)"),
        "cover_ratio": Formula("C/D", "C / D"),
        "axis_depth_m": Formula("z_0", "H_g - b - H_a"),
    },
    found_by={"state": Algorithm("watch below a cover of one diameter, under water of one and a half, else in order")},
    symbols={"axis_level_m": "H_a", "bed_lowering_m": "b"},
    possible={"axis_level_m": (-1000.0, 9000.0)},
    requires=(
        Require(
            "ground_level_m",
            lambda v: np.all(
                (v["ground_level_m"] - v["bed_lowering_m"] - v["axis_level_m"] - v["excavation_diameter_m"] / 2 > 0) | np.isnan(v["ground_level_m"])
            ),
            "must leave ground over the crown",
            "is a level meant, not a depth?",
        ),
    ),
    remarks=(Remark(lambda v: np.asarray(v["state"]) == "watch", "cover is thin for the diameter: less than one, under water less than one and a half"),),
    kind="identity",
    source=LEVELS,
)
def cover(
    ground_level_m: Number, axis_level_m: Number, excavation_diameter_m: Number, bed_lowering_m: Number = 0.0, under_water: Literal["yes", "no"] = "no"
) -> Cover:
    """Return the cover over the excavated crown.

    Parameters
    ----------
    ground_level_m : lowest over the strip looked at; under water the bed as surveyed.
    axis_level_m : of the bore.
    excavation_diameter_m : as cut, not the lining's.
    bed_lowering_m : allowance for scour, dredging or a basement.
    under_water : asks for more cover.
    """
    lowered = np.subtract(ground_level_m, bed_lowering_m)
    cover_m = lowered - axis_level_m - np.asarray(excavation_diameter_m) / 2
    ratio = cover_m / excavation_diameter_m
    least = COVER_RATIO_LEAST_UNDER_WATER if under_water == "yes" else COVER_RATIO_LEAST
    return Cover(cover_m=cover_m, cover_ratio=ratio, axis_depth_m=lowered - axis_level_m, state=np.where(ratio >= least, "in order", "watch"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boundaries(Table):
    """Boundaries between units, top down, at the vertical axis of the face; slope is rise per metre to the right. Leading axes run over stations."""

    height_above_axis_m: FloatArray
    slope: FloatArray = field(default_factory=lambda: np.zeros(1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceSegments(Record):
    """Shares, areas and centroids of the units in the face, the top unit first; chords of the boundaries."""

    fractions: Series
    areas_m2: Series
    centroid_heights_m: Series
    chords_m: Series
    mixed_face_share: FloatArray
    mixed_face_entropy: FloatArray


def _fractions_add_up(values: Values) -> bool:
    total = np.sum(values["fractions"], axis=-1)
    return bool(np.all(np.isnan(total) | (np.abs(total - 1) < 1e-12)))


def _boundaries_apart(values: Values) -> bool:
    """Say whether the boundaries come top down and do not cross inside the face."""
    heights, slopes = values["boundaries"].height_above_axis_m, np.nan_to_num(values["boundaries"].slope)
    radius = np.asarray(values["excavation_diameter_m"])[..., None] / 2
    fall, turn = heights[..., :-1] - heights[..., 1:], slopes[..., 1:] - slopes[..., :-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = fall / turn
        height_there = heights[..., :-1] + slopes[..., :-1] * crossing
        inside = (turn != 0) & (np.hypot(crossing, height_there) < radius * (1 - 1e-12))
    return bool(np.all(~(fall < 0)) and not np.any(inside))


def face_share(height_over_radius: FloatArray) -> FloatArray:
    """Return the share of a circle above a line at a height over its radius; 0 above the crown, 1 below the invert."""
    ratio = np.clip(height_over_radius, -1.0, 1.0)
    return (np.arccos(ratio) - ratio * np.sqrt(1 - ratio**2)) / np.pi


@method(
    "ground.face_segments.circle",
    found_by={
        "fractions": Algorithm(
            "difference of the circle's segments above neighbouring boundaries, over the area of the face", "f", {"together one": _fractions_add_up}
        ),
        "areas_m2": Algorithm("share times the area of the face", "A", {"not negative": lambda v: ~(v["areas_m2"] < -1e-9)}),
        "centroid_heights_m": Algorithm("difference of first moments over area, between horizontal boundaries only", "y_c"),
        "chords_m": Algorithm("twice the root of radius squared less distance squared, 0 outside the face", "c"),
        "mixed_face_share": Algorithm(
            "one less the greatest share", "M_1", {"0 to 1": lambda v: ~((v["mixed_face_share"] < -1e-12) | (v["mixed_face_share"] >= 1))}
        ),
        "mixed_face_entropy": Algorithm("sum of -f ln f over ln of the number of units that show", "M_2"),
    },
    possible={"slope": (-10.0, 10.0)},
    requires=(Require("boundaries", _boundaries_apart, "must come from the top down and not cross inside the face"),),
    kind="identity",
    source=CIRCLE,
)
def face_segments(excavation_diameter_m: Number, boundaries: Boundaries) -> FaceSegments:
    """Return what each unit takes of a circular face.

    Parameters
    ----------
    excavation_diameter_m : as cut.
    boundaries : top down; the unit above the first is the top unit.

    Notes
    -----
    A sloping boundary counts with its distance from the centre, h cos(slope angle).
    """
    radius = np.asarray(excavation_diameter_m)[..., None] / 2
    slope = np.nan_to_num(boundaries.slope)
    ratio = boundaries.height_above_axis_m / np.sqrt(1 + slope**2) / radius
    inner = np.clip(ratio, -1.0, 1.0)
    ends = [np.ones((*inner.shape[:-1], 1)), inner, -np.ones((*inner.shape[:-1], 1))]
    edges = np.concatenate(ends, axis=-1)
    fractions = np.diff(face_share(edges), axis=-1)
    moments = np.diff(2.0 / 3.0 * (1 - edges**2) ** 1.5, axis=-1) / np.pi
    tilted = np.concatenate([np.zeros_like(ends[0], dtype=bool), (slope != 0) & (np.abs(ratio) < 1), np.zeros_like(ends[0], dtype=bool)], axis=-1)
    has_centroid = (fractions > _NO_AREA) & ~tilted[..., :-1] & ~tilted[..., 1:]
    share, entropy = _unevenness(fractions)
    return FaceSegments(
        fractions=fractions,
        areas_m2=fractions * np.pi * radius**2,
        centroid_heights_m=np.where(has_centroid, moments / np.where(has_centroid, fractions, 1.0), np.nan) * radius,
        chords_m=2 * radius * np.sqrt(1 - inner**2),
        mixed_face_share=share,
        mixed_face_entropy=entropy,
    )


def _unevenness(fractions: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return one less the greatest share, and the entropy over its greatest value; 0 where one unit shows."""
    shown = fractions > 0
    terms = np.where(shown, fractions * np.log(np.where(shown, fractions, 1.0)), 0.0 * fractions)
    count = np.sum(shown, axis=-1)
    return 1 - np.max(fractions, axis=-1), np.where(count > 1, -np.sum(terms, axis=-1) / np.log(np.maximum(count, 2)), 0.0 * np.sum(fractions, axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutterArc(Record):
    """Share of a cutter's path above a boundary."""

    arc_share: FloatArray


@method(
    "ground.cutter_arc.circle",
    formulas={"arc_share": Formula("f_r", "(1 if h < 0 else 0) if r == 0 else acos(max(-1, min(1, h / r))) / pi")},
    symbols={"cutter_radius_m": "r"},
    possible={"cutter_radius_m": (0.0, 10.0)},
    kind="identity",
    source=CIRCLE,
)
def cutter_arc(cutter_radius_m: Number, height_above_axis_m: Number) -> CutterArc:
    """Return which share of a cutter's path lies above a horizontal boundary.

    Parameters
    ----------
    cutter_radius_m : of the cutter's path.
    height_above_axis_m : of the boundary.
    """
    radius, height = np.asarray(cutter_radius_m), np.asarray(height_above_axis_m)
    at_centre = np.where(height < 0, 1.0, 0.0 * height)
    share = np.arccos(np.clip(height / np.where(radius == 0, 1.0, radius), -1.0, 1.0)) / np.pi
    return CutterArc(arc_share=np.where(radius == 0, at_centre, share))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixedFace(Record):
    """How uneven a face is."""

    mixed_face_share: FloatArray
    mixed_face_entropy: FloatArray
    strength_contrast: FloatArray
    face_class: TextArray


def _as_many_strengths(values: Values) -> bool:
    return values["strengths_kpa"] is None or np.shape(values["strengths_kpa"])[-1] == np.shape(values["fractions"])[-1]


@method(
    "ground.mixed_face.measures",
    found_by={
        "mixed_face_share": Algorithm("one less the greatest share", "M_1", {"not negative": lambda v: ~(v["mixed_face_share"] < 0)}),
        "mixed_face_entropy": Algorithm(
            "sum of -f ln f over ln of the number of units that show", "M_2", {"0 to 1": lambda v: ~(v["mixed_face_entropy"] > 1 + 1e-12)}
        ),
        "strength_contrast": Algorithm("greatest over least strength of the units with five per cent of the face or more", "r_s"),
        "face_class": Algorithm("mixed from a share M_1 of 0.10, hard mixed when the strengths also differ tenfold, else uniform"),
    },
    possible={"strengths_kpa": (0.0, 1e6)},
    requires=(
        Require("strengths_kpa", _as_many_strengths, "must hold one strength per fraction"),
        Require("fractions", lambda v: np.all(np.abs(np.sum(v["fractions"], axis=-1) - 1) < 1e-3), "must add up to 1"),
    ),
    kind="screening",
    source=MIXED_FACE,
)
def mixed_face(fractions: Series, strengths_kpa: Series | None = None) -> MixedFace:
    """Return measures of how uneven a face is.

    Parameters
    ----------
    fractions : of the face area, top unit first.
    strengths_kpa : one per unit in the same order, all of one kind; without them there is no contrast.
    """
    share, entropy = _unevenness(fractions)
    counted = fractions >= CONTRAST_LEAST_FRACTION
    strengths = np.full_like(fractions, np.nan) if strengths_kpa is None else strengths_kpa
    counted &= np.isfinite(strengths)
    greatest = np.max(np.where(counted, strengths, -np.inf), axis=-1)
    least = np.min(np.where(counted, strengths, np.inf), axis=-1)
    known = np.any(counted, axis=-1)
    contrast = np.where(known, greatest / np.where(known, least, 1.0), np.nan)
    hard = np.where(contrast >= HARD_MIXED_FROM_CONTRAST, "hard mixed", "mixed")
    return MixedFace(
        mixed_face_share=share, mixed_face_entropy=entropy, strength_contrast=contrast, face_class=np.where(share >= MIXED_FROM_SHARE, hard, "uniform")
    )
