"""Tables of a project: separators, encodings, remarks, workbooks."""

import datetime
from pathlib import Path

import openpyxl
import pytest

from tunnelwright.exchange.project_folder import read_project, write_new_project
from tunnelwright.exchange.project_folder.tables import read_table
from tunnelwright.vocabulary.remark import InputRefused


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_new_project(tmp_path / "project")
    return tmp_path / "project"


def test_rows_keep_the_line_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("# remark\n\nname,level_m\nA,1.5\n# B is gone\nC,2.5\n", encoding="utf-8")
    table = read_table(path, "t.csv")
    assert table.header_line == 3
    assert [(row.line, row.cells) for row in table.rows] == [(4, {"name": "A", "level_m": "1.5"}), (6, {"name": "C", "level_m": "2.5"})]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_separator_and_byte_order_mark_make_no_difference(folder: Path, separator: str, mark: str) -> None:
    expected = read_project(folder).revision
    path = folder / "ground" / "strata.csv"
    path.write_text(mark + path.read_text(encoding="utf-8").replace(",", separator).replace("# One row per stratum" + separator, "# "), encoding="utf-8")
    assert read_project(folder).revision == expected


def test_workbook_gives_the_same_project_as_the_table(folder: Path) -> None:
    expected = read_project(folder)
    for name in ("ground/piezometers", "ground/boreholes", "assets/assets"):
        book = openpyxl.Workbook()
        for line in (folder / f"{name}.csv").read_text(encoding="utf-8").splitlines():
            if not line.startswith("#"):
                book.active.append([_typed(cell) for cell in line.split(",")])
        book.save(folder / f"{name}.xlsx")
        (folder / f"{name}.csv").unlink()
    assert read_project(folder) == expected


def _typed(cell: str) -> object:
    for convert in (float, datetime.date.fromisoformat):
        try:
            return convert(cell)
        except ValueError:
            continue
    return {"true": True, "false": False, "": None}.get(cell, cell)


def test_fault_in_a_workbook_names_its_row(folder: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["easting_m", "northing_m", "level_m"], [960, 2060, 104], [960, 1930, "=A1"], [1170, 2060, 104], [1170, 1930, None]):
        book.active.append(row)
    (folder / "ground" / "surface.csv").unlink()
    book.save(folder / "ground" / "surface.xlsx")
    with pytest.raises(InputRefused) as refused:
        read_project(folder)
    assert [(fault.where, fault.field) for fault in refused.value.faults] == [("ground/surface.xlsx:3", "level_m"), ("ground/surface.xlsx:5", "level_m")]


def test_column_may_carry_another_unit(folder: Path) -> None:
    expected = read_project(folder).ground.boreholes
    path = folder / "ground" / "boreholes.csv"
    text = path.read_text(encoding="utf-8").replace("depth_m", "depth_mm")
    path.write_text(text.replace(",30.0,", ",30000,").replace(",32.0,", ",32000,").replace(",31.0,", ",31000,"), encoding="utf-8")
    assert [hole.depth_m for hole in read_project(folder).ground.boreholes] == pytest.approx([hole.depth_m for hole in expected])
