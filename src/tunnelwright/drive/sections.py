"""Sections: what stands above and in the bore at chainages of the axis.

At every station the ground is a column of segments from the surface down, cut at every boundary of units and lenses, at heads of water and at
crown, axis and invert. A segment has one unit; its pore pressure is linear. Everything a face calculation needs is read from the column: layers
above the crown, layers of the face, stresses, water. The arrays have the shape (stations, segments), padded by segments without thickness.
"""

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.interpolate import LinearNDInterpolator

from tunnelwright.drive.axis import AxisPoints, DriveCase, axis_points
from tunnelwright.drive.geology import Geology
from tunnelwright.drive.project import Aquifer, Lens
from tunnelwright.vocabulary.types import FloatArray

WaterCase = Literal["low", "normal", "high"]
# The column reaches so many diameters below the invert: undrained strength is averaged over one.
COLUMN_BELOW_INVERT_DIAMETERS = 1.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Column:
    """The column of every station under one water case, shape (stations, segments), top down."""

    top_level_m: FloatArray
    base_level_m: FloatArray
    unit_index: FloatArray
    pore_pressure_top_kpa: FloatArray
    pore_pressure_base_kpa: FloatArray
    is_wet: FloatArray

    @property
    def thickness_m(self) -> FloatArray:
        """Return the thickness of every segment."""
        return self.top_level_m - self.base_level_m

    def pore_pressure_kpa(self, level_m: FloatArray) -> FloatArray:
        """Return the pore pressure at one level of every station."""
        level = np.asarray(level_m)[:, None]
        inside = (level <= self.top_level_m) & (level > self.base_level_m) & (self.thickness_m > 0)
        share = np.divide(self.top_level_m - level, self.thickness_m, out=np.zeros_like(self.top_level_m), where=self.thickness_m > 0)
        value = self.pore_pressure_top_kpa + share * (self.pore_pressure_base_kpa - self.pore_pressure_top_kpa)
        return np.sum(np.where(inside, value, 0.0), axis=1)

    def unit_at(self, level_m: FloatArray) -> FloatArray:
        """Return the index of the unit at one level of every station."""
        level = np.asarray(level_m)[:, None]
        inside = (level <= self.top_level_m) & (level > self.base_level_m) & (self.thickness_m > 0)
        return np.where(inside.any(axis=1), np.take_along_axis(self.unit_index, inside.argmax(axis=1)[:, None], axis=1)[:, 0], np.nan)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sections:
    """The ground at stations along a drive.

    Parameters
    ----------
    ground_level_m : on the axis; the bed where there is free water.
    lowest_ground_level_m : over a strip of one diameter, less the allowance for scour: for upper limits.
    free_water_height_m : over the bed, by water case.
    boundary_level_m, boundary_sd_m : top of every unit and its spread, shape (stations, units).
    columns : by water case.
    """

    chainage_m: FloatArray
    excavation_diameter_m: float
    points: AxisPoints
    ground_level_m: FloatArray
    lowest_ground_level_m: FloatArray
    free_water_height_m: dict[WaterCase, FloatArray]
    boundary_level_m: FloatArray
    boundary_sd_m: FloatArray
    nearest_hole_m: FloatArray
    columns: dict[WaterCase, Column]

    @property
    def crown_level_m(self) -> FloatArray:
        """Return the level of the crown of the bore."""
        return self.points.level_m + self.excavation_diameter_m / 2

    @property
    def invert_level_m(self) -> FloatArray:
        """Return the level of the invert of the bore."""
        return self.points.level_m - self.excavation_diameter_m / 2

    @property
    def cover_m(self) -> FloatArray:
        """Return the cover over the crown of the bore, on the axis."""
        return self.ground_level_m - self.crown_level_m

    @property
    def count(self) -> int:
        """Return the number of stations."""
        return len(self.chainage_m)


class SurfaceMissing(ValueError):
    """The axis leaves the surveyed surface; its text names the chainages."""


def sections_at(case: DriveCase, geology: Geology, chainage_m: FloatArray) -> Sections:
    """Return the sections at chainages of a drive.

    Raises
    ------
    SurfaceMissing
        where the axis, or the strip of one diameter beside it, lies outside the surveyed surface.
    """
    chainage = np.asarray(chainage_m, dtype=np.float64)
    diameter = case.machine.worn_diameter_m
    points = axis_points(case.drive, chainage)
    ground, lowest = _surface(case, points, diameter)
    tops, deviations = geology.top_levels(chainage, ground)
    water: dict[WaterCase, FloatArray] = {one: _free_water(case, chainage, ground, one) for one in ("low", "normal", "high")}
    lowest = lowest - _bed_lowering(case, chainage)
    segments = _segments(case, chainage, ground, tops, points.level_m, diameter)
    return Sections(
        chainage_m=chainage,
        excavation_diameter_m=diameter,
        points=points,
        ground_level_m=ground,
        lowest_ground_level_m=lowest,
        free_water_height_m=water,
        boundary_level_m=tops,
        boundary_sd_m=deviations,
        nearest_hole_m=geology.nearest_hole_m(chainage),
        columns={one: _column(case, chainage, segments, ground + water[one], one) for one in ("low", "normal", "high")},
    )


