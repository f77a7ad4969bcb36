"""Fits of a nearly round ring to points on it."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.vocabulary.types import FloatArray

_STOP_M: Final = 1e-9
_ITERATIONS_MAX: Final = 100
# Residuals smaller than this weigh alike in the fit of least absolute residuals.
_RESIDUAL_FLOOR_M: Final = 1e-4
_REJECT_LEAST_M: Final = 3e-3
_REJECT_SPREADS: Final = 3 * 1.4826


def largest_gap_rad(clock_angle_rad: FloatArray) -> float:
    """Return the widest angle round the turn without a point."""
    angle = np.sort(np.mod(clock_angle_rad[np.isfinite(clock_angle_rad)], 2 * np.pi))
    return float(np.diff(np.append(angle, angle[0] + 2 * np.pi)).max()) if angle.size else 2 * np.pi


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Centre, mean radius and two waves of a ring: radius = r0 + s2 sin 2 theta + c2 cos 2 theta."""

    right_m: float
    up_m: float
    mean_radius_m: float
    sine_m: float
    cosine_m: float

    @property
    def amplitude_m(self) -> float:
        """Return the amplitude of the two waves."""
        return float(np.hypot(self.sine_m, self.cosine_m))

    def residuals(self, right_m: FloatArray, up_m: FloatArray) -> FloatArray:
        """Return by how much points lie outside the shape."""
        x, y = right_m - self.right_m, up_m - self.up_m
        angle = np.arctan2(x, y)
        return np.asarray(np.hypot(x, y) - self.mean_radius_m - self.sine_m * np.sin(2 * angle) - self.cosine_m * np.cos(2 * angle))


def fitted(right_m: FloatArray, up_m: FloatArray, *, with_waves: bool, absolute: bool = False) -> Shape:
    """Return the shape that fits points best, by least squares or by least absolute residuals.

    The centre is moved by the one-wave part of the radius until that part is gone.
    """
    shape = Shape(right_m=float(np.mean(right_m)), up_m=float(np.mean(up_m)), mean_radius_m=0.0, sine_m=0.0, cosine_m=0.0)
    weight = np.ones_like(right_m)
    for _ in range(_ITERATIONS_MAX):
        x, y = right_m - shape.right_m, up_m - shape.up_m
        angle = np.arctan2(x, y)
        terms = [np.ones_like(angle), np.sin(angle), np.cos(angle), *([np.sin(2 * angle), np.cos(2 * angle)] if with_waves else [])]
        root = np.sqrt(weight)
        found = np.linalg.lstsq(root[:, None] * np.column_stack(terms), root * np.hypot(x, y), rcond=None)[0]
        sine, cosine = (float(found[3]), float(found[4])) if with_waves else (0.0, 0.0)
        shape = Shape(right_m=shape.right_m + float(found[1]), up_m=shape.up_m + float(found[2]), mean_radius_m=float(found[0]), sine_m=sine, cosine_m=cosine)
        if absolute:
            weight = 1 / np.maximum(np.abs(shape.residuals(right_m, up_m)), _RESIDUAL_FLOOR_M)
        elif np.hypot(found[1], found[2]) < _STOP_M:
            break
    return shape


def outliers(right_m: FloatArray, up_m: FloatArray, *, with_waves: bool) -> NDArray[np.bool_]:
    """Return which points lie off the shape that most of them follow.

    Least squares would smear one bad point over its neighbours, so the shape to judge by is that of least absolute residuals.
    """
    off = fitted(right_m, up_m, with_waves=with_waves, absolute=True).residuals(right_m, up_m)
    spread = float(np.median(np.abs(off - np.median(off))))
    return np.asarray(np.abs(off) > max(_REJECT_SPREADS * spread, _REJECT_LEAST_M))
