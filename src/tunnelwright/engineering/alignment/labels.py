"""Chainage labels: what stands on the drawing, and the distance inside that never jumps.

distance   x0 ........ x1 x1 ........ x2      a boundary belongs to the zone ahead
label      a ......... b  c ......... d       gap if c > b, overlap if c < b
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.alignment.sources import GEOMETRY
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LabelZones(Table):
    """Stretches inside which labels count evenly: label = start label + (distance - start distance)."""

    start_distance_m: FloatArray
    end_distance_m: FloatArray
    start_label_m: FloatArray


def _in_order(values: Values) -> bool:
    zones = values["zones"]
    return bool(np.all(zones.end_distance_m > zones.start_distance_m) and np.all(zones.start_distance_m[1:] >= zones.end_distance_m[:-1]))


_IN_ORDER = Require("zones", _in_order, "must each end after they start, in order of distance and without overlap in distance")


def _lies_in(zones: LabelZones, distance_m: FloatArray) -> FloatArray:
    """Say for every distance (leading axes) and zone (last axis) whether it lies there; only the last zone owns its end."""
    is_last = np.arange(zones.row_count) == zones.row_count - 1
    return (distance_m >= zones.start_distance_m) & ((distance_m < zones.end_distance_m) | (is_last & (distance_m <= zones.end_distance_m)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LabelledDistances(Record):
    """All distances that carry a label, in order, and how many they are; many labels give one row each, filled up with NaN."""

    distance_m: Series
    solution_count: FloatArray


def _edges_around(values: Values) -> str:
    """Return the sentence that names the labels before and after the gap in which the label falls."""
    zones = values["zones"]
    first, last = zones.start_label_m, zones.start_label_m + zones.end_distance_m - zones.start_distance_m
    label = float(np.ravel(values["label_m"])[np.flatnonzero(np.ravel(values["solution_count"]) == 0)[0]])
    before, after = last[last <= label], first[first > label]
    edges = [f"after {before.max():.3f}" if before.size else "", f"before {after.min():.3f}" if after.size else ""]
    return f"no place carries the label {label:.3f}: it falls in a gap {' and '.join(edge for edge in edges if edge)}"


def _carry_the_label(values: Values) -> FloatArray:
    zones, found = values["zones"], np.asarray(values["distance_m"])
    inside = _lies_in(zones, found[..., None])
    labels = zones.start_label_m + found[..., None] - zones.start_distance_m
    return np.isnan(found) | np.any(inside & (np.abs(labels - np.asarray(values["label_m"])[..., None, None]) < 1e-6), axis=-1)


@method(
    "alignment.chainage.label_to_distance",
    found_by={
        "distance_m": Algorithm(
            "in every zone start distance plus label less start label, kept where it lies in the zone", "x", {"each carries the label": _carry_the_label}
        ),
        "solution_count": Algorithm("number of zones that carry the label", "n"),
    },
    requires=(_IN_ORDER,),
    remarks=(
        Remark(lambda v: v["solution_count"] == 0, _edges_around),
        Remark(lambda v: v["solution_count"] > 1, "several places carry this label: say in which zone"),
    ),
    kind="identity",
    source=GEOMETRY,
)
def label_to_distance(zones: LabelZones, label_m: Number) -> LabelledDistances:
    """Return all distances along the axis that carry a printed chainage.

    Parameters
    ----------
    zones : in order of distance.
    label_m : printed chainage.
    """
    candidates = zones.start_distance_m + (np.asarray(label_m)[..., None] - zones.start_label_m)
    solved = np.diagonal(_lies_in(zones, candidates[..., None]), axis1=-2, axis2=-1)
    # Solutions first, so that many labels make a table filled up with NaN; a single label needs no filling.
    distances = np.sort(np.where(solved, candidates, np.nan), axis=-1)
    count = np.sum(solved, axis=-1)
    return LabelledDistances(distance_m=distances[: int(count)] if np.ndim(count) == 0 else distances, solution_count=count.astype(np.float64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Label(Record):
    """Printed chainage of a distance, and the zone (counted from 0) that gives it; NaN outside all zones."""

    label_m: FloatArray
    zone_index: FloatArray


def _inside_its_zone(values: Values) -> FloatArray:
    zones, index = values["zones"], np.asarray(values["zone_index"])
    held = np.where(np.isnan(index), 0, index).astype(int)
    return np.isnan(index) | ((values["distance_m"] >= zones.start_distance_m[held]) & (values["distance_m"] <= zones.end_distance_m[held]))


@method(
    "alignment.chainage.distance_to_label",
    found_by={
        "label_m": Algorithm("start label of the zone plus the way inside it", "label"),
        "zone_index": Algorithm("last zone that starts at or before the distance, counted from 0", "k", {"the distance lies in the zone": _inside_its_zone}),
    },
    requires=(_IN_ORDER,),
    remarks=(Remark(lambda v: np.isnan(v["zone_index"]), "a distance lies outside all zones: it has no label"),),
    kind="identity",
    source=GEOMETRY,
)
def distance_to_label(zones: LabelZones, distance_m: Number) -> Label:
    """Return the printed chainage of a distance along the axis.

    Parameters
    ----------
    zones : in order of distance; a boundary belongs to the zone ahead.
    distance_m : along the axis, never jumping.
    """
    distance = np.asarray(distance_m)
    inside = _lies_in(zones, distance[..., None])
    found = inside.any(axis=-1)
    index = np.argmax(inside, axis=-1)
    label = zones.start_label_m[index] + distance - zones.start_distance_m[index]
    return Label(label_m=np.where(found, label, np.nan), zone_index=np.where(found, index.astype(np.float64), np.nan))
