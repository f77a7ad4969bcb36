"""The face limits of a drive as a careful engineer would script them: station by station, slice by slice, one search of the slip angle at a time.

It shares no code with the program: plain numbers in, plain numbers out. The wedge is cut into thin slices, each in equilibrium along and across the slip
plane; the least favourable angle is found by scipy's scalar minimiser.
"""

from dataclasses import dataclass, field
from math import atan, cos, exp, isnan, log, nan, pi, radians, sin, tan

import numpy as np
from scipy.optimize import minimize_scalar

SLICE_M = 0.02
JUST_INSIDE_M = 0.01


@dataclass
class Segment:
    """A stretch of one unit in the column below the ground, with the water in it."""

    top_level: float
    base_level: float
    unit: int
    pore_top: float
    pore_base: float
    is_wet: bool

    def rise(self) -> float:
        height = self.top_level - self.base_level
        return (self.pore_base - self.pore_top) / height if height > 1e-9 else 0.0


@dataclass
class Unit:
    """One unit's cautious values: low strength; the greater weights for the lower limit, the smaller for the upper."""

    weight_high: float
    weight_low: float
    wet_weight_high: float
    wet_weight_low: float
    friction_rad: float
    cohesion: float
    strength: float
    strength_gradient: float
    strength_reference_level: float
    stays_undrained: bool
    is_clay: bool


@dataclass
class Station:
    """What stands above and in the face at one chainage."""

    chainage: float
    ground_level: float
    lowest_ground_level: float
    axis_level: float
    free_water_high: float
    free_water_low: float
    unit_tops: list[float]
    column_high_water: list[Segment]
    column_low_water: list[Segment]


@dataclass
class Rules:
    """Machine and factors, the same at every station."""

    diameter: float
    surcharge: float
    support_weight_low: float
    support_weight_high: float
    bulkhead_limit: float
    seal_limit: float
    water_unit_weight: float
    support_factor: float
    water_factor: float
    strength_factor: float
    stress_factor: float
    open_holes: list[float] = field(default_factory=list)


@dataclass
class Layer:
    """Neighbouring segments of one unit and one effective weight."""

    thickness: float
    unit: int
    effective_weight: float


def limits(station: Station, units: list[Unit], rules: Rules) -> tuple[float, float, float, float]:
    """Return the least face pressure at the crown, its drained and undrained parts, and the greatest."""
    drained = drained_limit(station, units, rules)
    undrained = undrained_limit(station, units, rules)
    lower = drained if isnan(undrained) else max(drained, undrained)
    return lower, drained, undrained, upper_limit(station, units, rules)


def layers_between(column: list[Segment], units: list[Unit], upper: float, lower: float) -> list[Layer]:
    layers: list[Layer] = []
    for one in column:
        thickness = min(one.top_level, upper) - max(one.base_level, lower)
        if thickness <= 1e-9:
            continue
        unit = units[one.unit]
        effective = (unit.wet_weight_high if one.is_wet else unit.weight_high) - one.rise()
        last = layers[-1] if layers else None
        if last is not None and last.unit == one.unit and abs(last.effective_weight - effective) < 1e-6:
            last.thickness += thickness
        else:
            layers.append(Layer(thickness, one.unit, effective))
    return layers


def pore_pressure(column: list[Segment], level: float) -> float:
    for one in column:
        if one.base_level < level <= one.top_level and one.top_level > one.base_level:
            return one.pore_top + one.rise() * (one.top_level - level)
    return 0.0


def silo_stress(cover: list[Layer], units: list[Unit], radius: float, surcharge: float) -> float:
    stress = surcharge
    for layer in cover:
        friction, cohesion = tan(units[layer.unit].friction_rad), units[layer.unit].cohesion
        if friction > 1e-9:
            kept = exp(-friction * layer.thickness / radius)
            stress = max(0.0, (layer.effective_weight * radius - cohesion) / friction * (1 - kept) + stress * kept)
        else:
            stress = max(0.0, stress + (layer.effective_weight - cohesion / radius) * layer.thickness)
    return stress


