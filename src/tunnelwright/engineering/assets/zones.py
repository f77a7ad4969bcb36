"""Cutting a line into hogging and sagging parts.

     |<- hog ->|<---- sag ---->|<- hog ->|
-----.         |               |         .-----   S below the limit: not looked at
      `--.     |               |     .--'
          `--..|__           __|..--'
                  `---------'
Delta is the greatest distance between the settled line and the chord through the ends of its part.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.assets.sources import ZONES
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, TextArray, TextSeries, Values

# Second differences of rounded settlements are never quite zero; below this they cut nothing.
_NO_CURVATURE_1_M: Final = 1e-9
_SHORTEST: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GaussianCuts(Record):
    """Where a normal trough is cut, from its centre."""

    inflection_offset_m: FloatArray
    limit_offset_m: FloatArray


@method(
    "assets.zone.gaussian_cuts",
    formulas={
        "inflection_offset_m": Formula("y_i", "i"),
        "limit_offset_m": Formula("y_lim", "i * sqrt(2 * ln(S_max / S_lim)) if S_max >= S_lim and S_lim > 0 else 0 / 0"),
    },
    valid={"limiting_settlement_m": Range(0.0005, 0.005, "1 mm is usual")},
    remarks=(Remark(lambda v: np.asarray(v["settlement_max_m"]) < np.asarray(v["limiting_settlement_m"]), "the whole line settles less than the limit"),),
    kind="identity",
    source=ZONES,
)
def gaussian_cuts(settlement_max_m: Number, trough_width_m: Number, limiting_settlement_m: Number = 0.001) -> GaussianCuts:
    """Return where a line across a normal trough changes from sagging to hogging and where its hogging part ends.

    Parameters
    ----------
    settlement_max_m : over the axis.
    trough_width_m : along the line; on a skew line longer than across the drive.
    limiting_settlement_m : below it a line counts as not moved.
    """
    ratio = np.divide(settlement_max_m, np.where(np.asarray(limiting_settlement_m) > 0, limiting_settlement_m, np.nan))
    width = np.asarray(trough_width_m, dtype=np.float64)
    reach = np.where(ratio >= 1, width * np.sqrt(2 * np.log(np.maximum(ratio, 1.0))), np.nan)
    return GaussianCuts(inflection_offset_m=width, limit_offset_m=reach)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Zones:
    """Parts of one or many settled lines, in the order of lines and along each of them.

    Parameters
    ----------
    line : which of the lines, from 0.
    is_hogging : whether the part bends like a hill.
    start_m, end_m : along the line.
    deflection_m : greatest distance from the chord.
    horizontal_strain : change of length over length, end to end.
    """

    line: np.ndarray[tuple[int], np.dtype[np.int64]]
    is_hogging: np.ndarray[tuple[int], np.dtype[np.bool_]]
    start_m: FloatArray
    end_m: FloatArray
    deflection_m: FloatArray
    horizontal_strain: FloatArray

    @property
    def length_m(self) -> FloatArray:
        """Return the length of each part."""
        return np.asarray(self.end_m - self.start_m)


def cut_lines(
    distance_m: FloatArray, settlement_m: FloatArray, displacement_m: FloatArray, curvature_1_m: FloatArray, limit_m: float, flat_1_m: float = 0.0
) -> Zones:
    """Return the parts of many lines sampled at the same distances.

    Parameters
    ----------
    distance_m : along the line, one dimension.
    settlement_m, displacement_m, curvature_1_m : lines by samples; displacement along the line, curvature of the settlement.
    limit_m : settlement below which a line counts as not moved.
    flat_1_m : curvature that counts as none; such samples belong to the part before them.

    Notes
    -----
    A line without any curvature is one hogging part: it has no deflection, but may be stretched.
    """
    bends = _bends(curvature_1_m, flat_1_m)
    moved = np.abs(settlement_m) >= limit_m
    turn = _crossing(curvature_1_m, bends[:, :-1] != bends[:, 1:])
    fade = _crossing(np.abs(settlement_m) - limit_m, moved[:, :-1] != moved[:, 1:])
    # Each step between samples falls into three pieces, most of them empty: to the first cut, to the second, to the end.
    breaks = np.stack([np.zeros_like(turn), np.minimum(turn, fade), np.maximum(turn, fade), np.ones_like(turn)], axis=-1)
    middle = (breaks[..., 1:] + breaks[..., :-1]) / 2
    bend = np.where(middle < turn[..., None], bends[:, :-1, None], bends[:, 1:, None])
    counts = np.where(middle < fade[..., None], moved[:, :-1, None], moved[:, 1:, None])
    count = len(settlement_m)
    kind = np.where(counts, bend, 0).reshape(count, 3 * (distance_m.size - 1))
    samples = (np.broadcast_to(distance_m, settlement_m.shape), settlement_m, displacement_m)
    return _runs(kind, *(_interpolated(one, breaks).reshape(*kind.shape, 2) for one in samples))


def _bends(curvature: FloatArray, flat: float) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    """Return +1 for hogging and -1 for sagging at each sample; flat samples take what is before them, else what follows, else hogging."""
    sign = np.where(np.abs(curvature) > flat, np.sign(curvature), 0).astype(np.int64)
    for _ in range(2):
        last = np.maximum.accumulate(np.where(sign != 0, np.arange(sign.shape[1]), -1), axis=1)
        sign = np.where(last >= 0, np.take_along_axis(sign, np.maximum(last, 0), axis=1), 0)[:, ::-1]
    return np.where(sign == 0, 1, sign)


def _crossing(value: FloatArray, changes: np.ndarray[tuple[int, int], np.dtype[np.bool_]]) -> FloatArray:
    """Return where between two samples a value passes zero, as a share of the step; 1 where it does not."""
    before, after = value[:, :-1], value[:, 1:]
    difference = before - after
    share = np.where(difference != 0, before / np.where(difference != 0, difference, 1.0), 0.5)
    return np.where(changes, np.clip(share, 0.0, 1.0), 1.0)


def _interpolated(samples: FloatArray, breaks: FloatArray) -> FloatArray:
    """Return the values at both ends of each piece of each step."""
    value = samples[:, :-1, None] + breaks * (samples[:, 1:] - samples[:, :-1])[..., None]
    return np.stack([value[..., :-1], value[..., 1:]], axis=-1)


def _runs(kind: FloatArray, distance: FloatArray, settlement: FloatArray, displacement: FloatArray) -> Zones:
    """Join neighbouring pieces of one kind and measure each joined part against its chord."""
    begins = np.ones(kind.shape, dtype=np.bool_)
    begins[:, 1:] = kind[:, 1:] != kind[:, :-1]
    first = np.flatnonzero(begins.reshape(-1))
    last = np.append(first[1:], kind.size) - 1
    start, end = distance[..., 0].reshape(-1), distance[..., 1].reshape(-1)
    down, down_end = settlement[..., 0].reshape(-1), settlement[..., 1].reshape(-1)
    moved, moved_end = displacement[..., 0].reshape(-1), displacement[..., 1].reshape(-1)
    length = end[last] - start[first]
    whole = np.where(length > 0, length, 1.0)
    of_run = np.repeat(np.arange(first.size), last - first + 1)
    chord = down[first][of_run] + ((down_end[last] - down[first]) / whole)[of_run] * (start - start[first][of_run])
    deflection = np.maximum.reduceat(np.abs(down - chord), first) if first.size else np.zeros(0)
    line, bend = first // max(kind.shape[1], 1), kind.reshape(-1)[first]
    kept = (bend != 0) & (length > _SHORTEST * np.ptp(distance))
    return Zones(
        line=line[kept],
        is_hogging=bend[kept] > 0,
        start_m=start[first][kept],
        end_m=end[last][kept],
        deflection_m=deflection[kept],
        horizontal_strain=((moved_end[last] - moved[first]) / whole)[kept],
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineSamples(Table):
    """Samples along one line, displacement along it positive towards its end."""

    distance_m: FloatArray
    settlement_m: FloatArray
    horizontal_displacement_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineZones(Record):
    """Parts of a line in order; empty where all of it settles less than the limit."""

    zone: TextSeries
    zone_start_m: Series
    zone_end_m: Series
    zone_length_m: Series
    deflection_m: Series
    deflection_ratio: Series
    horizontal_strain: Series


def _increases(values: Values) -> bool:
    return bool(np.all(np.diff(values["samples"].distance_m) > 0))


def _parts_in_order(values: Values) -> bool:
    return bool(np.all(values["zone_start_m"][..., 1:] >= values["zone_end_m"][..., :-1] - 1e-9))


def zone_words(is_hogging: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> TextArray:
    """Return the words of the two kinds of zone."""
    return np.where(is_hogging, "hogging", "sagging")


@method(
    "assets.zone.cut_line",
    found_by={
        "zone": Algorithm("sign of the second difference of the settlement between cuts"),
        "zone_start_m": Algorithm(
            "inflection, limit of settlement or end of the line, by straight lines between samples", invariants={"in order": _parts_in_order}
        ),
        "zone_end_m": Algorithm("the same"),
        "zone_length_m": Algorithm("end less start"),
        "deflection_m": Algorithm("greatest vertical distance of the samples from the chord through the ends"),
        "deflection_ratio": Algorithm("deflection over length"),
        "horizontal_strain": Algorithm("difference of displacement over length, end to end"),
    },
    requires=(
        Require("samples", lambda v: v["samples"].row_count >= 3, "must hold three rows or more"),
        Require("samples", _increases, "must increase in distance_m"),
    ),
    remarks=(
        Remark(lambda v: np.size(v["zone_start_m"]) == 0, "the line settles less than the limit everywhere: not assessed"),
        Remark(lambda v: v["samples"].row_count < 20, "few samples: cuts and deflections are rough"),
    ),
    kind="identity",
    source=ZONES,
)
def cut_line(samples: LineSamples, limiting_settlement_m: Number = 0.001) -> LineZones:
    """Return the hogging and sagging parts of a line from samples of its settlement.

    Parameters
    ----------
    samples : along the line; measured settlements are smoothed first, noise would cut.
    limiting_settlement_m : below it the line counts as not moved.
    """
    curvature_1_m = _second_difference(samples.distance_m, samples.settlement_m)

    def at_limit(limit_m: float) -> tuple[TextArray | FloatArray, ...]:
        lines = (samples.settlement_m[None, :], samples.horizontal_displacement_m[None, :], curvature_1_m[None, :])
        zones = cut_lines(samples.distance_m, *lines, limit_m, _NO_CURVATURE_1_M)
        ratio = zones.deflection_m / zones.length_m
        words = zone_words(zones.is_hogging)
        return words, zones.start_m, zones.end_m, zones.length_m, zones.deflection_m, ratio, zones.horizontal_strain

    names = ("zone", "zone_start_m", "zone_end_m", "zone_length_m", "deflection_m", "deflection_ratio", "horizontal_strain")
    return LineZones(**dict(zip(names, each_place(at_limit, len(names), [limiting_settlement_m]), strict=True)))


def _second_difference(distance: FloatArray, settlement: FloatArray) -> FloatArray:
    """Return the curvature at the samples, that of the neighbour at both ends; steps may differ."""
    step = np.diff(distance)
    slope = np.diff(settlement) / step
    inner = np.diff(slope) / ((step[1:] + step[:-1]) / 2)
    return np.concatenate([inner[:1], inner, inner[-1:]])
