"""The one place where plans, records and reconciliations become Arrow tables, for files, spreadsheets and callers."""

import csv
import io
import re
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pyarrow as pa
from openpyxl import Workbook
from openpyxl.styles import Alignment, Font

from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile import STATE_OF_CODE, Reconciliation
from tunnelwright.vocabulary.quantity import quantities, quantity

SHEET_NAME = re.compile(r"[\[\]:*?/\\]")


def plan_table(plan: Plan) -> pa.Table:
    """Return the plan with one row per push."""
    rings, face, muck, grout = plan.rings, plan.face, plan.muck, plan.grout
    sensors = {f"target_sensor_{sensor.name}_kpa": face.target_sensor_kpa[:, place] for place, sensor in enumerate(plan.case.machine.chamber_sensors)}
    columns: dict[str, object] = {
        "ring_number": rings.ring_number.astype(int),
        "chainage_m": rings.chainage_m,
        "face_start_chainage_m": rings.face_start_chainage_m,
        "face_end_chainage_m": rings.face_end_chainage_m,
        "grout_ring_number": rings.grout_ring_number.astype(int),
        "cover_m": face.cover_m,
        "hard_lower_crown_kpa": face.hard_lower_crown_kpa,
        "operating_lower_crown_kpa": face.operating_lower_crown_kpa,
        "target_crown_kpa": face.target_crown_kpa,
        "operating_upper_crown_kpa": face.operating_upper_crown_kpa,
        "hard_upper_crown_kpa": face.hard_upper_crown_kpa,
        "target_axis_kpa": face.target_axis_kpa,
        "target_invert_kpa": face.target_invert_kpa,
        "support_unit_weight_kn_m3": np.full(rings.count, plan.case.machine.support_unit_weight_kn_m3),
        "window_status": face.window_status,
        "governing_lower": face.governing_lower,
        "governing_upper": face.governing_upper,
        "loss_path": face.loss_path,
        **({"air_pressure_kpa": face.air_pressure_kpa} if plan.case.machine.kind == "slurry" else {}),
        **sensors,
        "excavated_volume_m3": muck.excavated_volume_m3,
        "density_t_m3": muck.density_t_m3,
        "solution_volume_m3": muck.solution_volume_m3,
        "added_water_t": muck.added_water_t,
        "muck_mass_t": muck.muck_mass_t,
        "muck_mass_sd_t": muck.muck_mass_sd_t,
        "loose_volume_m3": muck.loose_volume_m3,
        "ground_class": grout.ground_class,
        "annulus_volume_m3": grout.annulus_volume_m3,
        "fill_factor": grout.fill_factor,
        "grout_volume_m3": grout.grout_volume_m3,
        "grout_lower_kpa": grout.grout_lower_kpa,
        "grout_target_kpa": grout.grout_target_kpa,
        "grout_upper_kpa": grout.grout_upper_kpa,
    }
    return _table(columns)


def criteria_table(reconciliation: Reconciliation) -> pa.Table:
    """Return one row per recorded ring and criterion."""
    rings = reconciliation.recorded.ring_number.astype(int)
    parts = []
    for one in reconciliation.series:
        parts.append(
            _table(
                {
                    "ring_number": rings,
                    "criterion": np.full(len(rings), one.key),
                    "name": np.full(len(rings), one.name),
                    "value": one.value,
                    "operator": np.full(len(rings), one.operator),
                    "limit_low": one.limit_low,
                    "limit_high": one.limit_high,
                    "unit": np.full(len(rings), one.unit),
                    "state": np.array([STATE_OF_CODE[int(code)] for code in one.state]),
                    "comment": one.comment,
                }
            )
        )
    return pa.concat_tables(parts).sort_by([("ring_number", "ascending"), ("criterion", "ascending")])


def _table(columns: Mapping[str, object]) -> pa.Table:
    arrays = {}
    for name, values in columns.items():
        array = np.asarray(values)
        arrays[name] = (
            pa.array(array.tolist(), pa.string())
            if array.dtype.kind in "UO"
            else pa.array(np.where(np.isfinite(array), array, np.nan) if array.dtype.kind == "f" else array, from_pandas=True)
        )
    return pa.table(arrays)


def heading(name: str) -> str:
    """Return a column's heading as people read it: the words of the name and its shown unit, once."""
    entry = quantity(name)
    words = entry.name if name in quantities() else name
    stem = words[: -len(_suffix(name))] if _suffix(name) else words
    shown = f" [{entry.shown_unit}]" if entry.shown_unit else ""
    return stem.rstrip("_").replace("_", " ") + shown


def _suffix(name: str) -> str:
    from_unit = quantity(name).unit
    if not from_unit:
        return ""
    tail = "_" + from_unit.lower().replace("/", "_").replace(" ", "_")
    return tail if name.endswith(tail) else ""


def shown_rows(table: pa.Table) -> list[list[object]]:
    """Return the rows of a table with numbers in their shown units, rounded to the dictionary's decimals; nothing for what is missing."""
    columns = []
    for name in table.column_names:
        entry = quantity(name)
        values = table.column(name).to_pylist()
        columns.append([round(entry.shown(value), entry.decimals) if isinstance(value, float) else value for value in values])
    return [list(row) for row in zip(*columns, strict=True)]


def as_csv(table: pa.Table) -> str:
    """Return a table as CSV in inside units under the names of the dictionary, so that it can be read again."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(table.column_names)
    columns = [table.column(name).to_pylist() for name in table.column_names]
    for row in zip(*columns, strict=True):
        writer.writerow(["" if value is None else (f"{value:.6g}" if isinstance(value, float) else value) for value in row])
    return buffer.getvalue()


def write_workbook(sheets: Mapping[str, pa.Table], target: Path) -> None:
    """Write tables as sheets of a workbook, headings with units, first columns frozen."""
    book = Workbook()
    book.remove(book.active)
    for title, table in sheets.items():
        sheet = book.create_sheet(SHEET_NAME.sub(" ", title)[:31])
        sheet.append([heading(name) for name in table.column_names])
        for cell in sheet[1]:
            cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="bottom")
        for row in shown_rows(table):
            sheet.append(row)
        sheet.freeze_panes = "C2"
    partial = target.with_suffix(".part.xlsx")
    book.save(partial)
    partial.replace(target)
