"""Earth pressure support: chamber pressures from sensors, gradient, screw plug, unsealed chamber."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.declared import POSSIBLE, SYMBOLS
from tunnelwright.engineering.face.slurry import MEAN_EXCESS_SHARE, mean_excess_share
from tunnelwright.engineering.face.sources import BEZUIJEN_2001, SCREW_PLUG, THEIL_SEN, WALL_ADHESION
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

# Turns the median of absolute deviations into the standard deviation of a normal variable.
MAD_TO_DEVIATION: Final = 1.4826
_LEAST_LEVELS: Final = 3


@dataclass(frozen=True, slots=True, eq=False)
class ChamberLine:
    """Straight line through the chamber's pressures, one per place.

    Parameters
    ----------
    gradient_kn_m3, crown_kpa : slope with depth and value at the crown, NaN with fewer than three levels.
    residual_kpa : of each sensor, shape (places, sensors).
    """

    gradient_kn_m3: FloatArray
    crown_kpa: FloatArray
    residual_kpa: FloatArray


def fit_chamber_line(sensor_depth_below_crown_m: FloatArray, sensor_pressure_kpa: FloatArray) -> ChamberLine:
    """Return the Theil-Sen line of each place: median of the slopes between sensors, then median of what is left at the crown.

    Parameters
    ----------
    sensor_depth_below_crown_m : shape (sensors,).
    sensor_pressure_kpa : shape (..., sensors); a sensor without a reading is NaN and takes no part.
    """
    depth, pressure = np.asarray(sensor_depth_below_crown_m, dtype=np.float64), np.asarray(sensor_pressure_kpa, dtype=np.float64)
    first, second = np.triu_indices(len(depth), k=1)
    apart = np.abs(depth[second] - depth[first]) > 0
    first, second = first[apart], second[apart]
    slopes = (pressure[..., second] - pressure[..., first]) / (depth[second] - depth[first])
    gradient = _median(slopes)
    crown = _median(pressure - gradient[..., None] * depth)
    enough = _level_count(depth, pressure) >= _LEAST_LEVELS
    gradient, crown = np.where(enough, gradient, np.nan), np.where(enough, crown, np.nan)
    return ChamberLine(gradient, crown, pressure - crown[..., None] - gradient[..., None] * depth)


def _median(values: FloatArray) -> FloatArray:
    """Return the median along the last axis without NaN; NaN where nothing is left."""
    ordered = np.sort(values, axis=-1)
    count = np.sum(~np.isnan(ordered), axis=-1)
    if ordered.shape[-1] == 0:
        return np.full(ordered.shape[:-1], np.nan)
    low = np.take_along_axis(ordered, np.maximum((count - 1) // 2, 0)[..., None], axis=-1)[..., 0]
    high = np.take_along_axis(ordered, np.minimum(count // 2, ordered.shape[-1] - 1)[..., None], axis=-1)[..., 0]
    return np.where(count > 0, (low + high) / 2, np.nan)


def _level_count(depth: FloatArray, pressure: FloatArray) -> FloatArray:
    """Return how many different levels have a reading."""
    levels = np.unique(depth)
    return np.sum(np.any((depth == levels[:, None]) & ~np.isnan(pressure)[..., None, :], axis=-1), axis=-1).astype(np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChamberGradient(Record):
    """Pressures of the chamber on one line."""

    chamber_gradient_kn_m3: FloatArray
    face_pressure_crown_kpa: FloatArray
    face_pressure_axis_kpa: FloatArray
    face_pressure_invert_kpa: FloatArray
    outlier_index: Series


def _outliers_fit(values: Values) -> bool:
    depth, pressure = np.asarray(values["sensor_depth_below_crown_m"]), np.asarray(values["sensor_pressure_kpa"])
    crown, gradient = np.asarray(values["face_pressure_crown_kpa"]), np.asarray(values["chamber_gradient_kn_m3"])
    if crown.ndim or np.isnan(crown):
        return True
    residual = np.abs(pressure - crown - gradient * depth)
    return bool(np.all(residual[np.asarray(values["outlier_index"], dtype=int)] > np.min(values["outlier_limit_kpa"])))


@method(
    "face.epb_gradient.theil_sen",
    formulas={
        "face_pressure_axis_kpa": Formula("s_axis", "s_crown + g * D / 2"),
        "face_pressure_invert_kpa": Formula("s_invert", "s_crown + g * D"),
    },
    found_by={
        "chamber_gradient_kn_m3": Algorithm("median of the slopes between all pairs of sensors at different levels", "g"),
        "face_pressure_crown_kpa": Algorithm("median over the sensors of pressure less slope times depth below the crown", "s_crown"),
        "outlier_index": Algorithm(
            "sensors further off the line than the limit and than three standard deviations estimated from the median deviation; from 0",
            "",
            {"every outlier is further off than the limit": _outliers_fit},
        ),
    },
    symbols=SYMBOLS | {"chamber_gradient_kn_m3": "g"},
    possible=POSSIBLE | {"sensor_depth_below_crown_m": (0.0, 20.0), "sensor_pressure_kpa": (-200.0, 2000.0), "outlier_limit_kpa": (0.1, 200.0)},
    requires=(
        Require(
            "sensor_pressure_kpa",
            lambda values: len(values["sensor_pressure_kpa"]) == len(values["sensor_depth_below_crown_m"]),
            "must have one value per sensor",
        ),
        Require(
            "sensor_depth_below_crown_m",
            lambda values: len(np.unique(values["sensor_depth_below_crown_m"])) >= _LEAST_LEVELS,
            "must have at least three different levels",
        ),
        Require(
            "sensor_depth_below_crown_m",
            lambda values: ~(np.max(values["sensor_depth_below_crown_m"], initial=0) > np.asarray(values["excavation_diameter_m"])),
            "must not lie below the invert",
        ),
    ),
    valid={"chamber_gradient_kn_m3": Range(10.0, 20.0, "below: gas, foam or an empty chamber; above: compaction or blockage; negative: a plug or dead sensor")},
    remarks=(
        Remark(lambda values: len(values["outlier_index"]) > 0, "a sensor lies off the line of the others: check it before its level is trusted"),
        Remark(lambda values: np.asarray(values["sensor_pressure_kpa"]) < 0, "a sensor shows a negative pressure: leave it out"),
    ),
    kind="mean",
    source=THEIL_SEN,
)
def chamber_gradient(
    excavation_diameter_m: Number, sensor_depth_below_crown_m: Series, sensor_pressure_kpa: Series, outlier_limit_kpa: Number = 15.0
) -> ChamberGradient:
    """Return the pressures at crown, axis and invert on a line that single bad sensors do not bend.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    sensor_depth_below_crown_m : of each sensor; at least three levels.
    sensor_pressure_kpa : of each sensor; NaN where there is no reading.
    outlier_limit_kpa : least distance from the line of a sensor that is called off it.

    Notes
    -----
    Outliers are named, the line stays that of all sensors.
    """
    diameter = np.asarray(excavation_diameter_m, dtype=np.float64)
    line = fit_chamber_line(sensor_depth_below_crown_m, sensor_pressure_kpa)
    distance = np.abs(line.residual_kpa)
    limit = np.maximum(np.min(outlier_limit_kpa, initial=np.inf), 3 * MAD_TO_DEVIATION * _median(distance))
    return ChamberGradient(
        chamber_gradient_kn_m3=np.broadcast_to(line.gradient_kn_m3, np.broadcast_shapes(diameter.shape, np.shape(outlier_limit_kpa))),
        face_pressure_crown_kpa=line.crown_kpa,
        face_pressure_axis_kpa=line.crown_kpa + line.gradient_kn_m3 * diameter / 2,
        face_pressure_invert_kpa=line.crown_kpa + line.gradient_kn_m3 * diameter,
        outlier_index=np.flatnonzero(distance > limit).astype(np.float64),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallGradient(Record):
    """Gradients that adhesion on the walls allows."""

    chamber_gradient_low_kn_m3: FloatArray
    chamber_gradient_high_kn_m3: FloatArray


@method(
    "face.epb_wall_gradient.adhesion",
    formulas={
        "chamber_gradient_low_kn_m3": Formula("g_low", "gamma_m - 2 * a / l_c"),
        "chamber_gradient_high_kn_m3": Formula("g_high", "gamma_m + 2 * a / l_c"),
    },
    symbols=SYMBOLS | {"support_unit_weight_kn_m3": "gamma_m", "wall_adhesion_kpa": "a", "chamber_length_m": "l_c"},
    possible=POSSIBLE | {"wall_adhesion_kpa": (0.0, 200.0), "chamber_length_m": (0.1, 10.0)},
    kind="screening",
    source=WALL_ADHESION,
)
def wall_gradient(support_unit_weight_kn_m3: Number, wall_adhesion_kpa: Number, chamber_length_m: Number) -> WallGradient:
    """Return the range in which the pressure gradient of moving muck can lie while it sticks to bulkhead and face.

    Parameters
    ----------
    support_unit_weight_kn_m3 : of the muck.
    wall_adhesion_kpa : on both walls.
    chamber_length_m : along the drive.

    Notes
    -----
    A gradient is therefore no density while the material moves.
    """
    by_walls = 2 * np.divide(wall_adhesion_kpa, chamber_length_m)
    return WallGradient(chamber_gradient_low_kn_m3=support_unit_weight_kn_m3 - by_walls, chamber_gradient_high_kn_m3=support_unit_weight_kn_m3 + by_walls)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScrewPlug(Record):
    """What a plug in the screw holds."""

    pressure_drop_kpa_m: FloatArray
    required_screw_length_m: FloatArray
    safety_ratio: FloatArray


@method(
    "face.epb_screw_plug.adhesion",
    formulas={
        "pressure_drop_kpa_m": Formula("i_p", "4 * tau / d"),
        "required_screw_length_m": Formula("L_req", "s_invert / i_p"),
        "safety_ratio": Formula("n", "L * i_p / s_invert"),
    },
    symbols=SYMBOLS | {"plug_adhesion_kpa": "tau", "screw_diameter_m": "d", "screw_length_m": "L", "pressure_drop_kpa_m": "i_p"},
    possible=POSSIBLE
    | {"plug_adhesion_kpa": (0.01, 200.0), "screw_diameter_m": (0.1, 5.0), "screw_length_m": (0.1, 100.0), "face_pressure_invert_kpa": (0.1, 2000.0)},
    remarks=(Remark(lambda values: np.asarray(values["safety_ratio"]) < 1, "the plug does not hold the pressure at the invert: flow through the screw"),),
    kind="screening",
    source=SCREW_PLUG,
)
def screw_plug(
    plug_adhesion_kpa: Number, screw_diameter_m: Number, screw_length_m: Number | None = None, face_pressure_invert_kpa: Number | None = None
) -> ScrewPlug:
    """Return the pressure that muck loses along the screw, and whether the screw is long enough for the pressure at the invert.

    Parameters
    ----------
    plug_adhesion_kpa : of the muck on the wall of the screw.
    screw_diameter_m : inner.
    screw_length_m : filled with muck.
    face_pressure_invert_kpa : at the inlet; the gate is at atmospheric pressure.
    """
    drop = 4 * np.divide(plug_adhesion_kpa, screw_diameter_m)
    length = np.nan if screw_length_m is None else screw_length_m
    invert = np.nan if face_pressure_invert_kpa is None else face_pressure_invert_kpa
    return ScrewPlug(pressure_drop_kpa_m=drop, required_screw_length_m=invert / drop, safety_ratio=length * drop / invert)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnsealedChamber(Record):
    """Seepage towards a chamber that holds less head than the ground."""

    seepage_pressure_low_kpa: FloatArray
    seepage_pressure_kpa: FloatArray


@method(
    "face.epb_unsealed_chamber.bezuijen_2001",
    formulas={
        "seepage_pressure_low_kpa": Formula("s_low", f"gamma_w * Delta_h * (1 - ({MEAN_EXCESS_SHARE}))"),
        "seepage_pressure_kpa": Formula("s_seep", "gamma_w * Delta_h"),
    },
    symbols=SYMBOLS,
    possible=POSSIBLE | {"head_difference_m": (0.0, 200.0), "excavation_diameter_m": (1.0, 20.0)},
    kind="screening",
    source=BEZUIJEN_2001,
)
def unsealed_chamber(
    excavation_diameter_m: Number, head_difference_m: Number, wedge_angle_from_vertical_rad: Number, water_unit_weight_kn_m3: Number = 9.81
) -> UnsealedChamber:
    """Return the extra horizontal pressure from water that seeps to a chamber below the head of the ground.

    Parameters
    ----------
    excavation_diameter_m : over the cutters; the low value does not depend on it.
    head_difference_m : head in the ground less head in the chamber.
    wedge_angle_from_vertical_rad : of the slip plane, 90 degrees less its angle from the horizontal.
    water_unit_weight_kn_m3 : one for the whole project.

    Notes
    -----
    The low value leaves out the uplift on the slip plane and in the silo and lies on the unsafe side; the full value is the one to use.
    Either stands in place of the factor on the water pressure, not beside it.
    """
    full = np.multiply(water_unit_weight_kn_m3, head_difference_m) + 0 * np.asarray(excavation_diameter_m)
    return UnsealedChamber(seepage_pressure_low_kpa=full * (1 - mean_excess_share(wedge_angle_from_vertical_rad)), seepage_pressure_kpa=full)
