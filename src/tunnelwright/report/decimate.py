"""Thinning of long series to what a sheet can show, without losing a peak or closing a gap."""

import numpy as np

from tunnelwright.report.axes import FloatArray


def thinned(x_px: FloatArray, y_px: FloatArray, column_px: float = 1.0) -> tuple[FloatArray, FloatArray]:
    """Return a line with at most first, least, greatest and last point per pixel column.

    ``x_px`` must not decrease. A column that holds a NaN is kept whole, so that a gap stays a gap of its true length; a line that is
    already sparse comes back as it is.
    """
    if x_px.size <= 4 or x_px.size <= 2 * (abs(x_px[-1] - x_px[0]) / column_px + 1):
        return x_px, y_px
    columns = np.floor((x_px - x_px[0]) / column_px).astype(np.int64)
    starts = np.flatnonzero(np.r_[True, np.diff(columns) != 0])
    ends = np.r_[starts[1:], x_px.size]
    keep = np.zeros(x_px.size, dtype=bool)
    keep[starts] = keep[ends - 1] = True
    has_gap = np.add.reduceat(np.isnan(y_px).astype(np.int64), starts) > 0
    keep[np.repeat(has_gap, ends - starts)] = True
    group = np.repeat(np.arange(starts.size), ends - starts)
    for extreme in (np.fmin, np.fmax):
        wanted = extreme.reduceat(y_px, starts)
        hits = np.flatnonzero(y_px == wanted[group])
        keep[hits[np.unique(group[hits], return_index=True)[1]]] = True
    return x_px[keep], y_px[keep]


def runs(is_present: np.ndarray) -> list[tuple[int, int]]:
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
    present = np.isfinite(low_px) & np.isfinite(high_px)
    x_px, low_px, high_px = x_px[present], low_px[present], high_px[present]
    if x_px.size == 0:
        return x_px, low_px, high_px
    columns = np.floor((x_px - x_px[0]) / column_px).astype(np.int64)
    starts = np.flatnonzero(np.r_[True, np.diff(columns) != 0])
    counts = np.diff(np.r_[starts, x_px.size])
    return np.add.reduceat(x_px, starts) / counts, np.minimum.reduceat(low_px, starts), np.maximum.reduceat(high_px, starts)
