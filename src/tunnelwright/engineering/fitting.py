"""Straight lines through a few readings, row by row of an array."""

from typing import Final

import numpy as np

from tunnelwright.vocabulary.types import FloatArray

# Share of a value below which a distance from the line is rounding.
ROUNDING: Final = 1e-12


def least_squares(place: FloatArray, value: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return slope and value at place zero of the least-squares line over the last axis, missing values left out."""
    present = np.isfinite(value) & np.isfinite(place)
    weight = present.astype(np.float64)
    count = weight.sum(axis=-1)
    place, value = np.where(present, place, 0.0), np.where(present, value, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        centre, level = place.sum(axis=-1) / count, value.sum(axis=-1) / count
        off = weight * (place - centre[..., None])
        slope = (off * (value - level[..., None])).sum(axis=-1) / np.square(off).sum(axis=-1)
    return slope, level - slope * centre


def slope_error(place: FloatArray, value: FloatArray) -> FloatArray:
    """Return the standard error of the slope of the least-squares line over the last axis; NaN with two values or fewer."""
    slope, at_zero = least_squares(place, value)
    present = np.isfinite(value) & np.isfinite(place)
    count = present.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        centre = np.where(present, place, 0.0).sum(axis=-1) / count
        residual = np.where(present, value - at_zero[..., None] - slope[..., None] * place, 0.0)
        residual = np.where(np.abs(residual) <= ROUNDING * np.abs(value), 0.0, residual)
        spread = np.square(np.where(present, place - centre[..., None], 0.0)).sum(axis=-1)
        variance = np.where(count > 2, np.square(residual).sum(axis=-1) / np.where(count > 2, count - 2, 1), np.nan)
        return np.asarray(np.sqrt(variance / spread))
