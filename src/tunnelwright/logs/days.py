"""The log store: one Parquet file per UTC day, sorted by time, each instant once.

Instants that were delivered with different readings keep every variant beside the day, so that the outcome of a merge does not depend on
the order in which files came. Every file is written under another name first and then renamed.
"""

import datetime
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import duckdb
import pyarrow.parquet as parquet

from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.engine import named, quoted

MS_PER_DAY: Final = 86_400_000
CONFLICT: Final = 128
TIME_COLUMNS: Final = ("time_ms", "row_flags")


def day_text(day: int) -> str:
    """Return the date of a UTC day counted from 1970."""
    return (datetime.date(1970, 1, 1) + datetime.timedelta(days=day)).isoformat()


@dataclass(frozen=True, slots=True)
class LogStore:
    """The folder of a drive's typed log."""

    folder: Path

    def day_folder(self, day: int) -> Path:
        """Return the folder of one UTC day."""
        return self.folder / f"day={day_text(day)}"

    def samples_file(self, day: int) -> Path:
        """Return the file of a day's samples."""
        return self.day_folder(day) / "samples.parquet"

    def conflicts_file(self, day: int) -> Path:
        """Return the file of the variants of instants that were delivered with different readings."""
        return self.day_folder(day) / "conflicts.parquet"

    def spikes_file(self, day: int) -> Path:
        """Return the file of the day's spikes."""
        return self.day_folder(day) / "spikes.parquet"

    def days(self) -> list[int]:
        """Return the UTC days that hold samples, in order."""
        found = []
        for path in self.folder.glob("day=*/samples.parquet"):
            date = datetime.date.fromisoformat(path.parent.name.removeprefix("day="))
            found.append((date - datetime.date(1970, 1, 1)).days)
        return sorted(found)

    def row_counts(self) -> dict[int, int]:
        """Return the number of samples of every day, from the footers of the files."""
        return {day: parquet.read_metadata(self.samples_file(day)).num_rows for day in self.days()}

    def channels(self) -> dict[str, ChannelFacts]:
        """Return what is kept of every channel."""
        path = self.folder / "channels.json"
        if not path.exists():
            return {}
        return {name: _facts_of(entry) for name, entry in json.loads(path.read_text(encoding="utf-8")).items()}

    def keep_channels(self, facts: Mapping[str, ChannelFacts]) -> None:
        """Keep the facts of channels beside those that are kept already."""
        merged = {name: asdict(entry) for name, entry in sorted({**self.channels(), **facts}.items())}
        write_text_at_once(self.folder / "channels.json", json.dumps(merged, indent=1, default=str).replace("Infinity", '"inf"'))

    def constants(self) -> dict[str, float]:
        """Return the constants of the drive that were estimated once, empty before."""
        path = self.folder / "constants.json"
        return json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}

    def keep_constants(self, constants: Mapping[str, float]) -> None:
        """Keep the constants of the drive."""
        write_text_at_once(self.folder / "constants.json", json.dumps(dict(constants), indent=1, sort_keys=True))


def _facts_of(entry: Mapping[str, Any]) -> ChannelFacts:
    values: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else float("inf") if value == "inf" else value for key, value in entry.items()}
    return ChannelFacts(**values)


