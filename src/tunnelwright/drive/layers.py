"""Layers and stresses that face calculations read from sections.

A table of layers has the shape (stations, rows), top down, padded by rows without thickness. Effective unit weight is total weight less
the rise of pore pressure with depth, so that flow through an aquitard is counted.
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.sections import Column, Sections, WaterCase
from tunnelwright.drive.strength import UnitValues
from tunnelwright.vocabulary.types import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layers:
    """Layers between two levels of every station, shape (stations, rows)."""

    thickness_m: FloatArray
    unit_index: FloatArray
    unit_weight_kn_m3: FloatArray
    effective_unit_weight_kn_m3: FloatArray
    cohesion_kpa: FloatArray
    friction_angle_rad: FloatArray
    pore_pressure_top_kpa: FloatArray
    pore_pressure_base_kpa: FloatArray
    top_level_m: FloatArray
    base_level_m: FloatArray


def layers_between(column: Column, values: UnitValues, upper_level_m: FloatArray, lower_level_m: FloatArray) -> Layers:
    """Return the layers between two levels of every station, merged to as few rows as the longest station needs."""
    upper, lower = np.asarray(upper_level_m)[:, None], np.asarray(lower_level_m)[:, None]
    top = np.clip(column.top_level_m, lower, upper)
    base = np.clip(column.base_level_m, lower, upper)
    thickness = top - base
    whole = column.thickness_m
    rise = np.divide(column.pore_pressure_base_kpa - column.pore_pressure_top_kpa, whole, out=np.zeros_like(whole), where=whole > 1e-9)
    unit = column.unit_index.astype(int)
    weight = np.where(column.is_wet > 0, values.unit_weight_saturated_kn_m3[unit], values.unit_weight_kn_m3[unit])
    arrays = {
        "thickness_m": np.where(thickness > 1e-9, thickness, 0.0),
        "unit_index": column.unit_index,
        "unit_weight_kn_m3": weight,
        "effective_unit_weight_kn_m3": weight - rise,
        "cohesion_kpa": values.cohesion_kpa[unit],
        "friction_angle_rad": values.friction_angle_rad[unit],
        "pore_pressure_top_kpa": column.pore_pressure_top_kpa + rise * (column.top_level_m - top),
        "pore_pressure_base_kpa": column.pore_pressure_top_kpa + rise * (column.top_level_m - base),
        "top_level_m": top,
        "base_level_m": base,
    }
    return Layers(**_merged(_compacted(arrays)))


def _compacted(arrays: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Return the rows with thickness first, in their order, cut to the longest station."""
    empty = arrays["thickness_m"] <= 0
    order = np.argsort(empty, axis=1, kind="stable")
    rows = max(1, int((~empty).sum(axis=1).max(initial=0)))
    return {name: np.take_along_axis(values, order, axis=1)[:, :rows] for name, values in arrays.items()}


