"""Import: files of the logger into the log store, everything doubtful counted and shown, nothing converted on a guess."""

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from shutil import rmtree
from tempfile import mkdtemp
from typing import Final
from zoneinfo import ZoneInfo

import duckdb
import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from tunnelwright.logs.channel_map import ChannelFacts, ChannelMap
from tunnelwright.logs.clock import clock_steps, utc_of_wall_clock
from tunnelwright.logs.days import CONFLICT, MS_PER_DAY, LogStore, day_text, merge_day, put_in_place
from tunnelwright.logs.engine import DEFAULT_SETTINGS, EngineSettings, named, quoted, sql_engine
from tunnelwright.logs.reading import StagedFile, map_faults, stage_file
from tunnelwright.logs.sniffing import Layout, layout_of
from tunnelwright.logs.spikes import find_spikes
from tunnelwright.logs.suspects import unit_suspects
from tunnelwright.logs.time_formats import is_utc
from tunnelwright.vocabulary.remark import Fault, Finding, InputRefused

EARLIEST_MS: Final = 946_684_800_000
"""1 January 2000: a logger whose clock was lost starts again at 1970 or 1980."""

ABANDONED_MS: Final = 3_600_000
"""Age at which a folder of unfinished files belongs to no running import any more."""

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportReport:
    """What an import did.

    Parameters
    ----------
    row_counts : rows read, by file.
    put_aside_count : rows whose time cannot be.
    day_rows : samples now kept of every day that was touched.
    """

    findings: tuple[Finding, ...]
    row_counts: Mapping[str, int]
    put_aside_count: int
    day_rows: Mapping[str, int]
    channels: tuple[str, ...]

    @property
    def days(self) -> tuple[str, ...]:
        """Return the dates that were touched."""
        return tuple(self.day_rows)


@dataclass(slots=True, kw_only=True)
class _Placed:
    """The rows of one file with their UTC times: as SQL, with the days they touch."""

    sql: str
    days: list[int]
    findings: list[Finding] = field(default_factory=list)
    put_aside: int = 0


def import_log(
    files: Sequence[Path | str],
    channel_map: ChannelMap,
    store_folder: Path | str,
    now_ms: int,
    progress: Progress | None = None,
    settings: EngineSettings = DEFAULT_SETTINGS,
) -> ImportReport:
    """Bring files of the logger into the store.

    Parameters
    ----------
    files : CSV or Parquet; importing a file again changes nothing.
    now_ms : time of the import; rows from the future are put aside.
    progress : called with what is being done and the share that is done.

    Raises
    ------
    InputRefused
        with every Fault of every file; nothing was written then.
    """
    paths = [Path(file) for file in files]
    layouts = _checked(paths, channel_map)
    store = LogStore(Path(store_folder))
    report = progress or (lambda _sentence, _share: None)
    with sql_engine(settings) as (connection, folder):
        placed, staged_files = [], []
        for at, (path, layout) in enumerate(zip(paths, layouts, strict=True)):
            report(f"reading {path.name}", 0.6 * at / len(paths))
            staged = stage_file(connection, path, layout, channel_map, folder / f"staged-{at}.parquet")
            staged_files.append(staged)
            placed.append(_place(connection, staged, channel_map, now_ms, folder / f"placed-{at}.parquet"))
        facts = {name: ChannelFacts.of(channel_map.entries(name)[-1]) for name in dict.fromkeys(name for staged in staged_files for name in staged.channels)}
        day_rows, findings = _write_days(connection, store, placed, facts, report, now_ms)
        findings += _spike_findings(connection, store, list(day_rows))
        findings += unit_suspects(connection, store, list(day_rows), facts)
    report("done", 1.0)
    found = [finding for staged in staged_files for finding in staged.findings] + [finding for one in placed for finding in one.findings] + findings
    return ImportReport(
        findings=tuple(found),
        row_counts={staged.source.name: staged.row_count for staged in staged_files},
        put_aside_count=sum(one.put_aside for one in placed),
        day_rows={day_text(day): rows for day, rows in day_rows.items()},
        channels=tuple(facts),
    )


def _checked(paths: Sequence[Path], channel_map: ChannelMap) -> list[Layout]:
    if not paths:
        raise InputRefused([Fault(where="logs", field="file", given="no file", required="at least one file of the logger is needed")])
    faults: list[Fault] = []
    layouts: list[Layout] = []
    for path in paths:
        try:
            layout = layout_of(path, channel_map)
        except InputRefused as refusal:
            faults += refusal.faults
            continue
        faults += map_faults(path, layout, channel_map)
        layouts.append(layout)
    if faults:
        raise InputRefused(faults, "the log")
    return layouts


