"""Pressure in the chamber at the levels that matter, from sensors at a few heights."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.record.sources import LEAST_SQUARES_FREE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

# Share of a reading below which a distance from the line is rounding.
ROUNDING: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChamberSensors(Table):
    """Depth of each sensor below any datum and what it reads; a missing reading is NaN."""

    depth_m: FloatArray
    pressure_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChamberPressure(Record):
    """The line through the sensors, read at axis, crown and invert."""

    face_pressure_axis_kpa: FloatArray
    face_pressure_crown_kpa: FloatArray
    face_pressure_invert_kpa: FloatArray
    support_unit_weight_kn_m3: FloatArray
    residual_max_kpa: FloatArray


def median_of_rows(values: FloatArray) -> FloatArray:
    """Return the median over the last axis, NaN left out; NaN where nothing is left."""
    count = np.sum(np.isfinite(values), axis=-1, keepdims=True)
    ordered = np.sort(values, axis=-1)
    if values.shape[-1] == 0:
        return np.full(values.shape[:-1], np.nan)
    middle = [np.take_along_axis(ordered, np.maximum(place, 0), axis=-1)[..., 0] for place in ((count - 1) // 2, count // 2)]
    return np.where(count[..., 0] > 0, (middle[0] + middle[1]) / 2, np.nan)


def line_through(depth_m: FloatArray, pressure_kpa: FloatArray, axis_depth_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return pressure at the axis and gradient: median of the slopes of all pairs, median of the values brought to the axis."""
    first, second = np.triu_indices(depth_m.shape[-1], k=1)
    apart_m = depth_m[..., second] - depth_m[..., first]
    risen_kpa = pressure_kpa[..., second] - pressure_kpa[..., first]
    slopes = np.divide(risen_kpa, apart_m, out=np.full(np.broadcast_shapes(risen_kpa.shape, apart_m.shape), np.nan), where=apart_m != 0)
    gradient_kn_m3 = median_of_rows(slopes)
    at_axis = pressure_kpa - gradient_kn_m3[..., None] * (depth_m - axis_depth_m[..., None])
    return median_of_rows(at_axis), gradient_kn_m3


def _levels(values: Values) -> NDArray[np.int_]:
    sensors = values["sensors"]
    present = np.where(np.isfinite(sensors.pressure_kpa), sensors.depth_m, np.nan)
    ordered = np.sort(present, axis=-1)
    return np.asarray(np.sum(np.diff(ordered, axis=-1) > 0, axis=-1) + 1)


@method(
    "record.chamber_pressure.at_levels",
    formulas={
        "face_pressure_crown_kpa": Formula("p_crown", "p_axis - gamma_S * D / 2"),
        "face_pressure_invert_kpa": Formula("p_invert", "p_axis + gamma_S * D / 2"),
    },
    found_by={
        "face_pressure_axis_kpa": Algorithm(
            "median of the readings brought to the axis with the gradient",
            invariants={"half of the sensors lie on either side of the line": lambda v: _is_halved(v)},
        ),
        "support_unit_weight_kn_m3": Algorithm("median of the slopes between all pairs of sensors at different depths"),
        "residual_max_kpa": Algorithm(
            "greatest distance of a sensor from the line", invariants={"not negative": lambda v: not np.any(v["residual_max_kpa"] < 0)}
        ),
    },
    requires=(Require("sensors.depth_m", lambda v: _levels(v) >= 2, "must have readings at two depths or more"),),
    remarks=(Remark(lambda v: _levels(v) < 3, "two levels only: the line goes through them whatever they read, the data is of grade B at best"),),
    kind="identity",
    source=LEAST_SQUARES_FREE,
)
def chamber_pressure_at_levels(sensors: ChamberSensors, axis_depth_m: Number, excavation_diameter_m: Number | None = None) -> ChamberPressure:
    """Return the chamber pressure at axis, crown and invert from a robust line through the sensors.

    Parameters
    ----------
    sensors : depth below any datum and reading; leading axes (samples) broadcast. Left and right are given apart and averaged by the caller.
    axis_depth_m : below the same datum.
    excavation_diameter_m : bored diameter; without it there is no value at crown and invert.

    Notes
    -----
    Medians leave one wrong sensor of five without weight; a least-squares line would follow it.
    """
    axis_m = np.asarray(axis_depth_m, dtype=np.float64)
    at_axis_kpa, gradient = line_through(sensors.depth_m, sensors.pressure_kpa, axis_m)
    residual = np.abs(sensors.pressure_kpa - at_axis_kpa[..., None] - gradient[..., None] * (sensors.depth_m - axis_m[..., None]))
    residual = np.where(residual <= ROUNDING * np.abs(sensors.pressure_kpa), 0.0, residual)
    half_m = np.nan if excavation_diameter_m is None else np.asarray(excavation_diameter_m) / 2
    return ChamberPressure(
        face_pressure_axis_kpa=at_axis_kpa,
        face_pressure_crown_kpa=at_axis_kpa - gradient * half_m,
        face_pressure_invert_kpa=at_axis_kpa + gradient * half_m,
        support_unit_weight_kn_m3=gradient,
        residual_max_kpa=np.fmax.reduce(residual, axis=-1, initial=np.nan),
    )


def _is_halved(values: Values) -> bool:
    sensors = values["sensors"]
    line = np.asarray(values["face_pressure_axis_kpa"])[..., None] + np.asarray(values["support_unit_weight_kn_m3"])[..., None] * (
        sensors.depth_m - np.asarray(values["axis_depth_m"])[..., None]
    )
    off = sensors.pressure_kpa - line
    half = (np.sum(np.isfinite(off), axis=-1) + 1) // 2
    return bool(np.all(np.sum(off >= -1e-9, axis=-1) >= half) and np.all(np.sum(off <= 1e-9, axis=-1) >= half))
