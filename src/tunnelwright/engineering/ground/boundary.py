"""Boundaries of units along a drive, between the picks of boreholes: a straight bridge whose spread grows with the distance from the holes.

level
  o-----__          + one standard deviation
  |  `--..`--__  .---o
  |       ``--`o--'  |
hole 1   d1     d2  hole 2
"""

from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from scipy.special import ndtr

from tunnelwright.engineering.ground.sources import LINEAR_VARIOGRAM, NORMAL_LAW, POLYLINE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

SEMIVARIOGRAM_SLOPE_DEFAULT_M: Final = 0.05
_LEAST_PAIRS: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picks(Table):
    """Levels at which boreholes prove a boundary, in order of chainage; accuracy and offset count as 0 where left out."""

    chainage_m: FloatArray
    level_m: FloatArray
    pick_accuracy_m: FloatArray = field(default_factory=lambda: np.zeros(1))
    offset_m: FloatArray = field(default_factory=lambda: np.zeros(1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoundaryLevel(Record):
    """Level of a boundary and its standard deviation."""

    level_mean_m: FloatArray
    level_standard_deviation_m: FloatArray


def _between_the_picks(values: Values) -> FloatArray:
    levels, mean = values["picks"].level_m, values["level_mean_m"]
    return np.isnan(mean) | ((mean >= levels.min() - 1e-9) & (mean <= levels.max() + 1e-9))


IN_ORDER = Require("picks", lambda v: np.all(np.diff(v["picks"].chainage_m) >= 0), "must be in order of chainage")


@method(
    "ground.boundary.bridge",
    found_by={
        "level_mean_m": Algorithm(
            "straight line between the two holes around the chainage, constant beyond the outermost holes",
            "mu_Z",
            {"between the lowest and the highest pick": _between_the_picks},
        ),
        "level_standard_deviation_m": Algorithm(
            "root of 2 c d1 d2/L + (d2/L)^2 s1^2 + (d1/L)^2 s2^2; beyond the outermost hole of 2 c d + s^2",
            "s_Z",
            {"not negative": lambda v: ~(v["level_standard_deviation_m"] < 0)},
        ),
    },
    possible={"pick_accuracy_m": (0.0, 20.0)},
    requires=(IN_ORDER,),
    kind="mean",
    source=LINEAR_VARIOGRAM,
)
def bridge(
    picks: Picks, chainage_m: Number, semivariogram_slope_m: Number = SEMIVARIOGRAM_SLOPE_DEFAULT_M, count_offset: Literal["on", "off"] = "on"
) -> BoundaryLevel:
    """Return the level of a boundary between boreholes, and how far off it may be.

    Parameters
    ----------
    picks : of one boundary; of two holes at one chainage the earlier counts backwards, the later forwards.
    chainage_m : where wanted, one or many.
    semivariogram_slope_m : c; half the mean square difference of levels per metre between them.
    count_offset : a hole beside the axis says less about the axis: adds 2 c |offset| to the variance of its pick.

    Notes
    -----
    This is kriging of a process whose semivariogram is the straight line c h: between two data the mean is their straight line.
    """
    at, slope = np.broadcast_arrays(np.asarray(chainage_m, dtype=np.float64), semivariogram_slope_m)
    places, levels = picks.chainage_m, picks.level_m
    last = len(places) - 1
    before = np.clip(np.searchsorted(places, at, side="right") - 1, 0, last)
    after = np.minimum(before + 1, last)
    own = np.square(np.nan_to_num(picks.pick_accuracy_m))
    aside = np.abs(np.nan_to_num(picks.offset_m)) if count_offset == "on" else np.zeros(last + 1)
    variance_before, variance_after = own[before] + 2 * slope * aside[before], own[after] + 2 * slope * aside[after]
    span = places[after] - places[before]
    is_inside = (at >= places[0]) & (at < places[-1]) & (span > 0)
    share = np.where(is_inside, (at - places[before]) / np.where(is_inside, span, 1.0), 0.0 * at)
    bridged = 2 * slope * share * (1 - share) * span + (1 - share) ** 2 * variance_before + share**2 * variance_after
    beyond = 2 * slope * np.abs(at - places[before]) + variance_before
    return BoundaryLevel(
        level_mean_m=(1 - share) * levels[before] + share * levels[after],
        level_standard_deviation_m=np.sqrt(np.where(is_inside, bridged, beyond)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SemivariogramSlope(Record):
    """Slope of a straight semivariogram and the pairs it stands on."""

    semivariogram_slope_m: FloatArray
    pair_count: FloatArray


@method(
    "ground.boundary.semivariogram_slope",
    found_by={
        "semivariogram_slope_m": Algorithm(
            "mean over neighbouring holes of (difference squared less both accuracies squared) over twice the distance; 0.05 with fewer than four pairs",
            "c_g",
            {"not negative": lambda v: v["semivariogram_slope_m"] >= 0},
        ),
        "pair_count": Algorithm("pairs of neighbouring holes at different chainages", "n_p"),
    },
    units={"floor_m": "m2/m"},
    possible={"floor_m": (0.0, 100.0)},
    requires=(IN_ORDER,),
    remarks=(Remark(lambda v: v["pair_count"] < _LEAST_PAIRS, "fewer than four pairs of holes: a default slope is given, not one from the picks"),),
    kind="mean",
    source=LINEAR_VARIOGRAM,
    dimensional=True,
)
def semivariogram_slope(picks: Picks, floor_m: Number = 0.005) -> SemivariogramSlope:
    """Return the slope of a straight semivariogram from the picks of one boundary.

    Parameters
    ----------
    picks : of one boundary, in order of chainage.
    floor_m : least slope to believe in.
    """
    distance = np.diff(picks.chainage_m)
    is_pair = distance > 0
    noise = np.square(np.nan_to_num(picks.pick_accuracy_m))
    squares = np.square(np.diff(picks.level_m)) - noise[:-1] - noise[1:]
    count = int(np.sum(is_pair))
    mean = float(np.sum(np.where(is_pair, squares / np.where(is_pair, 2 * distance, 1.0), 0.0))) / max(count, 1)
    slope = np.maximum(mean, floor_m) if count >= _LEAST_PAIRS else SEMIVARIOGRAM_SLOPE_DEFAULT_M + 0.0 * np.asarray(floor_m)
    return SemivariogramSlope(semivariogram_slope_m=slope, pair_count=np.asarray(float(count)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoundaryInFace(Record):
    """Where a boundary of uncertain level lies relative to the face."""

    probability_in_face: FloatArray
    probability_above_face: FloatArray
    probability_below_face: FloatArray


@method(
    "ground.boundary_in_face.normal",
    formulas={
        "probability_in_face": Formula("P_in", "Phi((D / 2 - m) / s) - Phi((-D / 2 - m) / s) if s > 0 else (1 if abs(m) < D / 2 else 0)"),
        "probability_above_face": Formula("P_above", "Phi((m - D / 2) / s) if s > 0 else (1 if m >= D / 2 else 0)"),
        "probability_below_face": Formula("P_below", "Phi((-D / 2 - m) / s) if s > 0 else (1 if m <= -D / 2 else 0)"),
    },
    symbols={"boundary_mean_above_axis_m": "m", "boundary_standard_deviation_m": "s"},
    kind="identity",
    source=NORMAL_LAW,
)
def boundary_in_face(boundary_mean_above_axis_m: Number, boundary_standard_deviation_m: Number, excavation_diameter_m: Number) -> BoundaryInFace:
    """Return the probabilities that a boundary lies in, above or below the face.

    Parameters
    ----------
    boundary_mean_above_axis_m : mean height over the axis.
    boundary_standard_deviation_m : of that height; 0 for a known boundary.
    excavation_diameter_m : as cut.
    """
    mean, spread, radius = np.broadcast_arrays(boundary_mean_above_axis_m, boundary_standard_deviation_m, np.asarray(excavation_diameter_m) / 2)
    below = _normal_share(-radius - mean, spread)
    above = _normal_share(mean - radius, spread)
    is_known = spread == 0
    inside = np.where(is_known, (np.abs(mean) < radius) + 0.0 * mean, _normal_share(radius - mean, spread) - below)
    return BoundaryInFace(probability_in_face=inside, probability_above_face=above, probability_below_face=below)


def _normal_share(distance: FloatArray, spread: FloatArray) -> FloatArray:
    """Return the share of a normal law below a distance from its mean; a step where it has no spread."""
    is_known = spread == 0
    return np.where(is_known, (distance >= 0) + 0.0 * distance, ndtr(distance / np.where(is_known, 1.0, spread)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisPolyline(Table):
    """Points of an axis in drive direction."""

    easting_m: FloatArray
    northing_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoreholePlace(Record):
    """Chainage and offset of boreholes; the chainage is NaN beyond the ends."""

    chainage_m: FloatArray
    offset_m: FloatArray


def _within_the_axis(values: Values) -> FloatArray:
    axis = values["axis"]
    length = np.sum(np.hypot(np.diff(axis.easting_m), np.diff(axis.northing_m)))
    run = values["chainage_m"] - values["start_chainage_m"]
    return np.isnan(run) | ((run >= -1e-9) & (run <= length * (1 + 1e-12) + 1e-9))


@method(
    "ground.borehole.projection",
    found_by={
        "chainage_m": Algorithm("nearest point of the polyline, none beyond its ends", "x", {"within the axis": _within_the_axis}),
        "offset_m": Algorithm("distance from that point, right positive; beyond an end from the end leg drawn on", "y"),
    },
    requires=(Require("axis", lambda v: v["axis"].row_count >= 2, "must hold two points or more"),),
    remarks=(
        Remark(lambda v: np.isnan(v["chainage_m"]), "a hole lies beyond an end of the axis: it has no chainage"),
        Remark(lambda v: np.abs(v["offset_m"]) > 50, "a hole lies more than 50 m beside the axis"),
    ),
    kind="identity",
    source=POLYLINE,
)
def borehole_projection(axis: AxisPolyline, easting_m: Number, northing_m: Number, start_chainage_m: Number = 0.0) -> BoreholePlace:
    """Return chainage and offset of boreholes on an axis given as a polyline.

    Parameters
    ----------
    axis : points in drive direction, close enough to follow its bends.
    easting_m, northing_m : of the boreholes, one or many.
    start_chainage_m : of the first point of the axis.
    """
    from_east, from_north = axis.easting_m[:-1], axis.northing_m[:-1]
    leg_east, leg_north = np.diff(axis.easting_m), np.diff(axis.northing_m)
    leg = np.hypot(leg_east, leg_north)
    start = np.cumsum(leg) - leg
    east, north = np.subtract.outer(easting_m, from_east), np.subtract.outer(northing_m, from_north)
    divisor = np.where(leg > 0, leg, 1.0)
    along = (east * leg_east + north * leg_north) / divisor
    across = (east * leg_north - north * leg_east) / divisor
    held = np.clip(along, 0.0, leg)
    distance = np.hypot(along - held, across)
    nearest = np.argmin(np.nan_to_num(distance, nan=np.inf), axis=-1)[..., None]

    def there(values: FloatArray) -> FloatArray:
        return np.take_along_axis(np.broadcast_to(values, distance.shape), nearest, axis=-1)[..., 0]

    first, final = nearest[..., 0] == 0, nearest[..., 0] == len(leg) - 1
    is_beyond = (first & (there(along) < 0)) | (final & (there(along) > there(leg)))
    offset = np.where(is_beyond, there(across), np.copysign(there(distance), there(across)))
    return BoreholePlace(chainage_m=start_chainage_m + np.where(is_beyond, np.nan, there(start) + there(held)), offset_m=offset)