def _place(connection: duckdb.DuckDBPyConnection, staged: StagedFile, channel_map: ChannelMap, now_ms: int, target: Path) -> _Placed:
    """Give the rows of a file their UTC times and put those aside that cannot be."""
    written = connection.execute(f"SELECT coalesce(written_ms, -1) AS written_ms FROM read_parquet({quoted(staged.path)}) ORDER BY file_row").fetchnumpy()[
        "written_ms"
    ]
    readable = written >= 0
    findings = []
    time_ms, flags = written.astype(np.int64), np.zeros(len(written), dtype=np.int32)
    if not is_utc(staged.layout.time_format) and readable.any():
        utc = utc_of_wall_clock(time_ms[readable], ZoneInfo(channel_map.time_zone))
        time_ms[readable] = utc.time_ms
        flags[np.flatnonzero(readable)[utc.ambiguous]] = CONFLICT
        if utc.ambiguous.any():
            findings.append(
                _of_rows(
                    "time_ambiguous",
                    staged,
                    np.flatnonzero(readable)[utc.ambiguous],
                    time_ms,
                    "times in the hour of the change of clocks that nothing decides; taken as the first pass",
                )
            )
    time_ms = _with_offsets(time_ms, staged.source.name, channel_map)
    aside, aside_findings = _impossible(time_ms, readable, staged, channel_map, now_ms)
    findings += aside_findings
    if staged.is_cut and len(aside) and not aside[-1]:
        aside[-1] = True
        findings.append(_of_rows("cut_row", staged, np.array([len(aside) - 1]), time_ms, "the last line breaks off; put aside until the file is whole"))
    good = np.flatnonzero(~aside)
    findings += _step_findings(connection, staged, good, time_ms, flags)
    if not len(good):
        return _Placed(sql="", days=[], findings=findings, put_aside=int(aside.sum()))
    return _Placed(
        sql=_placed_sql(connection, staged, written, time_ms, flags, aside, target),
        days=np.unique(time_ms[good] // MS_PER_DAY).tolist(),
        findings=findings,
        put_aside=int(aside.sum()),
    )


def _with_offsets(time_ms: NDArray[np.int64], file: str, channel_map: ChannelMap) -> NDArray[np.int64]:
    for offset in channel_map.clock_offsets:
        if offset.file == file:
            time_ms[offset.first_row - 1 : offset.last_row] += round(offset.offset_s * 1000)
    return time_ms


def _placed_sql(
    connection: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    written: NDArray[np.int64],
    time_ms: NDArray[np.int64],
    flags: NDArray[np.int32],
    aside: NDArray[np.bool_],
    target: Path,
) -> str:
    channels = ", ".join(named(name) for name in staged.channels)
    shift = time_ms - written
    if not flags.any() and not aside.any() and (shift == shift[0]).all():
        return f"SELECT written_ms + {int(shift[0])} AS time_ms, 0::INTEGER AS row_flags, {channels} FROM read_parquet({quoted(staged.path)})"
    connection.register("placed_times", pa.table({"time_ms": time_ms, "row_flags": flags, "aside": aside}))
    connection.execute(
        f"COPY (SELECT placed.time_ms, placed.row_flags, {channels} FROM read_parquet({quoted(staged.path)}) POSITIONAL JOIN placed_times AS placed "
        f"WHERE NOT placed.aside) TO {quoted(target)} (FORMAT parquet, COMPRESSION snappy)"
    )
    connection.unregister("placed_times")
    return f"SELECT * FROM read_parquet({quoted(target)})"


def _of_rows(kind: str, staged: StagedFile, rows: NDArray[np.intp], time_ms: NDArray[np.int64], sentence: str) -> Finding:
    """Return a finding about rows of a file; rows are counted from 1 after the header."""
    return Finding(
        kind=kind,
        where=f"{staged.source.name} row {rows[0] + 1}",
        count=len(rows),
        sentence=f"{len(rows)} rows: {sentence}",
        start_time_ms=int(time_ms[rows].min()),
        end_time_ms=int(time_ms[rows].max()),
    )


def _impossible(
    time_ms: NDArray[np.int64], readable: NDArray[np.bool_], staged: StagedFile, channel_map: ChannelMap, now_ms: int
) -> tuple[NDArray[np.bool_], list[Finding]]:
    def midnight_ms(date: datetime.date, days: int) -> int:
        return ((date - datetime.date(1970, 1, 1)).days + days) * MS_PER_DAY

    reasons = [(~readable, "the time cannot be read"), (readable & (time_ms < EARLIEST_MS), "the time lies before the year 2000: a clock that was lost")]
    reasons.append((readable & (time_ms > now_ms), "the time lies after the import"))
    if channel_map.drive_start is not None:
        early = (time_ms < midnight_ms(channel_map.drive_start, -1)) & (time_ms >= EARLIEST_MS)
        reasons.append((readable & early, f"the time lies more than a day before the drive starts on {channel_map.drive_start}"))
    if channel_map.drive_end is not None:
        late = (time_ms >= midnight_ms(channel_map.drive_end, 2)) & (time_ms <= now_ms)
        reasons.append((readable & late, f"the time lies more than a day after the drive ends on {channel_map.drive_end}"))
    aside = np.zeros(len(time_ms), dtype=bool)
    findings = []
    for mask, sentence in reasons:
        aside |= mask
        if mask.any():
            findings.append(_of_rows("impossible_time", staged, np.flatnonzero(mask), time_ms, f"{sentence}; put aside"))
    return aside, findings


def _step_findings(
    connection: duckdb.DuckDBPyConnection, staged: StagedFile, good: NDArray[np.intp], time_ms: NDArray[np.int64], flags: NDArray[np.int32]
) -> list[Finding]:
    if len(good) < 2 or (np.diff(time_ms[good]) >= -1000).all():
        return []
    columns = ", ".join(named(name) for name in staged.channels)
    digest = connection.execute(f"SELECT hash({columns}) AS digest FROM read_parquet({quoted(staged.path)}) ORDER BY file_row").fetchnumpy()["digest"]
    findings = []
    for first, beyond, step_ms in clock_steps(time_ms[good], np.asarray(digest)[good]):
        rows = good[first:beyond]
        flags[rows] = CONFLICT
        sentence = f"the clock was set back by {-step_ms / 1000:.0f} s; these times come twice. Set a clock_offset in the channel map to part them"
        findings.append(_of_rows("clock_step", staged, rows, time_ms, sentence))
    return findings


def _write_days(
    connection: duckdb.DuckDBPyConnection, store: LogStore, placed: Sequence[_Placed], facts: Mapping[str, ChannelFacts], report: Progress, now_ms: int
) -> tuple[dict[int, int], list[Finding]]:
    """Merge every touched day aside, then put all of them in place."""
    touched = sorted({day for one in placed for day in one.days})
    day_rows, findings = {}, []
    with _staging(store, now_ms) as staging:
        for at, day in enumerate(touched):
            report(f"writing {day_text(day)}", 0.6 + 0.35 * at / len(touched))
            sources = [one.sql for one in placed if day in one.days]
            day_rows[day], conflicts = merge_day(connection, store, day, sources, facts, staging / f"day={day_text(day)}")
            if conflicts:
                sentence = f"{conflicts} instants were delivered with different readings; the lower median is taken, of a counter the greatest"
                findings.append(
                    Finding(
                        kind="duplicate_conflict",
                        where=day_text(day),
                        count=conflicts,
                        sentence=sentence,
                        start_time_ms=day * MS_PER_DAY,
                        end_time_ms=(day + 1) * MS_PER_DAY,
                    )
                )
        # Channels first: samples whose channels nobody knows would be passed over, should the computer stop in between.
        store.keep_channels(facts)
        put_in_place(store, touched, staging)
    return day_rows, findings


@contextmanager
def _staging(store: LogStore, now_ms: int) -> Iterator[Path]:
    """Yield a folder on the store's own disk, so that finished files can be renamed into place; what imports that were killed left is cleared away."""
    store.folder.mkdir(parents=True, exist_ok=True)
    for left in store.folder.glob(".staging-*"):
        if now_ms - left.stat().st_mtime * 1000 > ABANDONED_MS:
            rmtree(left, ignore_errors=True)
    staging = Path(mkdtemp(prefix=".staging-", dir=store.folder))
    try:
        yield staging
    finally:
        rmtree(staging, ignore_errors=True)


def _spike_findings(connection: duckdb.DuckDBPyConnection, store: LogStore, touched: Sequence[int]) -> list[Finding]:
    known = set(store.days())
    again = sorted({near for day in touched for near in (day - 1, day, day + 1)} & known)
    counts = find_spikes(connection, store, again)
    return [
        Finding(kind="spike", channel=name, count=count, sentence=f"{count} readings leave their neighbours and are back within 3 s; they are not counted")
        for name, count in sorted(counts.items())
    ]
