"""Outlines and grids in plan: area, place beside a line, site grid, scale of a map projection."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tunnelwright.engineering.exchange.sources import GEOMETRY, MERCATOR, SITE_GRID
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Vertices(Table):
    """Corners of a closed outline in order, either way round; the first may stand again at the end."""

    easting_m: FloatArray
    northing_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PolygonArea(Record):
    """Area of an outline."""

    area_m2: FloatArray


def _crosses_itself(values: Values) -> bool:
    """Say whether two edges that do not share a corner cross."""
    vertices = values["vertices"]
    if vertices.easting_m.ndim != 1:
        return False
    start = np.stack([vertices.easting_m - vertices.easting_m[0], vertices.northing_m - vertices.northing_m[0]], axis=-1)
    end = np.roll(start, -1, axis=0)

    def side(of: FloatArray) -> FloatArray:
        edge = (end - start)[:, None, :]
        away = of[None, :, :] - start[:, None, :]
        return np.sign(edge[..., 0] * away[..., 1] - edge[..., 1] * away[..., 0])

    parted = side(start) * side(end) < 0
    return bool(np.any(parted & parted.T))


def _within_its_box(values: Values) -> Any:
    vertices = values["vertices"]
    box = np.ptp(vertices.easting_m, axis=-1) * np.ptp(vertices.northing_m, axis=-1)
    return ~(np.asarray(values["area_m2"]) > box * (1 + 1e-9) + 1e-12)


@method(
    "exchange.polygon.area",
    found_by={
        "area_m2": Algorithm(
            "half the sum of cross products of neighbouring corners, counted from the first corner", "A", {"not more than its box": _within_its_box}
        )
    },
    requires=(Require("vertices", lambda v: v["vertices"].row_count >= 3, "must be at least three"),),
    remarks=(Remark(_crosses_itself, "the outline crosses itself: parts of it count against each other"),),
    kind="identity",
    source=GEOMETRY,
)
def polygon_area(vertices: Vertices) -> PolygonArea:
    """Return the area of an outline in plan.

    Parameters
    ----------
    vertices : in order; coordinates of any size, because only distances from the first corner are multiplied.
    """
    east, north = vertices.easting_m - vertices.easting_m[..., :1], vertices.northing_m - vertices.northing_m[..., :1]
    cross = east * np.roll(north, -1, axis=-1) - north * np.roll(east, -1, axis=-1)
    return PolygonArea(area_m2=np.abs(np.sum(cross, axis=-1)) / 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BesideLine(Record):
    """Where an outline lies along and beside a straight line, offsets positive right."""

    chainage_min_m: FloatArray
    chainage_max_m: FloatArray
    offset_min_m: FloatArray
    offset_max_m: FloatArray


def _nearest_and_farthest(values: Values) -> Any:
    """Say whether lowest and highest values are in order."""
    return ~((values["chainage_min_m"] > values["chainage_max_m"]) | (values["offset_min_m"] > values["offset_max_m"]))


@method(
    "exchange.polygon.chainage_offset",
    found_by={
        "chainage_min_m": Algorithm("least projection of a corner on the line", "s_min", {"lowest below highest": _nearest_and_farthest}),
        "chainage_max_m": Algorithm("greatest projection of a corner on the line", "s_max"),
        "offset_min_m": Algorithm("least distance of a corner right of the line", "y_min"),
        "offset_max_m": Algorithm("greatest distance of a corner right of the line", "y_max"),
    },
    requires=(
        Require(
            "end_easting_m",
            lambda v: ~((v["end_easting_m"] == v["start_easting_m"]) & (v["end_northing_m"] == v["start_northing_m"])),
            "must differ from the start",
        ),
    ),
    remarks=(Remark(lambda v: (v["offset_min_m"] < 0) & (v["offset_max_m"] > 0), "the line runs under the outline"),),
    kind="identity",
    source=GEOMETRY,
)
def chainage_offset(vertices: Vertices, start_easting_m: Number, start_northing_m: Number, end_easting_m: Number, end_northing_m: Number) -> BesideLine:
    """Return the stretch of a straight line beside which an outline lies, and how far aside.

    Parameters
    ----------
    vertices : of the outline; on a straight line its corners hold the extremes, which its centroid hides.
    start_easting_m, start_northing_m : where the chainage of the line is 0.
    end_easting_m, end_northing_m : another point of the line, in drive direction.
    """
    along_east, along_north = np.subtract(end_easting_m, start_easting_m), np.subtract(end_northing_m, start_northing_m)
    length = np.hypot(along_east, along_north)
    unit_east, unit_north = (along_east / length)[..., None], (along_north / length)[..., None]
    east, north = vertices.easting_m - np.asarray(start_easting_m)[..., None], vertices.northing_m - np.asarray(start_northing_m)[..., None]
    chainage, offset = east * unit_east + north * unit_north, east * unit_north - north * unit_east
    return BesideLine(
        chainage_min_m=chainage.min(axis=-1), chainage_max_m=chainage.max(axis=-1), offset_min_m=offset.min(axis=-1), offset_max_m=offset.max(axis=-1)
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GridPoint(Record):
    """Grid coordinates."""

    easting_m: FloatArray
    northing_m: FloatArray


@method(
    "exchange.crs.site_grid",
    formulas={
        "easting_m": Formula("E", "E_0 + m * (x * cos(r) + y * sin(r))"),
        "northing_m": Formula("N", "N_0 + m * (y * cos(r) - x * sin(r))"),
    },
    symbols={"local_x_m": "x", "local_y_m": "y", "origin_easting_m": "E_0", "origin_northing_m": "N_0", "rotation_rad": "r", "scale_factor": "m"},
    valid={"scale_factor": Range(0.9996, 1.0004, "national projections keep within 4e-4 of the ground")},
    possible={
        "rotation_rad": (-2 * np.pi, 2 * np.pi),
        "scale_factor": (0.5, 2.0),
        "origin_easting_m": (-1e8, 1e8),
        "origin_northing_m": (-1e8, 1e8),
        "local_x_m": (-1e8, 1e8),
        "local_y_m": (-1e8, 1e8),
    },
    kind="identity",
    source=SITE_GRID,
)
def site_grid(
    local_x_m: Number, local_y_m: Number, origin_easting_m: Number, origin_northing_m: Number, rotation_rad: Number, scale_factor: Number
) -> GridPoint:
    """Return the grid coordinates of a point of the site grid.

    Parameters
    ----------
    local_x_m, local_y_m : in the site grid, at the scale of the ground.
    origin_easting_m, origin_northing_m : of the site grid's origin.
    rotation_rad : of the site grid against the other, clockwise positive.
    scale_factor : length in the grid over length on the ground.
    """
    cosine, sine = np.cos(rotation_rad), np.sin(rotation_rad)
    return GridPoint(
        easting_m=origin_easting_m + scale_factor * (np.multiply(local_x_m, cosine) + np.multiply(local_y_m, sine)),
        northing_m=origin_northing_m + scale_factor * (np.multiply(local_y_m, cosine) - np.multiply(local_x_m, sine)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MapScale(Record):
    """Lengths and areas on the map over those on the ground."""

    length_factor: FloatArray
    area_factor: FloatArray


@method(
    "exchange.crs.web_mercator_factor",
    formulas={"length_factor": Formula("f_L", "1 / cos(phi_g)"), "area_factor": Formula("f_A", "1 / cos(phi_g)^2")},
    valid={"latitude_rad": Range(-1.4845, 1.4845, "the map ends at 85.05 degrees")},
    possible={"latitude_rad": (-1.5707, 1.5707)},
    remarks=(Remark(lambda v: v["length_factor"] > 1.001, "lengths and areas must not be measured on this map: project them first"),),
    kind="mean",
    source=MERCATOR,
)
def web_mercator_factor(latitude_rad: Number) -> MapScale:
    """Return by how much a web map enlarges lengths and areas.

    Parameters
    ----------
    latitude_rad : of the place, on the sphere.
    """
    secant = 1 / np.cos(latitude_rad)
    return MapScale(length_factor=secant, area_factor=np.square(secant))