def write_text_at_once(path: Path, text: str) -> None:
    """Write a small file so that a reader sees either the old or the new one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    interim = path.with_name(path.name + ".new")
    interim.write_text(text, encoding="utf-8")
    os.replace(interim, path)


def merge_day(
    connection: duckdb.DuckDBPyConnection, store: LogStore, day: int, sources: Sequence[str], facts: Mapping[str, ChannelFacts], target: Path
) -> tuple[int, int]:
    """Write one day from what is kept of it and from new rows into a folder; return its rows and its conflicting instants.

    Parameters
    ----------
    sources : SQL of tables with ``time_ms``, ``row_flags`` and channels, in any order.
    target : folder that later takes the place of the day's own.
    """
    start, end = day * MS_PER_DAY, (day + 1) * MS_PER_DAY
    kept = [f"SELECT * FROM read_parquet({quoted(path)}, hive_partitioning = false)" for path in _kept_files(store, day)]
    parts = [f"SELECT * FROM ({source}) WHERE time_ms >= {start} AND time_ms < {end}" for source in sources]
    connection.execute(f"CREATE OR REPLACE TEMP TABLE variants AS {' UNION ALL BY NAME '.join(kept + parts)}")
    channels = [row[0] for row in connection.execute("DESCRIBE variants").fetchall() if row[0] not in TIME_COLUMNS]
    total, instants = connection.execute("SELECT count(*), count(DISTINCT time_ms) FROM variants").fetchone() or (0, 0)
    target.mkdir(parents=True, exist_ok=True)
    samples = "SELECT * FROM variants"
    conflicts = 0
    if total != instants:
        conflicts = _resolve(connection, channels, facts)
        samples = "SELECT * FROM variants WHERE time_ms NOT IN (SELECT time_ms FROM twice) UNION ALL BY NAME SELECT * EXCLUDE (conflict) FROM resolved"
    order = ", ".join(named(column) for column in (*TIME_COLUMNS, *channels))
    copy_at_once(connection, f"SELECT {order} FROM ({samples}) ORDER BY time_ms", target / "samples.parquet")
    if conflicts:
        kept_variants = f"SELECT DISTINCT {order} FROM variants WHERE time_ms IN (SELECT time_ms FROM resolved WHERE conflict) ORDER BY ALL"
        copy_at_once(connection, kept_variants, target / "conflicts.parquet")
    connection.execute("DROP TABLE variants; DROP TABLE IF EXISTS resolved; DROP TABLE IF EXISTS twice")
    return instants, conflicts


def _kept_files(store: LogStore, day: int) -> list[Path]:
    return [path for path in (store.samples_file(day), store.conflicts_file(day)) if path.exists()]


def _resolve(connection: duckdb.DuckDBPyConnection, channels: Sequence[str], facts: Mapping[str, ChannelFacts]) -> int:
    """Resolve instants with several rows: the lower median of the different readings, the greatest of a counter; return the conflicts."""
    connection.execute("CREATE OR REPLACE TEMP TABLE twice AS SELECT time_ms FROM variants GROUP BY time_ms HAVING count(*) > 1")
    values, differing = [], ["false"]
    for name in channels:
        column = named(name)
        is_counter = name in facts and facts[name].kind == "counter"
        ordered = f"list_sort(list_distinct(list({column})))"
        values.append(f"max({column}) AS {column}" if is_counter else f"list_extract({ordered}, (len({ordered}) + 1) // 2) AS {column}")
        differing.append(f"count(DISTINCT {column}) > 1")
    conflict = " OR ".join(differing)
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE resolved AS SELECT time_ms, bit_or(row_flags) | CASE WHEN {conflict} THEN {CONFLICT} ELSE 0 END AS row_flags, "
        f"{', '.join([*values, f'{conflict} AS conflict'])} FROM variants WHERE time_ms IN (SELECT time_ms FROM twice) GROUP BY time_ms"
    )
    return int((connection.execute("SELECT count(*) FROM resolved WHERE conflict").fetchone() or (0,))[0])


def copy_at_once(connection: duckdb.DuckDBPyConnection, query: str, target: Path) -> None:
    """Write a query's rows as Parquet so that a reader sees either the old or the new file."""
    interim = target.with_name(target.name + ".new")
    connection.execute(f"COPY ({query}) TO {quoted(interim)} (FORMAT parquet, COMPRESSION zstd, ROW_GROUP_SIZE 61440)")
    os.replace(interim, target)


def put_in_place(store: LogStore, days: Iterable[int], staging: Path) -> None:
    """Move finished days from a staging folder on the same disk into the store."""
    for day in days:
        folder = store.day_folder(day)
        folder.mkdir(parents=True, exist_ok=True)
        # Spikes are found again when they are missing; those of other samples would be believed.
        store.spikes_file(day).unlink(missing_ok=True)
        for name in ("conflicts.parquet", "samples.parquet"):
            finished = staging / f"day={day_text(day)}" / name
            if finished.exists():
                os.replace(finished, folder / name)
