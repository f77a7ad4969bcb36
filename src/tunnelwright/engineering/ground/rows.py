"""Arithmetic along the rows of tables whose leading axes broadcast over stations."""

import numpy as np

from tunnelwright.vocabulary.types import FloatArray, Number


def tops_and_bases(thickness_m: FloatArray, *, last_reaches_down: bool) -> tuple[FloatArray, FloatArray]:
    """Return the depths of top and base of every layer below the top of the first.

    The last layer *with thickness* may reach down without limit, so that rows without thickness change nothing, not even as the last ones.
    """
    base = np.cumsum(thickness_m, axis=-1)
    top = base - thickness_m
    if last_reaches_down:
        count = thickness_m.shape[-1]
        last = count - 1 - np.argmax(np.flip(thickness_m > 0, axis=-1), axis=-1)
        base = np.where(np.arange(count) == last[..., None], np.inf, base)
    return top, base


def overlap_m(top_m: FloatArray, base_m: FloatArray, from_m: Number, to_m: Number) -> FloatArray:
    """Return how much of every layer lies between two depths; the depths broadcast against all axes but that of the layers."""
    low = np.maximum(top_m, np.asarray(from_m)[..., None])
    return np.maximum(np.minimum(base_m, np.asarray(to_m)[..., None]) - low, 0.0)


def summed(lengths_m: FloatArray, per_metre: FloatArray) -> FloatArray:
    """Return the sum of length times value over layers; a layer without length counts for nothing whatever its value."""
    return np.sum(np.where(lengths_m == 0, 0.0, lengths_m * per_metre), axis=-1)


def interpolated(places: FloatArray, values: FloatArray, wanted: Number) -> FloatArray:
    """Return values between rows by straight lines, NaN outside the rows; leading axes of the rows broadcast with the wanted places.

    At two rows with one place the value steps to that of the later row.
    """
    at = np.asarray(wanted, dtype=np.float64)[..., None]
    run, rise = np.diff(places, axis=-1), np.diff(values, axis=-1)
    share = np.where(run > 0, np.clip((at - places[..., :-1]) / np.where(run > 0, run, 1.0), 0.0, 1.0), (at >= places[..., 1:]).astype(np.float64))
    between = values[..., 0] + np.sum(share * rise, axis=-1)
    inside = (at[..., 0] >= places[..., 0]) & (at[..., 0] <= places[..., -1])
    return np.where(inside, between, np.nan)
