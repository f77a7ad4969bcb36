"""Coefficient of earth pressure at rest, and the vertical stress that loads at the surface add."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.ground.sources import EN_1997_1_REST, JAKY_1944, MAYNE_KULHAWY_1982, NEWMARK_1935, TWO_TO_ONE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AtRest(Record):
    """Effective coefficient of earth pressure at rest."""

    earth_pressure_coefficient_at_rest: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AtRestCapped(Record):
    """Effective coefficient of earth pressure at rest and the passive one that caps it."""

    earth_pressure_coefficient_at_rest: FloatArray
    passive_coefficient: FloatArray


@method(
    "ground.earth_pressure_at_rest.jaky_1944",
    formulas={"earth_pressure_coefficient_at_rest": Formula("K_0", "1 - sin(phi')")},
    kind="mean",
    source=JAKY_1944,
)
def jaky(friction_angle_rad: Number) -> AtRest:
    """Return the coefficient at rest of normally consolidated soil.

    Parameters
    ----------
    friction_angle_rad : effective.
    """
    return AtRest(earth_pressure_coefficient_at_rest=1 - np.sin(friction_angle_rad))


_RELOADED = "(1 - sin(phi')) * (OCR / OCR_max^(1 - sin(phi')) + 3/4 * (1 - OCR / OCR_max))"
_UNLOADED = "(1 - sin(phi')) * OCR^sin(phi')"


@method(
    "ground.earth_pressure_at_rest.mayne_kulhawy_1982",
    formulas={
        "earth_pressure_coefficient_at_rest": Formula("K_0", f"min(K_p, {_RELOADED} if OCR_max > OCR else {_UNLOADED})"),
        "passive_coefficient": Formula("K_p", "tan(pi / 4 + phi' / 2)^2"),
    },
    derived={"overconsolidation_ratio_max": Formula("OCR_max", "OCR")},
    symbols={"overconsolidation_ratio_max": "OCR_max"},
    possible={"overconsolidation_ratio_max": (1.0, 200.0)},
    valid={"overconsolidation_ratio": Range(1.0, 15.0, "level ground, not cemented, not made")},
    kind="mean",
    source=MAYNE_KULHAWY_1982,
)
def mayne_kulhawy(friction_angle_rad: Number, overconsolidation_ratio: Number, overconsolidation_ratio_max: Number = DERIVED) -> AtRestCapped:
    """Return the coefficient at rest of overconsolidated soil, unloaded or reloaded, no greater than the passive one.

    Parameters
    ----------
    friction_angle_rad : effective.
    overconsolidation_ratio : today.
    overconsolidation_ratio_max : greatest in the past; above today's the soil has been reloaded. Today's when left out.
    """
    sine = np.sin(friction_angle_rad)
    now, greatest = np.asarray(overconsolidation_ratio), np.asarray(overconsolidation_ratio_max)
    unloaded = (1 - sine) * now**sine
    reloaded = (1 - sine) * (now / greatest ** (1 - sine) + 0.75 * (1 - now / greatest))
    passive = np.tan(np.pi / 4 + np.asarray(friction_angle_rad) / 2) ** 2
    return AtRestCapped(earth_pressure_coefficient_at_rest=np.minimum(passive, np.where(greatest > now, reloaded, unloaded)), passive_coefficient=passive)


@method(
    "ground.earth_pressure_at_rest.en_1997_1",
    formulas={"earth_pressure_coefficient_at_rest": Formula("K_0", "(1 - sin(phi')) * sqrt(OCR)")},
    valid={"overconsolidation_ratio": Range(1.0, 15.0, "not for extremely high values")},
    kind="mean",
    source=EN_1997_1_REST,
)
def at_rest_en_1997_1(friction_angle_rad: Number, overconsolidation_ratio: Number) -> AtRest:
    """Return the coefficient at rest after Eurocode 7.

    Parameters
    ----------
    friction_angle_rad : effective.
    overconsolidation_ratio : today.
    """
    return AtRest(earth_pressure_coefficient_at_rest=(1 - np.sin(friction_angle_rad)) * np.sqrt(overconsolidation_ratio))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Footprints(Table):
    """Loaded rectangles in plan that do not overlap; leading axes run over stations."""

    x_min_m: FloatArray
    x_max_m: FloatArray
    y_min_m: FloatArray
    y_max_m: FloatArray
    pressure_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AddedStress(Record):
    """Vertical stress that loads add."""

    added_vertical_stress_kpa: FloatArray


def _corner_share(x_m: FloatArray, y_m: FloatArray, depth_m: FloatArray) -> FloatArray:
    """Return stress over pressure below the corner of a rectangle; odd in both sides, so signed sides may be superposed."""
    r1, r2 = np.hypot(y_m, depth_m), np.hypot(x_m, depth_m)
    r3 = np.hypot(r1, x_m)
    product = x_m * y_m
    second = product * depth_m / r3 * (1 / r1**2 + 1 / r2**2)
    return (np.arctan2(product, depth_m * r3) + second) / (2 * np.pi)


def _no_more_than_the_pressures(values: Values) -> FloatArray:
    pressure = values["footprints"].pressure_kpa
    added = values["added_vertical_stress_kpa"]
    return np.isnan(added) | ((added <= np.sum(np.maximum(pressure, 0)) + 1e-9) & (added >= np.sum(np.minimum(pressure, 0)) - 1e-9))


def _sides_in_order(values: Values) -> bool:
    prints = values["footprints"]
    return bool(np.all((prints.x_max_m >= prints.x_min_m) & (prints.y_max_m >= prints.y_min_m)))


_PLAN = (-1e5, 1e5)


@method(
    "ground.rectangle_stress.newmark_1935",
    found_by={
        "added_vertical_stress_kpa": Algorithm(
            "stress below the corner of a rectangle on an elastic half-space, superposed with signs over the four corners of every footprint",
            "Delta_sigma_v",
            {"no more than the pressures together": _no_more_than_the_pressures},
        )
    },
    possible={"x_min_m": _PLAN, "x_max_m": _PLAN, "y_min_m": _PLAN, "y_max_m": _PLAN, "x_m": _PLAN, "y_m": _PLAN},
    requires=(Require("footprints", _sides_in_order, "must have x_min_m below x_max_m and y_min_m below y_max_m"),),
    kind="identity",
    source=NEWMARK_1935,
)
def newmark(footprints: Footprints, x_m: Number, y_m: Number, depth_m: Number) -> AddedStress:
    """Return the vertical stress that loaded rectangles add at a point of an elastic half-space.

    Parameters
    ----------
    footprints : rectangles with their pressure.
    x_m, y_m : the point in plan.
    depth_m : below foundation level; at 0 or above, the pressure inside a footprint and nothing outside.
    """
    x, y, depth = (np.asarray(one)[..., None] for one in (x_m, y_m, depth_m))
    west, east, south, north = footprints.x_min_m - x, footprints.x_max_m - x, footprints.y_min_m - y, footprints.y_max_m - y
    below = np.where(depth > 0, depth, 1.0)
    share = _corner_share(east, north, below) - _corner_share(west, north, below) - _corner_share(east, south, below) + _corner_share(west, south, below)
    inside = ((west <= 0) & (east >= 0) & (south <= 0) & (north >= 0)).astype(np.float64)
    # NaN in the point has to survive the comparison with 0.
    share = np.where(depth > 0, share, np.where(np.isnan(depth + share), np.nan, inside))
    return AddedStress(added_vertical_stress_kpa=np.sum(footprints.pressure_kpa * share, axis=-1))


@method(
    "ground.rectangle_stress.two_to_one",
    formulas={"added_vertical_stress_kpa": Formula("Delta_sigma_v", "p * B * L / ((B + z) * (L + z))")},
    symbols={"width_m": "B", "length_m": "L"},
    possible={"depth_m": (0.0, 1000.0), "width_m": (1e-3, 5000.0), "length_m": (1e-3, 1e6)},
    remarks=(Remark(lambda v: v["depth_m"] > 0, "an average over the spread area: under the centre the stress may be half as high again and more"),),
    kind="screening",
    source=TWO_TO_ONE,
)
def two_to_one(width_m: Number, length_m: Number, pressure_kpa: Number, depth_m: Number) -> AddedStress:
    """Return the average vertical stress below a loaded rectangle that spreads two to one.

    Parameters
    ----------
    width_m, length_m : of the rectangle.
    pressure_kpa : on it.
    depth_m : below foundation level.
    """
    spread = np.add(width_m, depth_m) * np.add(length_m, depth_m)
    return AddedStress(added_vertical_stress_kpa=pressure_kpa * np.multiply(width_m, length_m) / spread)
