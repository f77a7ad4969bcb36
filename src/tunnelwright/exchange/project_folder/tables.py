"""A table of the project: a CSV file or the first sheet of a workbook, every cell with its row."""

import csv
import datetime
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tunnelwright.exchange.project_folder.texts import read_text
from tunnelwright.vocabulary.remark import Fault, InputRefused


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its line in the file and its cells by heading; empty cells are left out."""

    line: int
    cells: dict[str, Any]


@dataclass(frozen=True, slots=True)
class SheetTable:
    """A table as read, with what was wrong with its rows."""

    name: str
    header_line: int
    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    faults: tuple[Fault, ...] = field(default=())


Cells = list[Any]


def read_table(path: Path, name: str) -> SheetTable:
    """Return the table in a ``.csv`` or ``.xlsx`` file; faults of single rows come with it.

    Raises
    ------
    InputRefused
        when there is no table to be read at all.
    """
    numbered = list(_workbook_rows(path, name) if path.suffix == ".xlsx" else _csv_rows(path, name))
    if not numbered:
        raise InputRefused([Fault(where=name, field="file", given="only comments", required="a heading row is needed")])
    header_line, header = numbered[0]
    headings = tuple(str(cell).strip() for cell in header)
    faults = list(_heading_faults(name, header_line, headings))
    rows: list[Row] = []
    first_seen: dict[tuple[Any, ...], int] = {}
    for line, cells in numbered[1:]:
        if len(cells) != len(headings) and any(str(cell).strip() for cell in cells[len(headings) :]):
            faults.append(_width_fault(name, line, cells, headings))
            continue
        row = Row(line, {heading: cell for heading, cell in zip(headings, cells, strict=False) if heading and cell not in ("", None)})
        key = tuple(row.cells.items())
        if key in first_seen:
            faults.append(
                Fault(where=f"{name}:{line}", field="row", given=f"the same as row {first_seen[key]}", required="each row once", hint="delete one of the two")
            )
            continue
        first_seen[key] = line
        rows.append(row)
    return SheetTable(name=name, header_line=header_line, headings=headings, rows=tuple(rows), faults=tuple(faults))


def _heading_faults(name: str, line: int, headings: Sequence[str]) -> Iterator[Fault]:
    for position, heading in enumerate(headings):
        if heading and heading in headings[:position]:
            yield Fault(
                where=f"{name}:{line}", field=heading, given="two columns of this name", required="each column once", hint="rename or delete one of the two"
            )


def _width_fault(name: str, line: int, cells: Cells, headings: Sequence[str]) -> Fault:
    comma = any(str(cell).strip().isdigit() for cell in cells[1:])
    return Fault(
        where=f"{name}:{line}",
        field="row",
        given=f"{len(cells)} cells",
        required=f"{len(headings)} cells are needed, as in the heading",
        hint="is there a decimal comma? write a decimal point, not a comma" if comma else "put text that holds a separator in quotes",
    )


def _csv_rows(path: Path, name: str) -> Iterator[tuple[int, Cells]]:
    text = read_text(path, name)
    lines = [
        (number, line)
        for number, line in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        return
    separator = max(";\t,", key=lambda mark: lines[0][1].count(mark))
    # One physical line is one row: a line break inside a cell is no use in these tables, and row numbers stay those of the file.
    for number, line in lines:
        if line.count('"') % 2:
            raise InputRefused([Fault(where=f"{name}:{number}", field="row", given="an open quotation mark", required="quotation marks stand in pairs")])
        try:
            cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True))
        except csv.Error as reason:
            raise InputRefused([Fault(where=f"{name}:{number}", field="row", given="a row that cannot be split", required=str(reason))]) from None
        yield number, [cell.strip() for cell in cells]


def _workbook_rows(path: Path, name: str) -> Iterator[tuple[int, Cells]]:
    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except Exception:  # the library raises whatever its zip and XML readers meet in a broken file
        raise InputRefused(
            [Fault(where=name, field="file", given="no workbook", required="an .xlsx workbook is needed", hint="save it again as .xlsx, or as .csv")]
        ) from None
    sheet = book.worksheets[0]
    for number, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        values = [_workbook_cell(cell) for cell in cells]
        if any(value != "" for value in values) and not str(values[0]).startswith("#"):
            yield number, values
    book.close()


def _workbook_cell(cell: Any) -> Any:
    if cell is None:
        return ""
    if isinstance(cell, datetime.datetime):
        return cell.date()
    return cell.strip() if isinstance(cell, str) else cell