def _merged(arrays: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Return the rows with neighbours of one unit and one effective weight joined, since a cut in the column is not a boundary of the ground."""
    thickness = arrays["thickness_m"]
    same = (np.diff(arrays["unit_index"], axis=1) == 0) & (np.abs(np.diff(arrays["effective_unit_weight_kn_m3"], axis=1)) < 1e-6)
    starts = np.concatenate([np.ones((len(thickness), 1), dtype=bool), ~same], axis=1)
    starts |= thickness <= 0
    ends = np.concatenate([starts[:, 1:], np.ones((len(thickness), 1), dtype=bool)], axis=1)
    group = np.cumsum(starts, axis=1) - 1
    station = np.broadcast_to(np.arange(len(thickness))[:, None], group.shape)
    joined = {name: np.zeros_like(values) for name, values in arrays.items()}
    np.add.at(joined["thickness_m"], (station, group), thickness)
    for name, values in arrays.items():
        if name != "thickness_m":
            row = ends if name in ("base_level_m", "pore_pressure_base_kpa") else starts
            joined[name][station[row], group[row]] = values[row]
    return _compacted(joined)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stresses:
    """Total vertical stress and pore pressure at one level of every station."""

    total_vertical_stress_kpa: FloatArray
    pore_pressure_kpa: FloatArray

    @property
    def effective_vertical_stress_kpa(self) -> FloatArray:
        """Return total stress less pore pressure, raw."""
        return self.total_vertical_stress_kpa - self.pore_pressure_kpa


def stresses_at(
    sections: Sections,
    water_case: WaterCase,
    values: UnitValues,
    level_m: FloatArray,
    surcharge_kpa: FloatArray | float,
    gamma_w: float,
    ground_level_m: FloatArray | None = None,
) -> Stresses:
    """Return the stresses at one level of every station; with another ground level the missing top of the column weighs nothing."""
    column = sections.columns[water_case]
    surface = sections.ground_level_m if ground_level_m is None else ground_level_m
    layers = layers_between(column, values, surface, level_m)
    total = (layers.thickness_m * layers.unit_weight_kn_m3).sum(axis=1) + gamma_w * sections.free_water_height_m[water_case] + surcharge_kpa
    return Stresses(total_vertical_stress_kpa=total, pore_pressure_kpa=column.pore_pressure_kpa(level_m))


def area_above(radius_m: float, height_above_axis_m: FloatArray) -> FloatArray:
    """Return the area of a circular face above a horizontal line, at heights above the axis."""
    height = np.clip(height_above_axis_m, -radius_m, radius_m)
    return radius_m**2 * np.arccos(height / radius_m) - height * np.sqrt(radius_m**2 - height**2)


def moment_above(radius_m: float, height_above_axis_m: FloatArray) -> FloatArray:
    """Return the first moment about the axis of the area above a horizontal line."""
    height = np.clip(height_above_axis_m, -radius_m, radius_m)
    return 2.0 / 3.0 * (radius_m**2 - height**2) ** 1.5


def face_areas_m2(sections: Sections, layers: Layers) -> FloatArray:
    """Return the area of every layer of the face, shape (stations, rows)."""
    radius = sections.excavation_diameter_m / 2
    axis = sections.points.level_m[:, None]
    return area_above(radius, layers.base_level_m - axis) - area_above(radius, layers.top_level_m - axis)


def unit_shares(sections: Sections, layers: Layers, unit_count: int) -> FloatArray:
    """Return the share of the face area of every unit, shape (stations, units)."""
    areas = face_areas_m2(sections, layers)
    shares = np.zeros((sections.count, unit_count))
    rows = np.arange(sections.count)[:, None]
    np.add.at(shares, (rows, layers.unit_index.astype(int)), areas)
    return shares / shares.sum(axis=1, keepdims=True)


def water_force_kn(sections: Sections, layers: Layers) -> FloatArray:
    """Return the force of the pore pressure on the face: within a layer it is linear, so area times the value at its centroid is exact."""
    radius = sections.excavation_diameter_m / 2
    axis = sections.points.level_m[:, None]
    areas = face_areas_m2(sections, layers)
    moments = moment_above(radius, layers.base_level_m - axis) - moment_above(radius, layers.top_level_m - axis)
    centroid = axis + np.divide(moments, areas, out=np.zeros_like(areas), where=areas > 1e-12)
    share = np.divide(layers.top_level_m - centroid, layers.thickness_m, out=np.zeros_like(areas), where=layers.thickness_m > 0)
    pressure = layers.pore_pressure_top_kpa + share * (layers.pore_pressure_base_kpa - layers.pore_pressure_top_kpa)
    return (areas * pressure).sum(axis=1)


def undrained_strength_kpa(sections: Sections, values: UnitValues) -> FloatArray:
    """Return the undrained strength averaged from half a diameter above the crown to the invert, over the units that have one; NaN where none does.

    Notes
    -----
    From C - D/2 to C + D below ground, as the bounds assume; strength grows from the reference level, or from the top of the unit, downwards.
    """
    column = sections.columns["normal"]
    upper = np.minimum(sections.crown_level_m + sections.excavation_diameter_m / 2, sections.ground_level_m)
    layers = layers_between(column, values, upper, sections.invert_level_m)
    unit = layers.unit_index.astype(int)
    top_of_unit = np.take_along_axis(sections.boundary_level_m, unit, axis=1)
    reference = np.where(np.isnan(values.reference_level_m[unit]), top_of_unit, values.reference_level_m[unit])
    middle = (layers.top_level_m + layers.base_level_m) / 2
    strength = values.undrained_strength_reference_kpa[unit] + values.undrained_strength_gradient_kpa_m[unit] * np.maximum(reference - middle, 0.0)
    weight = np.where(np.isnan(strength), 0.0, layers.thickness_m)
    total = weight.sum(axis=1)
    return np.divide((np.nan_to_num(strength) * weight).sum(axis=1), total, out=np.full(len(total), np.nan), where=total > 0)
