"""Looking at the first rows of a logger's file: how it is written, and what its columns may be.

A guess is shown, never applied silently: the layout of a file is overruled by what the channel map says.
"""

import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import pyarrow.parquet as parquet
from pyarrow import types

from tunnelwright.logs.channel_families import FAMILIES, Family, family_of
from tunnelwright.logs.channel_map import Channel, ChannelMap
from tunnelwright.logs.time_formats import is_utc, looks_like_time, time_format_of
from tunnelwright.vocabulary.remark import Fault, InputRefused
from tunnelwright.vocabulary.units import UnitMismatch, UnitUnknown, convert, split_name, suffix_of

ROWS_LOOKED_AT: Final = 200
HEAD_BYTES: Final = 262_144
SEPARATORS: Final = (";", "\t", "|", ",")
STATUS_WORDS: Final = frozenset({"", "-", "--", "---", "bad", "#n/a", "n/a", "na", "nan", "null", "none", "error", "err", "uncertain", "good"})
_NUMBER: Final = re.compile(r"[-+]?(?:\d[\d.,  ']*|[.,]\d+)(?:[eE][-+]?\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a file is written.

    Parameters
    ----------
    is_quoted : whether quotation marks hold cells together; where they do not pair up they are marks like any other.
    header_line_count : lines before the first row of readings.
    columns : headings, made unique; ``units`` stand beside them where a line of units was found.
    time_column, time_format : the column that reads like a time, and how it is written.
    """

    kind: str = "csv"
    encoding: str = "utf-8"
    separator: str = ","
    decimal: str = "."
    is_quoted: bool = True
    header_line_count: int = 1
    columns: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    time_column: str = ""
    time_format: str = ""
    rows: tuple[tuple[str, ...], ...] = ()

    def samples(self, column: str) -> list[str]:
        """Return the first readings of a column, as they stand there."""
        at = self.columns.index(column)
        return [row[at].strip() for row in self.rows if at < len(row)]


def refused(where: str, given: str, required: str, hint: str = "", field: str = "file") -> Fault:
    """Return the Fault of a file of the logger."""
    return Fault(where=where, field=field, given=given, required=required, hint=hint)


def file_faults(file: Path) -> list[Fault]:
    """Return what keeps a file from being looked at at all."""
    if not file.exists():
        return [refused(str(file), "nothing", "the file does not exist", "is the name right?")]
    if file.is_dir():
        return [refused(str(file), "a folder", "a file is needed")]
    if file.stat().st_size == 0:
        return [refused(str(file), "an empty file", "rows of readings are needed", "was the transfer complete?")]
    return []


def layout_of(file: Path, given: ChannelMap | None = None) -> Layout:
    """Return how a file is written, as far as the channel map does not say it.

    Raises
    ------
    InputRefused
        when it cannot be read as a table at all.
    """
    faults = file_faults(file)
    if faults:
        raise InputRefused(faults, str(file))
    return _parquet_layout(file, given) if is_parquet(file) else _csv_layout(file, given)


def is_parquet(file: Path) -> bool:
    """Return whether a file is Parquet, by its first bytes."""
    with file.open("rb") as stream:
        return stream.read(4) == b"PAR1"


def _parquet_layout(file: Path, given: ChannelMap | None) -> Layout:
    try:
        table = parquet.ParquetFile(file)
        batch = next(table.iter_batches(ROWS_LOOKED_AT), None)
    except (OSError, ValueError) as reason:
        raise InputRefused(
            [refused(str(file), "a damaged Parquet file", "it must be whole", f"was the transfer complete? ({str(reason).splitlines()[0][:80]})")]
        ) from None
    columns = tuple(table.schema_arrow.names)
    rows = tuple(tuple("" if value is None else str(value) for value in row.values()) for row in (batch.to_pylist() if batch else []))
    layout = _with_time(Layout(kind="parquet", header_line_count=0, columns=columns, rows=rows), given)
    own_type = table.schema_arrow.field(layout.time_column).type if layout.time_column else None
    if own_type is not None and types.is_timestamp(own_type):
        return replace(layout, time_format="timestamp" if own_type.tz is None else "timestamp_utc")
    return layout


def _csv_layout(file: Path, given: ChannelMap | None) -> Layout:
    with file.open("rb") as stream:
        head = stream.read(HEAD_BYTES)
    encoding, text = _decoded(head, file, given.encoding if given else "")
    lines = text.splitlines()
    if len(head) == HEAD_BYTES and len(lines) > 1:
        lines = lines[:-1]
    is_quoted = _pairs_quotes(lines)
    try:
        separator = (given.separator if given else "") or _separator(lines, is_quoted)
        rows = cells_of(lines[: ROWS_LOOKED_AT + 50], separator, is_quoted)
    except csv.Error:
        limit = csv.field_size_limit()
        raise InputRefused(
            [refused(str(file), f"a cell of more than {limit} characters", "rows of short cells are needed", "is the separator right, is every quote closed?")]
        ) from None
    header_count = given.header_line_count if given and given.header_line_count is not None else _header_line_count(rows)
    body = [tuple(row) for row in rows[header_count : header_count + ROWS_LOOKED_AT] if any(field.strip() for field in row)]
    if not body:
        raise InputRefused(
            [refused(str(file), f"{len(rows)} lines without a row of readings", "rows with a time and numbers are needed", "is it a log at all?")]
        )
    width = max(Counter(len(row) for row in body).most_common(1)[0][0], max(len(row) for row in rows[:header_count]) if header_count else 0)
    columns, units = _headings(rows[:header_count], width)
    decimal = (given.decimal if given else "") or _decimal(body, separator)
    layout = Layout(
        encoding=encoding,
        separator=separator,
        decimal=decimal,
        is_quoted=is_quoted,
        header_line_count=header_count,
        columns=columns,
        units=units,
        rows=tuple(body),
    )
    return _with_time(layout, given)


def cells_of(lines: Sequence[str], separator: str, is_quoted: bool) -> list[list[str]]:
    """Return the cells of lines."""
    return list(csv.reader(lines, delimiter=separator, quoting=csv.QUOTE_MINIMAL if is_quoted else csv.QUOTE_NONE))


def _pairs_quotes(lines: Sequence[str]) -> bool:
    """Return whether quotation marks usually come in pairs; else one that is not closed would swallow the rows behind it."""
    with_quotes = [line.count('"') for line in lines if '"' in line]
    return 2 * sum(count % 2 for count in with_quotes) <= len(with_quotes)


def _decoded(head: bytes, file: Path, given: str) -> tuple[str, str]:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputRefused([refused(str(file), "UTF-16 text", "UTF-8 or Latin-1 is needed", "save it again as UTF-8", "encoding")])
    if b"\x00" in head or sum(byte < 9 for byte in head[:4096]) > 4:
        raise InputRefused([refused(str(file), "binary data", "CSV text or Parquet is needed", "is it packed, or a spreadsheet?")])
    if given != "latin-1":
        try:
            return "utf-8", head.decode("utf-8-sig")
        except UnicodeDecodeError as reason:
            # The head may end in the middle of a character.
            if len(head) == HEAD_BYTES and reason.start > HEAD_BYTES - 4:
                return "utf-8", head[: reason.start].decode("utf-8-sig")
            if given == "utf-8":
                raise InputRefused(
                    [refused(str(file), f"a byte that is not UTF-8 at {reason.start}", "UTF-8 as the channel map says", 'try encoding = "latin-1"', "encoding")]
                ) from None
    return "latin-1", head.decode("latin-1")


def _separator(lines: Sequence[str], is_quoted: bool) -> str:
    """Return the mark that cuts most lines into the same number of fields, at least two."""
    looked_at = [line for line in lines[: ROWS_LOOKED_AT + 20] if line.strip()]

    def agreement(mark: str) -> tuple[float, int]:
        widths = Counter(len(row) for row in cells_of(looked_at, mark, is_quoted))
        wide = [(count, width) for width, count in widths.items() if width > 1]
        count, width = max(wide, default=(0, 0))
        return count / max(1, len(looked_at)), width

    # With a decimal comma the comma cuts lines as regularly as the semicolon does: the order of the marks decides then.
    best = max(SEPARATORS, key=lambda mark: (round(agreement(mark)[0], 1), mark != ",", agreement(mark)[1]))
    return best if agreement(best)[1] else ","


def _is_number(field: str) -> bool:
    return bool(_NUMBER.fullmatch(field.strip()))


def _is_reading_row(row: Sequence[str]) -> bool:
    fields = [field.strip() for field in row if field.strip().lower() not in STATUS_WORDS]
    readable = sum(_is_number(field) or looks_like_time(field) for field in fields)
    return bool(fields) and readable >= 0.6 * len(fields)


def _header_line_count(rows: Sequence[Sequence[str]]) -> int:
    """Return the number of lines before the first two rows of readings that are as wide as the rest."""
    usual = Counter(len(row) for row in rows).most_common(1)[0][0] if rows else 0
    for at, row in enumerate(rows[:50]):
        if len(row) >= usual - 1 and _is_reading_row(row) and (at + 1 >= len(rows) or _is_reading_row(rows[at + 1]) or not rows[at + 1]):
            return at
    return min(1, len(rows))


def _headings(header: Sequence[Sequence[str]], width: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return unique headings and, where one of the lines holds units, the units beside them."""
    lines = [
        [field.strip().lstrip("\ufeff") for field in row] + [""] * (width - len(row))
        for row in header
        if len([f for f in row if f.strip()]) >= max(2, width // 2)
    ]
    unit_lines = [line for line in lines if _holds_units(line)]
    named = [line for line in lines if line not in unit_lines]
    names = named[0] if named else [""] * width
    units = unit_lines[0] if unit_lines else [""] * width
    seen: Counter[str] = Counter()
    unique = []
    for at, name in enumerate(names[:width]):
        plain = name or f"column {at + 1}"
        seen[plain] += 1
        unique.append(plain if seen[plain] == 1 else f"{plain} ({seen[plain]})")
    return tuple(unique), tuple(units[:width])


def _holds_units(line: Sequence[str]) -> bool:
    fields = [field.strip("[]() ") for field in line if field.strip("[]() ")]
    known = sum(_is_unit(field) for field in fields)
    return len(fields) >= 1 and known >= 0.6 * len(fields)


def _is_unit(text: str) -> bool:
    try:
        convert(1.0, text, text)
    except (UnitUnknown, UnitMismatch, ValueError):
        return False
    return text not in ("", "-", "1")


def _decimal(rows: Iterable[Sequence[str]], separator: str) -> str:
    fields = [field.strip() for row in rows for field in row if _is_number(field.strip())]
    commas = sum("," in field for field in fields)
    points = sum(bool(re.fullmatch(r"[-+]?\d*\.\d+(?:[eE][-+]?\d+)?", field)) for field in fields)
    return "," if separator != "," and commas > points else ("," if separator == "," and commas > 0 and points == 0 and _quoted_commas(fields) else ".")


def _quoted_commas(fields: Sequence[str]) -> bool:
    """Return whether commas inside fields of a comma-separated file are decimal commas: they must have been quoted."""
    return any(re.fullmatch(r"[-+]?\d+,\d{1,2}|[-+]?\d+,\d{4,}", field) for field in fields)


def _with_time(layout: Layout, given: ChannelMap | None) -> Layout:
    if given is not None:
        at = given.time_column if given.time_column in layout.columns else ""
        return replace(layout, time_column=at, time_format=given.time_format or (time_format_of(_time_texts(layout, given)) if at else ""))
    for column in layout.columns:
        found = time_format_of(layout.samples(column), heading=column)
        if found:
            return replace(layout, time_column=column, time_format=found)
    return layout


def _time_texts(layout: Layout, given: ChannelMap) -> list[str]:
    texts = layout.samples(given.time_column)
    if given.time_of_day_column in layout.columns:
        return [f"{date} {time}" for date, time in zip(texts, layout.samples(given.time_of_day_column), strict=True)]
    return texts


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What a file seems to hold: a guess for a person to look at.

    Parameters
    ----------
    channel_map : ready to be written to a file; none when no column reads like a time or like a channel.
    reasons : per recognised column, why it was taken for its channel.
    unknown : columns that were not recognised.
    needs : what a person must still say, for example the time zone.
    """

    layout: Layout
    channel_map: ChannelMap | None
    reasons: dict[str, str]
    unknown: tuple[str, ...]
    needs: tuple[str, ...]


def propose_channel_map(file: Path | str) -> Proposal:
    """Return a guess at a file's layout and channels from its first 200 rows.

    Raises
    ------
    InputRefused
        when it cannot be read as a table at all.
    """
    layout = layout_of(Path(file))
    channels: list[Channel] = []
    reasons: dict[str, str] = {}
    unknown: list[str] = []
    for at, column in enumerate(layout.columns):
        if column == layout.time_column:
            continue
        found = _recognised(column, layout.units[at] if at < len(layout.units) else "", {channel.name for channel in channels})
        if found is None:
            unknown.append(column)
        else:
            channels.append(found)
            reasons[column] = f"{found.name}, written in {found.unit or 'its own unit'}"
    needs = _needs(layout, bool(channels))
    proposed = None
    if layout.time_column and channels:
        proposed = ChannelMap(
            time_column=layout.time_column,
            time_format=layout.time_format,
            separator=layout.separator if layout.kind == "csv" else "",
            decimal=layout.decimal if layout.kind == "csv" else "",
            encoding=layout.encoding if layout.kind == "csv" else "",
            header_line_count=layout.header_line_count if layout.kind == "csv" else None,
            channels=tuple(channels),
        )
    return Proposal(layout=layout, channel_map=proposed, reasons=reasons, unknown=tuple(unknown), needs=needs)


def _needs(layout: Layout, any_channel: bool) -> tuple[str, ...]:
    needs = []
    if not layout.time_column:
        needs.append("time_column: no column reads like a time")
    elif not is_utc(layout.time_format):
        needs.append("time_zone: the times are those of a wall clock; name its zone")
    if not any_channel:
        needs.append("channel: no column was recognised by its heading")
    return tuple(needs)


def _recognised(heading: str, unit_line: str, taken: set[str]) -> Channel | None:
    bracket = re.search(r"[\[(]\s*([^\])]+?)\s*[\])]\s*$", heading)
    written_unit = unit_line.strip("[]() ") or (bracket[1] if bracket else "")
    plain = heading[: bracket.start()] if bracket else heading
    words = [word for word in re.split(r"[\s_.\-/]+", plain.lower()) if word]
    if not bracket and family_of(heading.strip()) is not None:
        return _channel(heading, heading.strip(), written_unit, taken)
    fitting = [family for family in FAMILIES.values() if family.words and all(word in words for word in family.words)]
    for family in sorted(fitting, key=lambda one: -len(one.words)):
        rest = [word for word in words if word not in family.words and word != split_name(family.name)[1]]
        name = _named(family, rest)
        channel = _channel(heading, name, written_unit, taken) if name else None
        if channel is not None:
            return channel
    return None


def _named(family: Family, rest: Sequence[str]) -> str:
    if not family.many:
        return family.name
    stem, own = split_name(family.name)
    mark = "_".join(re.sub(r"[^a-z0-9_-]", "", word) for word in rest) or "1"
    return f"{stem}_{mark}_{suffix_of(own)}"


def _channel(heading: str, name: str, written_unit: str, taken: set[str]) -> Channel | None:
    if name in taken:
        return None
    try:
        return Channel(source=heading, name=name, unit=written_unit)
    except ValueError:
        return None
