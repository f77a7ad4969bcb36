"""Levels out of surfaces: triangles and cells."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.exchange.sources import DATUM, GEOMETRY
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, TextArray, Values

# A point on an edge belongs to both triangles, for all rounding.
_EDGE: Final = 1e-9
_DATUM_LIMIT_M: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfacePoints(Table):
    """Points of a triangulated surface; their ids are labels, not places in a list."""

    point_id: TextArray
    easting_m: FloatArray
    northing_m: FloatArray
    level_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfaceFaces(Table):
    """Triangles by the ids of their corners, in either sense."""

    point_a: TextArray
    point_b: TextArray
    point_c: TextArray

    def corners(self) -> FloatArray:
        """Return the ids as a table of three columns."""
        return np.asarray(np.stack([self.point_a, self.point_b, self.point_c], axis=-1).astype(np.str_))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfaceLevel(Record):
    """Level of a surface; none outside."""

    level_m: FloatArray


def _triangles(points: SurfacePoints, faces: SurfaceFaces) -> FloatArray:
    """Return easting, northing, level of every triangle's corners; triangles without an area are left out."""
    ids = points.point_id.astype(np.str_)
    order = np.argsort(ids)
    at = order[np.searchsorted(ids[order], faces.corners())]
    corners = np.stack([points.easting_m, points.northing_m, points.level_m], axis=-1)[at]
    return np.asarray(corners[np.abs(_twice_area(corners)) > 0])


def _twice_area(corners: FloatArray) -> FloatArray:
    (first, second) = (corners[:, one, :2] - corners[:, 0, :2] for one in (1, 2))
    return np.asarray(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])


def _ids_known(values: Values) -> bool:
    return bool(np.all(np.isin(values["faces"].corners(), values["points"].point_id.astype(np.str_))))


def _within_its_points(values: Values) -> Any:
    level, points = np.asarray(values["level_m"]), values["points"].level_m
    return np.isnan(level) | ((level >= points.min() - 1e-6) & (level <= points.max() + 1e-6))


@method(
    "exchange.surface.level",
    found_by={
        "level_m": Algorithm(
            "plane of the triangle that holds the place; none where no triangle does",
            "H",
            {"within the levels of the points": _within_its_points},
        )
    },
    requires=(
        Require("points.point_id", lambda v: np.unique(v["points"].point_id).size == v["points"].row_count, "must be used once only"),
        Require("faces", _ids_known, "must name points that are there", "ids are labels, not places in the list"),
    ),
    remarks=(
        Remark(lambda v: _ids_known(v) and len(_triangles(v["points"], v["faces"])) < v["faces"].row_count, "triangles without an area were left out"),
        Remark(
            lambda v: np.isnan(v["level_m"]) & np.isfinite(v["easting_m"]) & np.isfinite(v["northing_m"]), "a place lies outside all triangles: it has no level"
        ),
    ),
    kind="identity",
    source=GEOMETRY,
)
def surface_level(points: SurfacePoints, faces: SurfaceFaces, easting_m: Number, northing_m: Number) -> SurfaceLevel:
    """Return the level of a triangulated surface at a place.

    Parameters
    ----------
    points : of the surface.
    faces : triangles between them; invisible ones must be left out, a hole has none.
    easting_m, northing_m : places looked at.
    """
    corners = _triangles(points, faces)
    twice = _twice_area(corners)

    def at_place(east: float, north: float) -> tuple[float]:
        away = corners[:, :, :2] - (east, north)
        # Twice the area that the place makes with each edge, over twice the triangle's: its share of the opposite corner.
        turned = np.roll(away, -1, axis=1)
        shares = np.roll((away[:, :, 0] * turned[:, :, 1] - away[:, :, 1] * turned[:, :, 0]) / twice[:, None], -1, axis=1)
        holding = np.flatnonzero(np.all(shares >= -_EDGE, axis=1))
        return (float(shares[holding[0]] @ corners[holding[0], :, 2]) if holding.size else np.nan,)

    (levels,) = each_place(at_place, 1, (easting_m, northing_m))
    return SurfaceLevel(level_m=levels)


def _is_grid(values: Values) -> bool:
    return bool(np.ndim(values["rows"]) == 2 and min(np.shape(values["rows"])) >= 2)