class SlicedWedge:
    """A wedge below a silo, cut into thin slices from the crown down."""

    def __init__(self, cover: list[Layer], face: list[Layer], units: list[Unit], width: float, surcharge: float) -> None:
        self.cover, self.units, self.width, self.surcharge = cover, units, width, surcharge
        self.height = sum(layer.thickness for layer in face)
        counts = [max(20, int(layer.thickness / SLICE_M)) for layer in face]
        self.thickness = np.concatenate([np.full(count, layer.thickness / count) for layer, count in zip(face, counts, strict=True)])
        self.weight = np.repeat([layer.effective_weight for layer in face], counts)
        self.cohesion = np.repeat([units[layer.unit].cohesion for layer in face], counts)
        friction = np.repeat([units[layer.unit].friction_rad for layer in face], counts)
        self.tan_friction = np.tan(friction)
        self.side = (1 - np.sin(friction) + np.tan(pi / 4 - friction / 2) ** 2) / 2
        self.least_friction = float(friction.min())
        self.depth = np.concatenate([[0.0], np.cumsum(self.thickness)])
        self.own = np.concatenate([[0.0], np.cumsum(self.weight * self.thickness)])

    def support(self, angle: float) -> float:
        """Return the mean effective pressure that holds the wedge at one slip angle."""
        length = self.height / tan(angle)
        silo = silo_stress(self.cover, self.units, self.width * length / (2 * (self.width + length)), self.surcharge)
        stress = self.own + silo * (1 - self.depth / self.height)
        across = (self.height - self.depth) / tan(angle)
        area = (across[1:] + across[:-1]) / 2 * self.thickness
        down = self.width * (stress[:-1] * across[:-1] - stress[1:] * across[1:] + self.weight * area)
        sides = 2 * (self.cohesion + self.side * self.tan_friction * (stress[1:] + stress[:-1]) / 2) * area
        bond = self.cohesion * self.width * self.thickness / sin(angle)
        normal = (down - (sides + bond) * sin(angle)) / (cos(angle) + self.tan_friction * sin(angle))
        push = normal * sin(angle) - (normal * self.tan_friction + bond + sides) * cos(angle)
        return float(push.sum()) / (self.width * self.height)

    def worst(self) -> float:
        """Return the support at the least favourable angle."""
        low, high = self.least_friction + radians(1.0), radians(89.0)
        found = minimize_scalar(lambda angle: -self.support(angle), bounds=(low, high), method="bounded", options={"xatol": 1e-4})
        return -float(found.fun)


def drained_limit(station: Station, units: list[Unit], rules: Rules) -> float:
    diameter, column = rules.diameter, station.column_high_water
    crown, invert = station.axis_level + diameter / 2, station.axis_level - diameter / 2
    cover = layers_between(column, units, station.ground_level, crown)
    face = layers_between(column, units, crown, invert)
    surcharge = 0.0 if station.free_water_high > 0 else rules.surcharge
    support = SlicedWedge(cover, face, units, diameter, surcharge).worst()
    area = pi / 4 * diameter**2
    axis = rules.support_factor * max(support, 0.0) + rules.water_factor * water_force(column, station.axis_level, diameter) / area
    asked = [axis - rules.support_weight_low * diameter / 2]
    at_crown = next((one.unit for one in column if one.base_level < crown - JUST_INSIDE_M <= one.top_level), 0)
    if not units[at_crown].stays_undrained:
        asked.append(rules.water_factor * pore_pressure(column, crown))
    if rules.support_weight_low < rules.water_factor * rules.water_unit_weight:
        asked.append(rules.water_factor * pore_pressure(column, invert + JUST_INSIDE_M) - rules.support_weight_low * diameter)
    height = 0.0
    for count, layer in enumerate(face[:-1], start=1):
        height += layer.thickness
        part = SlicedWedge(cover, face[:count], units, diameter, surcharge).worst()
        water = pore_pressure(column, crown - height / 2)
        asked.append(rules.support_factor * max(part, 0.0) + rules.water_factor * water - rules.support_weight_low * height / 2)
    return max(asked)


