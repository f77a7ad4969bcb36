"""Reading the log store chunk by chunk: which columns need cleaning, and the samples of a span of time."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import pyarrow.parquet as parquet
from ibis import Table
from ibis.backends.duckdb import Backend

from tunnelwright.logs.channel_families import family_of
from tunnelwright.logs.days import MS_PER_DAY, TIME_COLUMNS, LogStore


@dataclass(frozen=True, slots=True)
class DayFacts:
    """What the footer of a day's file says, without reading it."""

    rows: int
    first_ms: int
    last_ms: int
    columns: frozenset[str]
    dirty: frozenset[str]


def day_facts(store: LogStore, day: int) -> DayFacts:
    """Return rows, span, columns and the columns that hold readings which are missing or cannot be."""
    metadata = parquet.read_metadata(store.samples_file(day))
    names = metadata.schema.names
    dirty, first, last = set(), [], []
    for group in range(metadata.num_row_groups):
        for at, name in enumerate(names):
            statistics = metadata.row_group(group).column(at).statistics
            if name == "time_ms":
                first.append(statistics.min)
                last.append(statistics.max)
            elif name not in TIME_COLUMNS and _is_dirty(name, statistics):
                dirty.add(name)
    return DayFacts(metadata.num_rows, min(first), max(last), frozenset(names) - set(TIME_COLUMNS), frozenset(dirty))


def _is_dirty(name: str, statistics: "parquet.Statistics | None") -> bool:
    if statistics is None or not statistics.has_null_count or not statistics.has_min_max or statistics.null_count:
        return True
    family = family_of(name)
    if family is not None and family.name == "chamber_pressure_kpa" and statistics.min <= 0.0 <= statistics.max:
        return True
    return family is not None and not (family.possible[0] <= statistics.min and statistics.max <= family.possible[1])


@dataclass
class LogReader:
    """Samples of a log store as tables of an engine."""

    backend: Backend
    store: LogStore
    _facts: dict[int, DayFacts] = field(default_factory=dict)
    _spiky: dict[int, frozenset[str]] = field(default_factory=dict)

    @cached_property
    def days(self) -> list[int]:
        """Return the days of the store."""
        return self.store.days()

    def facts(self, day: int) -> DayFacts:
        """Return the facts of a day, read once."""
        if day not in self._facts:
            self._facts[day] = day_facts(self.store, day)
        return self._facts[day]

    @cached_property
    def columns(self) -> list[str]:
        """Return all channels of the store, in a fixed order."""
        return sorted(frozenset().union(*(self.facts(day).columns for day in self.days)))

    def _days_of(self, start_ms: int, end_ms: int) -> list[int]:
        return [day for day in self.days if start_ms // MS_PER_DAY <= day <= end_ms // MS_PER_DAY]

    def present(self, start_ms: int, end_ms: int, wanted: Sequence[str] | None = None) -> list[str]:
        """Return the channels with a column in a span of time, of those that are wanted."""
        columns = frozenset().union(*(self.facts(day).columns for day in self._days_of(start_ms, end_ms)))
        return [name for name in (self.columns if wanted is None else wanted) if name in columns]

    def dirty(self, start_ms: int, end_ms: int) -> frozenset[str]:
        """Return the channels in which some reading is missing, cannot be or is a spike."""
        days = self._days_of(start_ms, end_ms)
        present = frozenset(self.present(start_ms, end_ms))
        return frozenset().union(*(self.facts(day).dirty | self.spiky_of(day) | (present - self.facts(day).columns) for day in days))

    def spiky_of(self, day: int) -> frozenset[str]:
        """Return the channels with a spike on a day."""
        if day not in self._spiky:
            path = self.store.spikes_file(day)
            self._spiky[day] = frozenset(parquet.read_table(path, columns=["channel"])["channel"].to_pylist()) if path.exists() else frozenset()
        return self._spiky[day]

    def samples(self, start_ms: int, end_ms: int) -> Table:
        """Return the samples from one instant to another, both included."""
        paths = [str(self.store.samples_file(day)) for day in self._days_of(start_ms, end_ms)]
        table = self.backend.read_parquet(paths, union_by_name=True, hive_partitioning=False)
        return table.filter(table.time_ms.between(start_ms, end_ms))

    def spikes(self, start_ms: int, end_ms: int) -> tuple[Table | None, frozenset[str]]:
        """Return the spikes of a span of time and the channels that have any; no table when there is none."""
        days = [day for day in self._days_of(start_ms, end_ms) if self.spiky_of(day)]
        if not days:
            return None, frozenset()
        table = self.backend.read_parquet([str(self.store.spikes_file(day)) for day in days], hive_partitioning=False)
        return table, frozenset().union(*(self.spiky_of(day) for day in days))

    def chunk_end(self, start_ms: int, rows: int) -> int:
        """Return the last instant of whole days that together hold about so many samples from the start on."""
        total = 0
        for day in self._days_of(start_ms, self.last_ms):
            total += self.facts(day).rows
            if total >= rows:
                return min(self.facts(day).last_ms, self.last_ms)
        return self.last_ms

    @property
    def first_ms(self) -> int:
        """Return the first instant of the log."""
        return self.facts(self.days[0]).first_ms

    @property
    def last_ms(self) -> int:
        """Return the last instant of the log."""
        return self.facts(self.days[-1]).last_ms
