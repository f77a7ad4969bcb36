"""The pressure in the chamber: a robust line through the sensors, sample by sample, and which sensors may speak."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from ibis import Table
from ibis.expr.types import Value
from numpy.typing import NDArray

from tunnelwright.engineering.record.pressure import line_through
from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.windows import row_median

FloatArray = NDArray[np.float64]
LINE: Final = ("crown_kpa", "axis_kpa", "gradient_kn_m3")
LEVELS_PER_SIDE: Final = 3
FROZEN_AFTER_S: Final = 600.0


def with_gradients(pressures: Table, depth_m: Mapping[str, float], side: Mapping[str, str]) -> Table:
    """Return the pressures with the gradient of each fit: the median of the slopes between all pairs of sensors.

    Parameters
    ----------
    pressures : time and one column per sensor; readings that may not speak are missing.
    depth_m, side : of every column, below the crown of the bore.

    Notes
    -----
    Left and right are fitted apart and averaged where both have three levels or more; otherwise all sensors make one line.
    """
    gradients = {}
    for at, names in enumerate(_sides(depth_m, side)):
        pairs = [(upper, lower) for upper, lower in combinations(names, 2) if depth_m[upper] != depth_m[lower]]
        slopes = [(pressures[lower] - pressures[upper]) / (depth_m[lower] - depth_m[upper]) for upper, lower in pairs]
        gradients[f"gradient_{at}"] = row_median(slopes)
    return pressures.mutate(**gradients)


def chamber_line(with_gradient: Table, depth_m: Mapping[str, float], side: Mapping[str, str], axis_depth_m: float) -> Table:
    """Return per sample the pressure at the crown and at the axis and the gradient.

    Parameters
    ----------
    with_gradient : as ``with_gradients`` gives it, kept by the engine: put in as an expression the gradient would be found anew for every sensor.
    """
    sides = _sides(depth_m, side)
    gradients = [with_gradient[f"gradient_{at}"] for at in range(len(sides))]
    axes = [
        row_median([with_gradient[name] - gradient * (depth_m[name] - axis_depth_m) for name in names])
        for names, gradient in zip(sides, gradients, strict=True)
    ]
    axis, gradient = (axes[0], gradients[0]) if len(sides) == 1 else (_mean_of(axes), _mean_of(gradients))
    line = with_gradient.select("time_ms", axis_kpa=axis, gradient_kn_m3=gradient)
    return line.mutate(crown_kpa=line.axis_kpa - line.gradient_kn_m3 * axis_depth_m)


def _mean_of(values: Sequence[Value]) -> Value:
    """Return the mean of left and right; where one is missing the other stands for both."""
    return (values[0].coalesce(values[1]) + values[1].coalesce(values[0])) / 2.0


def _sides(depth_m: Mapping[str, float], side: Mapping[str, str]) -> list[list[str]]:
    sides = {word: [name for name in depth_m if side.get(name, "centre") == word] for word in ("left", "right")}
    if all(len({depth_m[name] for name in names}) >= LEVELS_PER_SIDE for names in sides.values()):
        return list(sides.values())
    return [list(depth_m)]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SensorHealth:
    """Which chamber sensors may not speak, ring by ring.

    Parameters
    ----------
    frozen, outlier, drifting : shape (cycles, sensors).
    residual_kpa : of the sensor's median against the line through the others.
    """

    sensors: tuple[str, ...]
    frozen: NDArray[np.bool_]
    outlier: NDArray[np.bool_]
    drifting: NDArray[np.bool_]
    residual_kpa: FloatArray

    @property
    def excluded(self) -> NDArray[np.bool_]:
        """Return which sensors are left out of the line; at least two always stay, since no line is worse than a doubtful one."""
        out = self.frozen | self.outlier | self.drifting
        return np.where((~out).sum(axis=1, keepdims=True) >= 2, out, False)


def sensor_health(sensors: Sequence[str], median_kpa: FloatArray, range_kpa: FloatArray, push_s: FloatArray, context: RecordContext) -> SensorHealth:
    """Return the health of the sensors from their medians and ranges while advancing, one row per cycle.

    Notes
    -----
    A sensor drifts when it stands off the line through the others by more than the limit for three rings in a row; it is left out from the first
    of them until it has been back for as many.
    """
    limits = context.thresholds
    depths = np.array([context.sensor_depth_m[name] for name in sensors])
    frozen = _frozen(range_kpa <= limits.frozen_range_kpa, push_s, np.isfinite(median_kpa))
    usable = np.where(frozen, np.nan, median_kpa)
    residual = _residuals(usable, depths, context.axis_depth_m)
    beyond = np.abs(residual) > limits.drift_kpa
    # One wrong sensor bends the line that the others are held against: only the one furthest off is blamed.
    furthest = np.abs(residual) >= np.nanmax(np.where(np.isfinite(residual), np.abs(residual), -1.0), axis=1, keepdims=True, initial=-1.0)
    blamed = beyond & furthest
    second = _residuals(np.where(blamed, np.nan, usable), depths, context.axis_depth_m)
    outlier = blamed | (np.abs(second) > limits.drift_kpa)
    drifting = np.stack([_lasting(column, limits.drift_rings) for column in outlier.T], axis=1) if len(sensors) else outlier
    return SensorHealth(
        sensors=tuple(sensors), frozen=frozen, outlier=outlier, drifting=drifting, residual_kpa=np.where(np.isfinite(residual), residual, np.nan)
    )


def _frozen(still: NDArray[np.bool_], push_s: FloatArray, present: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which sensors are dead: still over a push of ten minutes, or still on after a ring in which they were dead."""
    frozen = still & present & (push_s[:, None] >= FROZEN_AFTER_S)
    for ring in range(1, len(frozen)):
        frozen[ring] |= frozen[ring - 1] & still[ring] & present[ring]
    return frozen


def _residuals(median_kpa: FloatArray, depths_m: FloatArray, axis_depth_m: float) -> FloatArray:
    """Return each sensor's distance from the line through the others; NaN where fewer than two others speak."""
    residual = np.full(median_kpa.shape, np.nan)
    for at in range(len(depths_m)):
        others = [other for other in range(len(depths_m)) if other != at]
        if len(others) < 2:
            continue
        depth = np.broadcast_to(depths_m[others], (len(median_kpa), len(others)))
        axis_kpa, gradient = line_through(depth, median_kpa[:, others], np.full(len(median_kpa), axis_depth_m))
        residual[:, at] = median_kpa[:, at] - axis_kpa - gradient * (depths_m[at] - axis_depth_m)
    return residual


def _lasting(beyond: NDArray[np.bool_], rings: int) -> NDArray[np.bool_]:
    """Return where a condition has begun to last: from the first of so many rings in a row until so many rings without it."""
    lasting = np.zeros(len(beyond), dtype=bool)
    on, count = False, 0
    for ring, here in enumerate(beyond):
        count = count + 1 if here != on else 0
        if count >= rings:
            on, count = not on, 0
            if on:
                lasting[ring - rings + 1 : ring] = True
        lasting[ring] = on
    return lasting
