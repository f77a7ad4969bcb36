"""Log files, one a local day, as the logger writes them: CSV with its own words and decimal mark, or Parquet."""

import datetime
import itertools
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv
import pyarrow.parquet
from examples.brennholt.simulator.block import Block
from examples.brennholt.simulator.columns import TIME_HEADING, LoggerColumn
from numpy.typing import NDArray

LogFormat = Literal["csv", "parquet"]
Decimal = Literal[",", "."]
SECONDS_PER_DAY = 86_400


def local_seconds(utc_s: NDArray[np.int64], zone: ZoneInfo) -> NDArray[np.int64]:
    """Return the wall clock of UTC seconds, counted as if it were UTC; zones change at full hours."""
    hours, where = np.unique(utc_s // 3600, return_inverse=True)
    offsets = [datetime.datetime.fromtimestamp(int(hour) * 3600, zone).utcoffset() or datetime.timedelta() for hour in hours]
    return utc_s + np.array([int(offset.total_seconds()) for offset in offsets], dtype=np.int64)[where]


class LogWriter:
    """Gathers blocks and writes a file whenever a local day is over."""

    def __init__(self, folder: Path, drive: str, columns: tuple[LoggerColumn, ...], zone: ZoneInfo, log_format: LogFormat, decimal: Decimal) -> None:
        self._folder, self._drive, self._columns, self._zone = folder, drive, columns, zone
        self._format, self._decimal = log_format, decimal
        self._open: dict[int, list[pa.Table]] = {}
        self.files: list[str] = []
        self.row_count = 0
        folder.mkdir(parents=True, exist_ok=True)

    def add(self, block: Block) -> None:
        """Take the rows of one cycle."""
        if not len(block.time_s):
            return
        local = local_seconds(block.stamp_s, self._zone)
        table = self._table(block, local)
        days = local // SECONDS_PER_DAY
        edges = [0, *(np.flatnonzero(np.diff(days)) + 1).tolist(), len(days)]
        for first, last in itertools.pairwise(edges):
            self._open.setdefault(int(days[first]), []).append(table.slice(first, last - first))
        for day in sorted(self._open)[:-2]:
            self._write(day)

    def close(self) -> None:
        """Write what is still open."""
        for day in sorted(self._open):
            self._write(day)

    def _table(self, block: Block, local_s: NDArray[np.int64]) -> pa.Table:
        arrays: dict[str, pa.Array] = {TIME_HEADING: pa.array(local_s.astype("datetime64[s]"))}
        for column in self._columns:
            written = np.round(block.channels[column.channel] * column.per_unit, column.decimals) + 0.0
            array = pa.array(written.astype(np.int64) if column.decimals == 0 else written)
            words = {row: word for row, channel, word in block.texts if channel == column.channel}
            arrays[column.heading] = _with_words(array, words, self._format) if words else array
        return pa.table(arrays)

    def _write(self, day: int) -> None:
        tables = self._open.pop(day)
        table = _joined(tables)
        name = f"{self._drive}_{datetime.date(1970, 1, 1) + datetime.timedelta(days=day)}.{self._format}"
        if self._format == "parquet":
            pyarrow.parquet.write_table(table, self._folder / name)
        else:
            self._write_csv(table, self._folder / name)
        self.files.append(name)
        self.row_count += table.num_rows

    def _write_csv(self, table: pa.Table, path: Path) -> None:
        sink = pa.BufferOutputStream()
        pyarrow.csv.write_csv(table, sink, pyarrow.csv.WriteOptions(include_header=False, delimiter=";", quoting_style="none"))
        body = sink.getvalue().to_pybytes()
        # No point stands anywhere but in numbers, so the decimal mark can be changed in the finished text.
        body = body.replace(b".", b",") if self._decimal == "," else body
        path.write_bytes((";".join(table.column_names) + "\n").encode() + body)


def _with_words(array: pa.Array, words: dict[int, str], log_format: LogFormat) -> pa.Array:
    """Return a column with words in some rows; a typed file can only leave them empty."""
    if log_format == "parquet":
        empty = np.isin(np.arange(len(array)), list(words))
        return pc.if_else(pa.array(empty), pa.scalar(None, array.type), array)
    texts = pc.cast(array, pa.string()).to_pylist()
    for row, word in words.items():
        texts[row] = word
    return pa.array(texts, pa.string())


def _joined(tables: list[pa.Table]) -> pa.Table:
    """Return one table; a column with words in any part is text in all."""
    worded = {field.name for table in tables for field in table.schema if pa.types.is_string(field.type)}
    for name in worded:
        tables = [
            table
            if pa.types.is_string(table.schema.field(name).type)
            else table.set_column(table.column_names.index(name), name, pc.cast(table[name], pa.string()))
            for table in tables
        ]
    return pa.concat_tables(tables)
