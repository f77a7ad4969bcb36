"""One file of the logger into a typed table in file order: numbers in the units of the dictionary, times still as written."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import duckdb
import pyarrow.parquet as parquet

from tunnelwright.logs.channel_map import Channel, ChannelMap
from tunnelwright.logs.engine import named, quoted
from tunnelwright.logs.sniffing import Layout, refused
from tunnelwright.logs.time_formats import is_utc, milliseconds_sql
from tunnelwright.vocabulary.remark import Fault, Finding, InputRefused

TAIL_BYTES: Final = 65_536
BLOCK_BYTES: Final = 1_048_576


@dataclass(slots=True, kw_only=True)
class StagedFile:
    """A file of the logger after reading, before its times are placed.

    Parameters
    ----------
    path : Parquet with ``file_row``, ``written_ms`` and the channels.
    channels : dictionary names present in this file.
    is_cut : the last line breaks off before its last cell.
    """

    source: Path
    path: Path
    layout: Layout
    channels: tuple[str, ...]
    row_count: int
    is_cut: bool = False
    findings: list[Finding] = field(default_factory=list)


def map_faults(file: Path, layout: Layout, channel_map: ChannelMap) -> list[Fault]:
    """Return what the channel map demands of a file and does not find there."""
    faults = []
    close = f"its columns: {', '.join(layout.columns[:8])}" + (", ..." if len(layout.columns) > 8 else "")
    if channel_map.time_column not in layout.columns:
        return [refused(str(file), f"no column `{channel_map.time_column}`", "the time column of the channel map is needed", close, "time_column")]
    if channel_map.time_of_day_column and channel_map.time_of_day_column not in layout.columns:
        faults.append(refused(str(file), f"no column `{channel_map.time_of_day_column}`", "the time of day is needed", close, "time_of_day_column"))
    if not layout.time_format:
        example = next(iter(layout.samples(channel_map.time_column)), "nothing")
        faults.append(refused(str(file), f'"{example}"', "times in a known form are needed", "set time_format in the channel map", channel_map.time_column))
    elif not is_utc(layout.time_format) and not channel_map.time_zone:
        faults.append(
            refused(str(file), "times of a wall clock", "their time zone is needed", 'set time_zone in the channel map, for example "CET"', "time_zone")
        )
    if not any(channel.source in layout.columns for channel in channel_map.channels):
        faults.append(refused(str(file), "none of the mapped columns", "at least one channel of the map is needed", close, "channel"))
    return faults


def stage_file(connection: duckdb.DuckDBPyConnection, file: Path, layout: Layout, channel_map: ChannelMap, target: Path) -> StagedFile:
    """Read one file into Parquet, in file order.

    Raises
    ------
    InputRefused
        when the file turns out to be damaged.
    """
    source = _source_sql(file, layout)
    names = tuple(name for name in channel_map.names if any(entry.source in layout.columns for entry in channel_map.entries(name)))
    written_ms = _written_ms_sql(layout, channel_map)
    columns = ["row_number() OVER () AS file_row", f"{written_ms} AS written_ms"]
    columns += [f"{_channel_sql(name, layout, channel_map, written_ms)} AS {named(name)}" for name in names]
    query = f"COPY (SELECT {', '.join(columns)} FROM {source}) TO {quoted(target)} (FORMAT parquet, COMPRESSION snappy)"
    try:
        connection.execute(query)
    except duckdb.Error as reason:
        raise InputRefused(
            [refused(str(file), str(reason).splitlines()[0][:120], "a readable table is needed", "look at the row named here")], str(file)
        ) from None
    staged = StagedFile(source=file, path=target, layout=layout, channels=names, row_count=parquet.read_metadata(target).num_rows)
    staged.findings += _column_findings(connection, source, staged, channel_map)
    if layout.kind == "csv":
        staged.is_cut = _is_cut(file, layout)
        staged.findings += _lost_line_findings(staged)
    return staged


def _is_cut(file: Path, layout: Layout) -> bool:
    """Return whether the last line has no end and too few cells: its last number may be a part of one."""
    with file.open("rb") as stream:
        stream.seek(max(0, file.stat().st_size - TAIL_BYTES))
        tail = stream.read()
    last = tail.splitlines()[-1] if tail and not tail.endswith((b"\n", b"\r")) else b""
    # A mark that separates inside quotes only makes more cells: a line with too few of them is cut all the same.
    return bool(last.strip()) and last.decode(layout.encoding, "replace").count(layout.separator) + 1 < len(layout.columns)


def _lost_line_findings(staged: StagedFile) -> list[Finding]:
    """Return how many lines gave no row: they were too long, or a quotation mark that was not closed joined them to others."""
    expected = staged.row_count + staged.layout.header_line_count
    lost = _line_count(staged.source, expected) - expected
    if lost <= 0:
        return []
    sentence = f"{lost} lines gave no row of their own: too long, or joined to a neighbour by a quotation mark that is not closed"
    return [Finding(kind="unreadable_row", where=staged.source.name, count=lost, sentence=sentence)]


def _line_count(file: Path, expected: int) -> int:
    """Return the number of lines that hold anything; blank ones are told apart only where there are more lines than expected."""
    with file.open("rb") as stream:
        ends = sum(block.count(b"\n") for block in iter(lambda: stream.read(BLOCK_BYTES), b""))
        if ends + 1 <= expected:
            return ends
        stream.seek(0)
        return sum(bool(line.strip()) for line in stream)


def _source_sql(file: Path, layout: Layout) -> str:
    if layout.kind == "parquet":
        return f"read_parquet({quoted(file)}, hive_partitioning = false)"
    # Rows of another width after a restart of the logger are padded or cut; their times and numbers decide whether they count.
    mark = '"' if layout.is_quoted else ""
    names = [*layout.columns, *(f"surplus {at + 1}" for at in range(3))]
    listed = ", ".join(f"{quoted(name)}: 'VARCHAR'" for name in names)
    return (
        f"read_csv({quoted(file)}, header = false, skip = {layout.header_line_count}, delim = {quoted(layout.separator)}, "
        f"quote = '{mark}', escape = '{mark}', "
        f"columns = {{{listed}}}, null_padding = true, strict_mode = false, ignore_errors = true, auto_detect = false, "
        f"encoding = {quoted(layout.encoding)}, max_line_size = 1000000, parallel = {'true' if layout.encoding == 'utf-8' else 'false'})"
    )


def _written_ms_sql(layout: Layout, channel_map: ChannelMap) -> str:
    column = named(channel_map.time_column)
    if channel_map.time_of_day_column:
        column = f"({column} || ' ' || {named(channel_map.time_of_day_column)})"
    if layout.time_format in ("timestamp", "timestamp_utc"):
        return f"epoch_ms(CAST({column} AS TIMESTAMP))"
    return milliseconds_sql(column, layout.time_format)


def _number_sql(column: str, layout: Layout) -> str:
    """Return the SQL of a column as a number; with a decimal comma a point is a thousands mark only when a comma stands too."""
    if layout.kind == "parquet":
        return f"TRY_CAST({named(column)} AS DOUBLE)"
    text = f"trim({named(column)})"
    if layout.decimal == ",":
        text = f"CASE WHEN contains({text}, ',') THEN replace(replace({text}, '.', ''), ',', '.') ELSE {text} END"
    elif layout.separator != ",":
        text = f"CASE WHEN contains({text}, '.') THEN replace({text}, ',', '') ELSE {text} END"
    return f"TRY_CAST({text} AS DOUBLE)"


def _reading_sql(entry: Channel, layout: Layout, sentinels: Sequence[float]) -> str:
    number = _number_sql(entry.source, layout)
    if sentinels:
        number = f"CASE WHEN {number} NOT IN ({', '.join(repr(float(one)) for one in sentinels)}) THEN {number} END"
    scale, shift = entry.scale_and_shift
    value = number if (scale, shift) == (1.0, 0.0) else f"({number}) * {scale!r}" + (f" + {shift!r}" if shift else "")
    return f"CASE WHEN isfinite({value}) THEN {value} END"


def _channel_sql(name: str, layout: Layout, channel_map: ChannelMap, written_ms: str) -> str:
    entries = [entry for entry in channel_map.entries(name) if entry.source in layout.columns]
    if len(entries) == 1 and entries[0].holds_at_ms() == (None, None):
        return _reading_sql(entries[0], layout, channel_map.sentinels)
    cases = []
    for entry in entries:
        start, end = entry.holds_at_ms()
        inside = " AND ".join(([f"{written_ms} >= {start}"] if start is not None else []) + ([f"{written_ms} < {end}"] if end is not None else [])) or "true"
        cases.append(f"WHEN {inside} THEN {_reading_sql(entry, layout, channel_map.sentinels)}")
    return f"CASE {' '.join(cases)} END"


def _column_findings(connection: duckdb.DuckDBPyConnection, source: str, staged: StagedFile, channel_map: ChannelMap) -> list[Finding]:
    findings = []
    layout = staged.layout
    mapped = {channel.source for channel in channel_map.channels} | {channel_map.time_column, channel_map.time_of_day_column}
    unknown = [column for column in layout.columns if column not in mapped]
    if unknown:
        shown = ", ".join(unknown[:12]) + (f" and {len(unknown) - 12} more" if len(unknown) > 12 else "")
        findings.append(
            Finding(
                kind="unknown_column",
                where=staged.source.name,
                count=len(unknown),
                sentence=f"columns that the channel map does not name are left out: {shown}",
            )
        )
    absent = [channel for channel in channel_map.channels if channel.source not in layout.columns and channel.name not in staged.channels]
    findings += [
        Finding(kind="missing", channel=channel.name, where=staged.source.name, count=staged.row_count, sentence=f"the file has no column `{channel.source}`")
        for channel in absent
    ]
    return findings + _text_findings(connection, source, staged, channel_map)


def _text_findings(connection: duckdb.DuckDBPyConnection, source: str, staged: StagedFile, channel_map: ChannelMap) -> list[Finding]:
    """Return how many readings are no numbers or stand for no reading, and which columns are empty; only those with missing readings are looked at again."""
    entries = [entry for name in _with_nulls(staged) for entry in channel_map.entries(name) if entry.source in staged.layout.columns]
    if not entries:
        return []
    words = [f"count(*) FILTER ({_is_no_number_sql(one, staged.layout)})" for one in entries]
    marks = [
        f"count(*) FILTER ({_number_sql(one.source, staged.layout)} IN ({', '.join(repr(float(mark)) for mark in channel_map.sentinels) or 'NULL'}))"
        for one in entries
    ]
    counts = connection.execute(f"SELECT {', '.join(words + marks)} FROM {source}").fetchone() or ()
    findings, nulls = [], null_counts(staged.path)
    for entry, word_count, mark_count in zip(entries, counts[: len(entries)], counts[len(entries) :], strict=True):
        if word_count:
            sentence = f"{word_count} readings of `{entry.source}` are words or beyond all bounds, not numbers; they count as missing"
            findings.append(Finding(kind="status_text", channel=entry.name, where=staged.source.name, count=word_count, sentence=sentence))
        if mark_count:
            sentence = f"{mark_count} readings of `{entry.source}` are marks for no reading; they count as missing"
            findings.append(Finding(kind="sentinel", channel=entry.name, where=staged.source.name, count=mark_count, sentence=sentence))
        if not word_count and not mark_count and nulls.get(entry.name) == staged.row_count:
            sentence = f"the column `{entry.source}` holds no reading"
            findings.append(Finding(kind="missing", channel=entry.name, where=staged.source.name, count=staged.row_count, sentence=sentence))
    return findings


def _is_no_number_sql(entry: Channel, layout: Layout) -> str:
    """Return the SQL of cells that hold something of which no finite number comes; not-a-number in a typed file is its way to leave a cell empty."""
    number = _number_sql(entry.source, layout)
    column = named(entry.source)
    is_given = f"trim({column}) <> ''" if layout.kind == "csv" else f"{column} IS NOT NULL AND NOT coalesce(isnan({number}), false)"
    return f"{is_given} AND NOT coalesce(isfinite({number} * {entry.scale_and_shift[0]!r}), false)"


def _with_nulls(staged: StagedFile) -> list[str]:
    counts = null_counts(staged.path)
    return [name for name in staged.channels if counts.get(name, 1)]


def null_counts(path: Path) -> dict[str, int]:
    """Return the number of missing values of every column of a Parquet file, from its footer."""
    metadata = parquet.read_metadata(path)
    counts: dict[str, int] = {}
    for group in range(metadata.num_row_groups):
        for at in range(metadata.num_columns):
            column = metadata.row_group(group).column(at)
            missing = column.statistics.null_count if column.statistics is not None and column.statistics.has_null_count else 1
            counts[column.path_in_schema] = counts.get(column.path_in_schema, 0) + missing
    return counts
