"""Plans: made from a project, shown as a table, frozen as a file."""

import json
import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import pyarrow as pa
import pyarrow.parquet as pq

from tunnelwright.app.workspace import Workspace
from tunnelwright.drive.plan import Plan, plan_drive
from tunnelwright.drive.sections import SurfaceMissing
from tunnelwright.report.numbers import count_text
from tunnelwright.report.tables import plan_table
from tunnelwright.store import NewEntry, fold
from tunnelwright.vocabulary.remark import Fault, InputRefused

SHOWN_DIGITS: Final = 10
_KEPT: dict[tuple[str, str], Plan] = {}


def plan(workspace: Workspace, drive: str = "") -> Plan:
    """Return the plan of a drive; the same project gives the same plan, which is then not made twice in one process.

    Raises
    ------
    InputRefused
        when the drive is not known or the surveyed surface does not cover it.
    """
    case = workspace.case(drive)
    key = (case.project.revision, case.drive.name)
    if key not in _KEPT:
        try:
            _KEPT[key] = plan_drive(case)
        except SurfaceMissing as reason:
            raise InputRefused(
                [Fault(where="ground/surface", field="level_m", given="no points there", required=str(reason), hint="survey a strip beside the whole drive")],
                str(workspace.folder),
            ) from None
        if len(_KEPT) > 4:
            _KEPT.pop(next(iter(_KEPT)))
    return _KEPT[key]


def freeze_plan(workspace: Workspace, made: Plan, now: datetime | None = None, person: str = "") -> Path:
    """Write the plan's table with its revision into the project's own store, say so in the journal, and return the file.

    An older file or entry of the same revision stays as it is.
    """
    folder = workspace.plan_folder()
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / f"{made.case.drive.name}-{made.revision}.parquet"
    moment = now or datetime.now(UTC)
    if not target.exists():
        stamp = {"revision": made.revision, "drive": made.case.drive.name, "frozen_at": moment.isoformat(timespec="seconds")}
        table = plan_table(made).replace_schema_metadata({b"tunnelwright": json.dumps(stamp).encode()})
        write_parquet(table, target)
    _enter_frozen(workspace, made, moment, person)
    return target


def _enter_frozen(workspace: Workspace, made: Plan, moment: datetime, person: str) -> None:
    drive, journal = made.case.drive.name, workspace.journal()
    if made.revision in fold(journal.entries(), drive).frozen:
        return
    journal.append(
        NewEntry(
            time_ms=int(moment.timestamp() * 1000),
            drive=drive,
            kind="plan frozen",
            subject=f"plan {made.revision[:SHOWN_DIGITS]}, {count_text(made.push_count, 'push', 'pushes')}",
            person=person,
            data={"revision": made.revision},
        )
    )


def write_parquet(table: pa.Table, target: Path) -> None:
    """Write a table so that the file is either whole or not there."""
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, suffix=".part")
    os.close(handle)
    try:
        pq.write_table(table, name)
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
