"""Spikes: readings that leave their neighbours far behind and are back within two samples and three seconds.

Kept beside each day as a short list of instants and channels; the samples themselves stay as recorded.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.parquet as parquet
from numpy.typing import NDArray

from tunnelwright.logs.channel_families import family_of
from tunnelwright.logs.days import MS_PER_DAY, LogStore
from tunnelwright.logs.engine import named, quoted

FloatArray = NDArray[np.float64]
MARGIN_MS: Final = 600_000
BACK_WITHIN_MS: Final = 3000
NEAR: Final = 5
WIDE: Final = 61
SCHEMA: Final = pa.schema([("time_ms", pa.int64()), ("channel", pa.string())])


def spike_mask(time_ms: NDArray[np.int64], value: FloatArray, floor: float) -> NDArray[np.bool_]:
    """Return which valid samples of a channel are spikes.

    Parameters
    ----------
    time_ms, value : valid samples in order of time.
    floor : least deviation from the running median of five that counts; six robust standard deviations of 61 samples otherwise.
    """
    spike = np.zeros(len(value), dtype=bool)
    if len(value) < 3:
        return spike
    deviation = np.abs(value - np.median(_around(value, np.arange(len(value)), NEAR), axis=1))
    candidates = np.flatnonzero(deviation > floor)
    if not len(candidates):
        return spike
    around = _around(value, candidates, WIDE)
    spread = np.nanmedian(np.abs(around - np.nanmedian(around, axis=1, keepdims=True)), axis=1)
    spike[candidates] = deviation[candidates] > np.maximum(floor, 6 * 1.4826 * spread)
    return spike & _is_back(time_ms, spike)


def _around(value: FloatArray, places: NDArray[np.intp], width: int) -> FloatArray:
    """Return the samples around each place; beyond the ends the nearest one stands."""
    offsets = np.arange(width) - width // 2
    return np.asarray(value[np.clip(places[:, None] + offsets, 0, len(value) - 1)])


def _is_back(time_ms: NDArray[np.int64], spike: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return where a sample that is no spike follows within two samples and three seconds."""
    back = np.zeros(len(spike), dtype=bool)
    for step in (1, 2):
        good = np.zeros(len(spike), dtype=bool)
        good[:-step] = ~spike[step:] & (time_ms[step:] - time_ms[:-step] <= BACK_WITHIN_MS)
        back |= good
    return back


def find_spikes(connection: duckdb.DuckDBPyConnection, store: LogStore, days: Sequence[int]) -> dict[str, int]:
    """Write the spikes of days beside them and return their number by channel."""
    counts: dict[str, int] = {}
    known = set(store.days())
    for day in days:
        rows = _spikes_of_day(connection, store, day, [near for near in (day - 1, day, day + 1) if near in known])
        interim = store.spikes_file(day).with_suffix(".new")
        parquet.write_table(pa.table({"time_ms": [time for time, _ in rows], "channel": [name for _, name in rows]}, schema=SCHEMA), interim)
        interim.replace(store.spikes_file(day))
        for _, name in rows:
            counts[name] = counts.get(name, 0) + 1
    return counts


def _spikes_of_day(connection: duckdb.DuckDBPyConnection, store: LogStore, day: int, near: Sequence[int]) -> list[tuple[int, str]]:
    start, end = day * MS_PER_DAY, (day + 1) * MS_PER_DAY
    files = ", ".join(quoted(store.samples_file(one)) for one in near)
    stored = f"read_parquet([{files}], union_by_name = true, hive_partitioning = false)"
    source = f"(SELECT * FROM {stored} WHERE time_ms >= {start - MARGIN_MS} AND time_ms < {end + MARGIN_MS})"
    floors = {name: floor for name in _columns(store.samples_file(day)) if (floor := _floor(name)) is not None}
    rows: list[tuple[int, str]] = []
    for name in _channels_that_jump(connection, source, floors):
        table = connection.execute(f"SELECT time_ms, {named(name)} AS value FROM {source} WHERE value IS NOT NULL ORDER BY time_ms").fetchnumpy()
        time_ms = table["time_ms"]
        found = time_ms[spike_mask(time_ms, np.asarray(table["value"], dtype=np.float64), floors[name])]
        rows += [(int(at), name) for at in found if start <= at < end]
    return sorted(rows)


def _channels_that_jump(connection: duckdb.DuckDBPyConnection, source: str, floors: dict[str, float]) -> list[str]:
    """Return the channels with a step above their floor between neighbours; all others have no spike."""
    if not floors:
        return []
    steps = ", ".join(f"{named(name)} - lag({named(name)} IGNORE NULLS) OVER (ORDER BY time_ms) AS {named(name)}" for name in floors)
    largest = ", ".join(f"max(abs({named(name)}))" for name in floors)
    found = connection.execute(f"SELECT {largest} FROM (SELECT {steps} FROM {source})").fetchone() or ()
    return [name for name, step in zip(floors, found, strict=True) if step is not None and step > floors[name]]


def _columns(path: Path) -> list[str]:
    return list(parquet.read_schema(path).names)


def _floor(name: str) -> float | None:
    family = family_of(name)
    return family.spike_floor if family is not None else None


def ensure_spikes(connection: duckdb.DuckDBPyConnection, store: LogStore, days: Sequence[int]) -> None:
    """Find the spikes of days whose list is missing, as after an import that was cut off."""
    missing = [day for day in days if not store.spikes_file(day).exists()]
    if missing:
        find_spikes(connection, store, missing)