def _surface(case: DriveCase, points: AxisPoints, diameter: float) -> tuple[FloatArray, FloatArray]:
    surveyed = case.project.ground.surface_points_m()
    origin = surveyed[:, :2].mean(axis=0)
    surface = LinearNDInterpolator(surveyed[:, :2] - origin, surveyed[:, 2])
    levels = []
    for offset in (-diameter / 2, 0.0, diameter / 2):
        easting = points.easting_m + offset * np.cos(points.bearing_rad) - origin[0]
        northing = points.northing_m - offset * np.sin(points.bearing_rad) - origin[1]
        levels.append(surface(easting, northing))
    outside = ~np.isfinite(levels).all(axis=0)
    if outside.any():
        where = points.chainage_m[outside]
        raise SurfaceMissing(f"the surveyed surface does not cover the drive at chainage {where.min():.1f} to {where.max():.1f}")
    return levels[1], np.min(levels, axis=0)


def _free_water(case: DriveCase, chainage: FloatArray, ground: FloatArray, water_case: WaterCase) -> FloatArray:
    height = np.zeros_like(chainage)
    for water in case.project.ground.free_water:
        if water.drive in ("", case.drive.name):
            inside = (chainage >= water.start_chainage_m) & (chainage <= water.end_chainage_m)
            height = np.where(inside, np.maximum(height, getattr(water, f"{water_case}_level_m") - ground), height)
    return np.maximum(height, 0.0)


def _bed_lowering(case: DriveCase, chainage: FloatArray) -> FloatArray:
    lowering = np.zeros_like(chainage)
    for water in case.project.ground.free_water:
        if water.drive in ("", case.drive.name):
            inside = (chainage >= water.start_chainage_m) & (chainage <= water.end_chainage_m)
            lowering = np.where(inside, np.maximum(lowering, water.bed_lowering_m), lowering)
    return lowering


