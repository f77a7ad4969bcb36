"""The least favourable slip angle: a coarse grid, a zoom round its best point, a parabola through the last three."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.vocabulary.types import FloatArray

STEEPEST_ANGLE_RAD: Final = math.radians(89.0)
ABOVE_FRICTION_RAD: Final = math.radians(1.0)
_ZOOM: Final = np.linspace(-1.0, 1.0, 9)
_PARABOLA: Final = np.array([-1.0, 0.0, 1.0])


@dataclass(frozen=True, slots=True)
class AngleSearch:
    """How finely the angle is searched.

    Parameters
    ----------
    grid_count : angles of the first grid from the least to the greatest.
    zoom_count : grids of nine round the best so far, each four times finer than the one before.
    """

    grid_count: int = 45
    zoom_count: int = 4


FULL_SEARCH: Final = AngleSearch()
# For samples: the value is off by less than 0.1 %, the angle by some hundredths of a degree.
SAMPLE_SEARCH: Final = AngleSearch(grid_count=19, zoom_count=1)


def angle_of_greatest(value_at: Callable[[FloatArray], FloatArray], low_rad: FloatArray, high_rad: FloatArray, search: AngleSearch = FULL_SEARCH) -> FloatArray:
    """Return for each place the angle at which a value is greatest; NaN where there is no value.

    Parameters
    ----------
    value_at : takes angles of shape (places, angles), gives the value at each.
    low_rad, high_rad : ends of the range searched, shape (places,).
    search : how finely.

    Notes
    -----
    The first grid is fine enough for a second summit behind a kink (the silo stress is held at 0). The parabola is taken only where it beats the grid.
    """
    step = (high_rad - low_rad) / (search.grid_count - 1)
    angles = low_rad[:, None] + step[:, None] * np.arange(search.grid_count)
    best = _best(angles, value_at(angles))
    for _ in range(search.zoom_count):
        angles = np.clip(best[:, None] + step[:, None] * _ZOOM, low_rad[:, None], high_rad[:, None])
        best = _best(angles, value_at(angles))
        step = step / 4
    return _refined(value_at, best, step, low_rad, high_rad)


def _best(angles: FloatArray, values: FloatArray) -> FloatArray:
    usable = np.where(np.isnan(values), -np.inf, values)
    at = np.argmax(usable, axis=1)[:, None]
    return np.where(np.take_along_axis(usable, at, axis=1) == -np.inf, np.nan, np.take_along_axis(angles, at, axis=1))[:, 0]


def _refined(value_at: Callable[[FloatArray], FloatArray], best: FloatArray, step: FloatArray, low_rad: FloatArray, high_rad: FloatArray) -> FloatArray:
    angles = np.clip(best[:, None] + step[:, None] * _PARABOLA, low_rad[:, None], high_rad[:, None])
    left, middle, right = np.moveaxis(value_at(angles), 1, 0)
    bend = left - 2 * middle + right
    summit = best + step * np.where(bend < 0, np.clip(0.5 * (left - right) / np.where(bend < 0, bend, 1.0), -1.0, 1.0), 0.0)
    summit = np.clip(summit, low_rad, high_rad)
    at_summit = value_at(summit[:, None])[:, 0]
    return np.where(at_summit >= middle, summit, best)