def water_force(column: list[Segment], axis_level: float, diameter: float) -> float:
    """Return the force of the water on the circular face from thin horizontal strips."""
    radius, force = diameter / 2, 0.0
    for one in column:
        top, base = min(one.top_level, axis_level + radius), max(one.base_level, axis_level - radius)
        if top - base <= 1e-9:
            continue
        edges = np.linspace(base, top, max(8, int((top - base) / SLICE_M)) + 1)
        middle = (edges[1:] + edges[:-1]) / 2
        chord = 2 * np.sqrt(np.maximum(radius**2 - (middle - axis_level) ** 2, 0.0))
        force += float(np.sum(chord * np.diff(edges) * (one.pore_top + one.rise() * (one.top_level - middle))))
    return force


def total_stress(column: list[Segment], units: list[Unit], ground: float, level: float, *, heavy: bool) -> float:
    stress = 0.0
    for one in column:
        thickness = min(one.top_level, ground) - max(one.base_level, level)
        if thickness > 0:
            unit = units[one.unit]
            wet, dry = (unit.wet_weight_high, unit.weight_high) if heavy else (unit.wet_weight_low, unit.weight_low)
            stress += (wet if one.is_wet else dry) * thickness
    return stress


def undrained_limit(station: Station, units: list[Unit], rules: Rules) -> float:
    """Return the limit of clay that does not drain; NaN where clay fills less than half of the face."""
    diameter, column = rules.diameter, station.column_high_water
    crown, invert = station.axis_level + diameter / 2, station.axis_level - diameter / 2
    radius = diameter / 2

    def above(level: float) -> float:
        height = min(max(level - station.axis_level, -radius), radius)
        angle = atan(height / (radius**2 - height**2) ** 0.5) if abs(height) < radius else pi / 2 * (1 if height > 0 else -1)
        return radius**2 * (pi / 2 - angle) - height * (radius**2 - height**2) ** 0.5

    clay = sum(above(one.base_level) - above(one.top_level) for one in column if units[one.unit].is_clay) / (pi * radius**2)
    if clay < 0.5:
        return nan
    weighted = total = 0.0
    for one in column:
        top, base = min(one.top_level, crown + radius, station.ground_level), max(one.base_level, invert)
        unit = units[one.unit]
        if top <= base or isnan(unit.strength):
            continue
        reference = station.unit_tops[one.unit] if isnan(unit.strength_reference_level) else unit.strength_reference_level
        weighted += (top - base) * (unit.strength + unit.strength_gradient * max(reference - (top + base) / 2, 0.0))
        total += top - base
    surcharge = 0.0 if station.free_water_high > 0 else rules.surcharge
    stress = total_stress(column, units, station.ground_level, station.axis_level, heavy=True) + rules.water_unit_weight * station.free_water_high + surcharge
    spread = log(2 * (station.ground_level - crown) / diameter + 1)
    number = min(9.0, max(4 * spread, 2 + 2 * spread))
    return stress - number * weighted / total / rules.strength_factor - rules.support_weight_low * radius


def upper_limit(station: Station, units: list[Unit], rules: Rules) -> float:
    crown = station.axis_level + rules.diameter / 2
    ground = min(station.lowest_ground_level, station.ground_level)
    stress = total_stress(station.column_low_water, units, ground, crown, heavy=False) + rules.water_unit_weight * station.free_water_low
    found = [
        rules.stress_factor * stress,
        rules.bulkhead_limit - rules.support_weight_high * rules.diameter,
        rules.seal_limit - rules.support_weight_high * rules.diameter / 2,
    ]
    if any(abs(station.chainage - hole) <= rules.diameter for hole in rules.open_holes):
        found.append(pore_pressure(station.column_low_water, crown) + 20.0)
    return min(found)
