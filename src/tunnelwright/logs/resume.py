"""Going on from an earlier record: what closed cycles said does not change when samples are added behind them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tunnelwright.logs.chunks import LogReader
from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.cycles import OpenCycle
from tunnelwright.logs.days import MS_PER_DAY, LogStore
from tunnelwright.logs.measures import Measures
from tunnelwright.logs.motion import PushRules

Statistics = dict[int, dict[str, tuple[float, float]]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Resume:
    """What an earlier pass over the log leaves behind for the next one.

    Parameters
    ----------
    state : where the open cycle starts; everything below belongs to closed cycles before it.
    facts, statistics, found, events, stuck : of both passes.
    excluded, limits : under which the closed cycles were measured.
    day_marks : size and time of change of the files of whole days before the open cycle.
    rows_before : samples of its own day before it starts.
    """

    state: OpenCycle
    rules: PushRules
    context: RecordContext
    columns: tuple[str, ...]
    facts: tuple[Mapping[str, Any], ...]
    statistics: Statistics
    found: Measures
    events: tuple[tuple[str, int, str], ...]
    stuck: Mapping[int, list[str]]
    excluded: Mapping[int, tuple[str, ...]]
    limits: Mapping[int, Mapping[str, float]]
    day_marks: Mapping[int, tuple[int, int]]
    rows_before: int

    def holds(self, reader: LogReader, rules: PushRules, context: RecordContext) -> bool:
        """Return whether nothing changed before the open cycle: no sample, no constant, nothing of the machine."""
        return (
            context is self.context
            and rules == self.rules
            and tuple(reader.columns) == self.columns
            and day_marks(reader.store, self.state.start_ms) == self.day_marks
            and rows_before(reader, self.state.start_ms) == self.rows_before
        )

    def agrees(self, excluded: Mapping[int, tuple[str, ...]], limits: Mapping[int, Mapping[str, float]]) -> bool:
        """Return whether the closed cycles would be measured now as they were then; a sensor found to drift is left out of earlier rings too."""
        return all(excluded.get(cycle, ()) == sensors for cycle, sensors in self.excluded.items()) and all(
            limits.get(cycle) == one for cycle, one in self.limits.items()
        )


def day_marks(store: LogStore, before_ms: int) -> dict[int, tuple[int, int]]:
    """Return size and time of change of the files of all whole days before an instant."""
    marks = {}
    for day in store.days():
        if (day + 1) * MS_PER_DAY <= before_ms:
            status = store.samples_file(day).stat()
            marks[day] = (status.st_size, status.st_mtime_ns)
    return marks


def rows_before(reader: LogReader, before_ms: int) -> int:
    """Return the number of samples of the day of an instant that lie before it."""
    start_ms = before_ms - before_ms % MS_PER_DAY
    return int(reader.samples(start_ms, before_ms - 1).count().to_pyarrow().as_py()) if before_ms // MS_PER_DAY in reader.days and before_ms > start_ms else 0
