"""Channels over time for a page: thinned to what a screen can show, extremes kept, gaps kept as gaps."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from ibis import _
from numpy.typing import NDArray

from tunnelwright.logs.chunks import LogReader
from tunnelwright.logs.days import LogStore
from tunnelwright.logs.engine import DEFAULT_SETTINGS, EngineSettings, expression_engine, sql_engine
from tunnelwright.logs.quality import clean
from tunnelwright.logs.spikes import ensure_spikes

DEFAULT_GAP_S: Final = 30.0
# Up to so many readings all channels are read at once and thinned here; beyond that each channel is thinned in the engine.
MOST_READINGS_AT_ONCE: Final = 4_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChannelSeries:
    """One channel over time.

    Parameters
    ----------
    time_ms, value : in order of time; a missing value separates what must not be joined by a line.
    is_thinned : whether each point stands for several samples (lowest and highest of each stretch are kept).
    """

    name: str
    time_ms: NDArray[np.int64]
    value: NDArray[np.float64]
    is_thinned: bool


def series_of(
    store_folder: Path | str, start_ms: int, end_ms: int, channels: Sequence[str], max_points: int = 2000, settings: EngineSettings = DEFAULT_SETTINGS
) -> dict[str, ChannelSeries]:
    """Return channels between two instants, by name; channels that the log does not have are left out.

    Parameters
    ----------
    max_points : per channel, without the marks of gaps.
    """
    store = LogStore(Path(store_folder))
    empty = {name: ChannelSeries(name=name, time_ms=np.empty(0, dtype=np.int64), value=np.empty(0), is_thinned=False) for name in channels}
    if not store.days():
        return {}
    with sql_engine(settings) as (connection, _folder):
        ensure_spikes(connection, store, store.days())
    with expression_engine(settings) as (backend, _folder):
        reader = LogReader(backend, store)
        known = [name for name in dict.fromkeys(channels) if name in reader.columns]
        present = reader.present(start_ms, end_ms, known)
        if not present:
            return {name: empty[name] for name in known}
        gap_s = store.constants().get("gap_limit_s", DEFAULT_GAP_S)
        if reader.samples(start_ms, end_ms).count().to_pyarrow().as_py() * len(present) <= MOST_READINGS_AT_ONCE:
            read = _all(reader, present, start_ms, end_ms, max_points, gap_s)
            return {name: read.get(name, empty[name]) for name in known}
        return {name: _one(reader, name, start_ms, end_ms, max_points, gap_s) if name in present else empty[name] for name in known}


def _all(reader: LogReader, names: Sequence[str], start_ms: int, end_ms: int, max_points: int, gap_s: float) -> dict[str, ChannelSeries]:
    spikes, spiky = reader.spikes(start_ms, end_ms)
    table = clean(reader.samples(start_ms, end_ms), names, spikes, sorted(spiky)).order_by("time_ms").to_pyarrow()
    time_ms = np.asarray(table["time_ms"], dtype=np.int64)
    read = {}
    for name in names:
        value = np.asarray(table[name], dtype=np.float64)
        present = np.isfinite(value)
        read[name] = _series(name, time_ms[present], value[present], start_ms, end_ms, max_points, gap_s)
    return read


def _series(name: str, time_ms: NDArray[np.int64], value: NDArray[np.float64], start_ms: int, end_ms: int, max_points: int, gap_s: float) -> ChannelSeries:
    """Return the readings of one channel, the lowest and the highest of each stretch when there are too many."""
    is_thinned = time_ms.size > max_points
    if is_thinned:
        width_ms = max(1, -(-(end_ms - start_ms + 1) // max(1, max_points // 2)))
        stretch = (time_ms - start_ms) // width_ms
        # By stretch, then by value: the first of a stretch is its lowest reading, the last its highest.
        order = np.lexsort((value, stretch))
        edges = np.flatnonzero(np.diff(stretch[order])) + 1
        kept = np.unique(np.concatenate([order[np.r_[0, edges]], order[np.r_[edges, order.size] - 1]]))
        time_ms, value = time_ms[kept], value[kept]
        gap_s = max(gap_s, 2.0 * width_ms / 1000.0)
    return _with_gaps(name, time_ms, value, gap_s, is_thinned=is_thinned)


def _with_gaps(name: str, time_ms: NDArray[np.int64], value: NDArray[np.float64], gap_s: float, *, is_thinned: bool) -> ChannelSeries:
    gaps = np.flatnonzero(np.diff(time_ms) > 1000.0 * gap_s)
    return ChannelSeries(name=name, time_ms=np.insert(time_ms, gaps + 1, time_ms[gaps] + 1), value=np.insert(value, gaps + 1, np.nan), is_thinned=is_thinned)


def _one(reader: LogReader, name: str, start_ms: int, end_ms: int, max_points: int, gap_s: float) -> ChannelSeries:
    spikes, spiky = reader.spikes(start_ms, end_ms)
    valid = clean(reader.samples(start_ms, end_ms), [name], spikes, sorted(spiky)).rename(value=name).filter(_.value.notnull())
    count = valid.count().to_pyarrow().as_py()
    is_thinned = count > max_points
    if is_thinned:
        # Lowest and highest sample of each stretch, at their own times: a dip stays a dip.
        width_ms = max(1, -(-(end_ms - start_ms + 1) // max(1, max_points // 2)))
        stretches = valid.mutate(stretch=(_.time_ms - start_ms) - (_.time_ms - start_ms) % width_ms).group_by("stretch")
        lows = stretches.aggregate(time_ms=_.time_ms.argmin(_.value), value=_.value.min())
        highs = stretches.aggregate(time_ms=_.time_ms.argmax(_.value), value=_.value.max())
        gap_s = max(gap_s, 2.0 * width_ms / 1000.0)
        valid = lows.union(highs).select("time_ms", "value").distinct()
    table = valid.select("time_ms", "value").order_by("time_ms").to_pyarrow()
    time_ms, value = np.asarray(table["time_ms"], dtype=np.int64), np.asarray(table["value"], dtype=np.float64)
    return _with_gaps(name, time_ms, value, gap_s, is_thinned=is_thinned)
