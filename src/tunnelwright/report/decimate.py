"""Thinning of long series to what a sheet can show, without losing a peak or closing a gap."""

import numpy as np
import numpy.typing as npt

from tunnelwright.report.axes import FloatArray

BoolArray = npt.NDArray[np.bool_]


def thinned(x_px: FloatArray, y_px: FloatArray, column_px: float = 1.0) -> tuple[FloatArray, FloatArray]:
    """Return a line with at most first, least, greatest and last point per pixel column, and without the inner points of flat stretches.

    ``x_px`` must not decrease. A gap stays a gap of its true length: the points beside it and one NaN in it are kept.
    """
    keep = wanted(x_px, y_px, column_px)
    return x_px[keep], y_px[keep]


def wanted(x_px: FloatArray, y_px: FloatArray, column_px: float = 1.0) -> BoolArray:
    """Return which points of a line ``thinned`` keeps."""
    keep = ~_is_flat(y_px)
    span = abs(float(x_px[-1] - x_px[0])) if x_px.size else 0.0
    if np.count_nonzero(keep) > 2 * (span / column_px + 1):
        indices = np.flatnonzero(keep)
        keep[indices] = _column_extremes_kept(x_px[indices], y_px[indices], column_px)
    return keep


def _is_flat(y_px: FloatArray) -> BoolArray:
    """Return which points lie between two of the same height, or between two absent ones."""
    flat = np.zeros(y_px.size, dtype=bool)
    if y_px.size > 2:
        absent = np.isnan(y_px)
        same = (y_px[1:] == y_px[:-1]) | (absent[1:] & absent[:-1])
        flat[1:-1] = same[1:] & same[:-1]
    return flat


def _column_extremes_kept(x_px: FloatArray, y_px: FloatArray, column_px: float) -> BoolArray:
    columns = np.floor((x_px - x_px[0]) / column_px).astype(np.int64)
    starts = np.flatnonzero(np.r_[True, np.diff(columns) != 0])
    ends = np.r_[starts[1:], x_px.size]
    keep = np.zeros(x_px.size, dtype=bool)
    keep[starts] = keep[ends - 1] = True
    absent = np.isnan(y_px)
    keep |= absent
    keep[1:] |= absent[:-1]
    keep[:-1] |= absent[1:]
    group = np.repeat(np.arange(starts.size), ends - starts)
    for extreme in (np.fmin, np.fmax):
        hits = np.flatnonzero(y_px == extreme.reduceat(y_px, starts)[group])
        keep[hits[np.unique(group[hits], return_index=True)[1]]] = True
    return keep


def without_absent_places(x_px: FloatArray, y_px: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a line whose places are all known: where the place was absent the value becomes absent and the place that of the point before."""
    absent = np.isnan(x_px)
    if not absent.any():
        return x_px, y_px
    known = np.flatnonzero(~absent)
    if known.size == 0:
        return x_px[:0], y_px[:0]
    before = np.maximum.accumulate(np.where(absent, known[0], np.arange(x_px.size)))
    return x_px[before], np.where(absent, np.nan, y_px)


def runs(is_present: BoolArray) -> list[tuple[int, int]]:
    """Return the stretches of true as pairs of first and one past the last index."""
    edges = np.flatnonzero(np.diff(np.r_[False, is_present, False].astype(np.int8)))
    return [(int(first), int(last)) for first, last in zip(edges[::2], edges[1::2], strict=True)]


def stepped(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a step line: each value holds from half way to the one before until half way to the next."""
    if x.size < 2:
        return x, y
    middles = (x[1:] + x[:-1]) / 2
    edges = np.r_[x[0] - (middles[0] - x[0]), middles, x[-1] + (x[-1] - middles[-1])]
    return np.repeat(edges, 2)[1:-1], np.repeat(y, 2)


def column_extremes(x_px: FloatArray, low_px: FloatArray, high_px: FloatArray, column_px: float = 2.0) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return one bar per pixel column: the middle of the column, the least low and the greatest high in it; empty columns are left out."""
    present = np.isfinite(x_px) & np.isfinite(low_px) & np.isfinite(high_px)
    x_px, low_px, high_px = x_px[present], low_px[present], high_px[present]
    if x_px.size == 0:
        return x_px, low_px, high_px
    columns = np.floor((x_px - x_px[0]) / column_px).astype(np.int64)
    starts = np.flatnonzero(np.r_[True, np.diff(columns) != 0])
    counts = np.diff(np.r_[starts, x_px.size])
    return np.add.reduceat(x_px, starts) / counts, np.minimum.reduceat(low_px, starts), np.maximum.reduceat(high_px, starts)