def _within_the_cells(values: Values) -> Any:
    level = np.asarray(values["level_m"])
    return np.isnan(level) | ((level >= np.nanmin(values["rows"]) - 1e-6) & (level <= np.nanmax(values["rows"]) + 1e-6))


@method(
    "exchange.raster.bilinear",
    found_by={
        "level_m": Algorithm(
            "mean of the four nearest cell centres, weighed by closeness in each direction; none where one of them is missing",
            "H",
            {"within the levels of the cells": _within_the_cells},
        )
    },
    units={"rows": "m"},
    possible={"rows": (-12_000.0, 9_000.0), "cell_size_m": (1e-9, 1e6)},
    requires=(Require("rows", _is_grid, "must be at least two rows of at least two levels, all of one length"),),
    remarks=(
        Remark(
            lambda v: np.isnan(v["level_m"]) & np.isfinite(v["easting_m"]) & np.isfinite(v["northing_m"]),
            "a place lies beyond the outermost cell centres or beside a cell without a level: it has none",
        ),
        Remark(
            lambda v: np.any(np.abs(np.diff(v["rows"], axis=0)) > 3) or np.any(np.abs(np.diff(v["rows"], axis=1)) > 3),
            "neighbouring cells differ by more than 3 m: are roofs and trees in this terrain? Cover would come out too large",
        ),
    ),
    kind="identity",
    source=GEOMETRY,
)
def bilinear(rows: Series, corner_easting_m: Number, corner_northing_m: Number, cell_size_m: Number, easting_m: Number, northing_m: Number) -> SurfaceLevel:
    """Return the level of a terrain grid at a place.

    Parameters
    ----------
    rows : levels at the cell centres, rows from north to south, each from west to east; a cell without a level is empty.
    corner_easting_m, corner_northing_m : outer south-west corner of the south-west cell, half a cell off its centre.
    cell_size_m : of a square cell.
    easting_m, northing_m : places looked at.
    """
    levels = np.asarray(rows, dtype=np.float64)[::-1]
    row_count, column_count = levels.shape
    column = np.subtract(easting_m, corner_easting_m) / np.asarray(cell_size_m) - 0.5
    row = np.subtract(northing_m, corner_northing_m) / np.asarray(cell_size_m) - 0.5
    column, row = np.broadcast_arrays(column, row)
    inside = (column >= 0) & (column <= column_count - 1) & (row >= 0) & (row <= row_count - 1)
    west = np.clip(np.floor(np.where(inside, column, 0)), 0, column_count - 2).astype(int)
    south = np.clip(np.floor(np.where(inside, row, 0)), 0, row_count - 2).astype(int)
    along, up = column - west, row - south
    lower = (1 - along) * levels[south, west] + along * levels[south, west + 1]
    upper = (1 - along) * levels[south + 1, west] + along * levels[south + 1, west + 1]
    return SurfaceLevel(level_m=np.where(inside, (1 - up) * lower + up * upper, np.nan))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DatumDifference(Record):
    """How far terrain and boreholes lie apart, and what follows."""

    median_difference_m: FloatArray
    state: TextArray


@method(
    "exchange.level.datum_difference",
    found_by={
        "median_difference_m": Algorithm("median of terrain less borehole level, over the holes that have both", "dH"),
        "state": Algorithm("act above 1 m either way, else in order; not checked where no hole has both"),
    },
    requires=(
        Require("borehole_level_m", lambda v: np.size(v["terrain_level_m"]) == np.size(v["borehole_level_m"]), "must have as many entries as terrain_level_m"),
    ),
    remarks=(Remark(lambda v: str(v["state"]) == "act", "terrain and boreholes differ by more than 1 m: two vertical datums, or one of them is no terrain"),),
    kind="mean",
    source=DATUM,
)
def datum_difference(terrain_level_m: Series, borehole_level_m: Series) -> DatumDifference:
    """Return whether terrain and boreholes were measured from one datum.

    Parameters
    ----------
    terrain_level_m : at each hole.
    borehole_level_m : ground level of each hole.
    """
    apart = terrain_level_m - borehole_level_m
    apart = apart[np.isfinite(apart)]
    if not apart.size:
        return DatumDifference(median_difference_m=np.asarray(np.nan), state=np.asarray("not checked"))
    median = float(np.median(apart))
    return DatumDifference(median_difference_m=np.asarray(median), state=np.asarray("act" if abs(median) > _DATUM_LIMIT_M else "in order"))