def lens_span(lens: Lens, chainage_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return top and base level of a lens at chainages, NaN where it is not."""
    outline = lens.outline_m
    closed = np.vstack([outline, outline[:1]])
    top = np.full(np.shape(chainage_m), -np.inf)
    base = np.full(np.shape(chainage_m), np.inf)
    for (x1, y1), (x2, y2) in itertools.pairwise(closed):
        low, high = min(x1, x2), max(x1, x2)
        inside = (chainage_m >= low) & (chainage_m <= high)
        level = y1 + (chainage_m - x1) / (x2 - x1) * (y2 - y1) if x2 != x1 else np.full(np.shape(chainage_m), max(y1, y2))
        top = np.where(inside, np.maximum(top, level), top)
        base = np.where(inside, np.minimum(base, level if x2 != x1 else min(y1, y2)), base)
    there = top > base
    return np.where(there, top, np.nan), np.where(there, base, np.nan)


def lenses_of(case: DriveCase) -> list[Lens]:
    """Return the lenses of a drive."""
    return [lens for lens in case.project.ground.lenses if lens.drive in ("", case.drive.name)]


def _segments(
    case: DriveCase, chainage: FloatArray, ground: FloatArray, tops: FloatArray, axis_level: FloatArray, diameter: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return top level, base level and unit of the segments of every station, from the surface down."""
    deepest = axis_level - diameter / 2 - COLUMN_BELOW_INVERT_DIAMETERS * diameter
    spans = [(lens, *lens_span(lens, chainage)) for lens in lenses_of(case)]
    heads = [aquifer.head_level_m(chainage, one) for aquifer in _aquifers(case) for one in ("low", "normal", "high")]
    cuts = [
        ground,
        *tops.T[1:],
        *(level for _, top, base in spans for level in (top, base)),
        *heads,
        axis_level + diameter / 2,
        axis_level,
        axis_level - diameter / 2,
        deepest,
    ]
    levels = np.stack(cuts, axis=1)
    levels = np.where(np.isfinite(levels), levels, deepest[:, None])
    levels = -np.sort(-np.clip(levels, deepest[:, None], ground[:, None]), axis=1)
    top, base = levels[:, :-1], levels[:, 1:]
    middle = (top + base) / 2
    unit = (tops[:, None, :] > middle[:, :, None]).sum(axis=2) - 1
    for lens, lens_top, lens_base in spans:
        inside = (middle < lens_top[:, None]) & (middle > lens_base[:, None])
        unit = np.where(inside, case.project.ground.unit_index(lens.unit), unit)
    return top, base, np.maximum(unit, 0).astype(np.float64)


def _aquifers(case: DriveCase) -> list[Aquifer]:
    return [aquifer for aquifer in case.project.ground.aquifers if aquifer.drive in ("", case.drive.name)]


def _column(
    case: DriveCase, chainage: FloatArray, segments: tuple[FloatArray, FloatArray, FloatArray], water_level: FloatArray, water_case: WaterCase
) -> Column:
    top, base, unit = segments
    head_top, head_base = _heads(case, chainage, top, base, unit, water_level, water_case)
    gamma_w = case.project.water_unit_weight_kn_m3
    above, below = gamma_w * np.maximum(head_top - top, 0.0), gamma_w * np.maximum(head_base - base, 0.0)
    middle_head = (head_top + head_base) / 2
    return Column(
        top_level_m=top,
        base_level_m=base,
        unit_index=unit,
        pore_pressure_top_kpa=np.nan_to_num(above),
        pore_pressure_base_kpa=np.nan_to_num(below),
        is_wet=(middle_head > (top + base) / 2).astype(np.float64),
    )


def _heads(
    case: DriveCase, chainage: FloatArray, top: FloatArray, base: FloatArray, unit: FloatArray, water_level: FloatArray, water_case: WaterCase
) -> tuple[FloatArray, FloatArray]:
    """Return the head at top and base of every segment: an aquifer's own; between two aquifers steady flow down through the aquitard.

    Notes
    -----
    The head falls over each segment in proportion to thickness over vertical permeability. An aquifer that forms the bed of free water has at least its level.
    An aquitard without an aquifer on one side takes the head of the other.
    """
    units = case.project.ground.units_in_order
    own = np.full(top.shape, np.nan)
    first_unit = np.take_along_axis(unit, np.argmax(top - base > 0, axis=1)[:, None], axis=1)[:, 0]
    under_water = water_level > top[:, 0]
    for aquifer in _aquifers(case):
        indices = [case.project.ground.unit_index(code) for code in aquifer.units]
        head = aquifer.head_level_m(chainage, water_case)
        head = np.where(under_water & np.isin(first_unit, indices), np.maximum(head, water_level), head)
        own = np.where(np.isin(unit, indices), head[:, None], own)
    permeability = np.array([(one.permeability_m_s.value if one.permeability_m_s else 1e-9) * one.permeability_ratio for one in units])
    thickness = top - base
    resistance = np.where(np.isnan(own), thickness / permeability[unit.astype(int)], 0.0)
    own = np.where(thickness > 0, own, np.nan)
    resistance = np.where(np.isnan(own), resistance, 0.0)
    above = _filled_down(own)
    below = _filled_down(own[:, ::-1])[:, ::-1]
    surface_head = np.where(water_level > top[:, 0], water_level, np.nan)
    above = np.where(np.isnan(above), surface_head[:, None], above)
    above, below = np.where(np.isnan(above), below, above), np.where(np.isnan(below), above, below)
    total, upto = _run_resistance(resistance, ~np.isnan(own))
    fraction_base = np.divide(upto, total, out=np.zeros_like(total), where=total > 0)
    fraction_top = np.divide(upto - resistance, total, out=np.zeros_like(total), where=total > 0)
    drop = above - below
    aquitard = np.isnan(own)
    head_top = np.where(aquitard, above - np.clip(fraction_top, 0, 1) * drop, own)
    head_base = np.where(aquitard, above - np.clip(fraction_base, 0, 1) * drop, own)
    return head_top, head_base


def _filled_down(values: FloatArray) -> FloatArray:
    """Return each row with NaN replaced by the last value before it."""
    place = np.where(np.isnan(values), 0, np.arange(values.shape[1])[None, :])
    place = np.maximum.accumulate(place, axis=1)
    return np.take_along_axis(values, place, axis=1)


def _run_resistance(resistance: FloatArray, is_aquifer: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return for every segment the resistance of its whole run of aquitard segments, and that from the top of the run to its base.

    A segment without thickness has no resistance and interrupts nothing; an aquifer starts the sum anew.
    """
    total = np.zeros_like(resistance)
    upto = np.zeros_like(resistance)
    running = np.zeros(len(resistance))
    for column in range(resistance.shape[1]):
        running = np.where(is_aquifer[:, column], 0.0, running + resistance[:, column])
        upto[:, column] = running
    whole = np.zeros(len(resistance))
    for column in range(resistance.shape[1] - 1, -1, -1):
        whole = np.where(is_aquifer[:, column], 0.0, np.maximum(whole, upto[:, column]))
        total[:, column] = whole
    return total, upto
