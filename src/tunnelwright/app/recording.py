"""Logs into the store, and the store into rings."""

import json
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from tunnelwright.app.planning import write_parquet
from tunnelwright.app.workspace import Workspace
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.recorded import RecordedRings
from tunnelwright.exchange.project_folder.documents import read_document
from tunnelwright.logs import ChannelMap, ImportReport, PushLimits, RecordContext, RecordTable, import_log, rings_of
from tunnelwright.vocabulary.remark import Fault, Finding, InputRefused

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Record:
    """The record of a drive: one row per closed cycle, what was found in the log, what belongs to no ring."""

    table: pa.Table
    findings: tuple[Finding, ...]
    unattributed: dict[str, Any]

    def recorded(self) -> RecordedRings:
        """Return the rows as the reconciliation reads them, in order of ring number."""
        table = self.table.sort_by("ring_number")
        numbers, words = {}, {}
        for name in table.column_names:
            kind = table.schema.field(name).type
            if pa.types.is_floating(kind) or pa.types.is_integer(kind) or pa.types.is_boolean(kind):
                numbers[name] = np.asarray(table.column(name).cast(pa.float64()).to_numpy(zero_copy_only=False), dtype=np.float64)
            elif pa.types.is_string(kind) or pa.types.is_large_string(kind):
                words[name] = np.array([value or "" for value in table.column(name).to_pylist()], dtype=np.str_)
        return RecordedRings(ring_number=numbers["ring_number"], numbers=numbers, words=words)


def channel_map(workspace: Workspace, drive: str) -> ChannelMap:
    """Return the channel map of a drive's logger.

    Raises
    ------
    InputRefused
        when the file is missing or wrong.
    """
    path = workspace.channel_map_file(drive)
    where = f"channels/{path.name}"
    if not path.is_file():
        raise InputRefused(
            [
                Fault(
                    where=where,
                    field="file",
                    given="no such file",
                    required="the channel map says which column of the log is which channel",
                    hint="`import-log --propose` writes a first guess",
                )
            ],
            str(workspace.folder),
        )
    document = read_document(path, where)
    return ChannelMap.from_mapping(document.values, where, lambda inside: document.locate((), tuple(inside))[0])


def import_logs(
    workspace: Workspace, drive: str = "", files: list[Path] | None = None, now_ms: int | None = None, progress: Progress | None = None
) -> ImportReport:
    """Read files of the logger into the store of a drive; without files those in the project's ``logs/`` folder.

    Raises
    ------
    InputRefused
        when the channel map or a file cannot be used at all; then nothing is written.
    """
    name = workspace.case(drive).drive.name
    sources = files if files is not None else workspace.log_files(name)
    if not sources:
        raise InputRefused(
            [Fault(where=f"logs/{name}", field="files", given="no files", required="log files are needed", hint="put them there or name them")],
            str(workspace.folder),
        )
    return import_log(sources, channel_map(workspace, name), workspace.log_store(name), now_ms if now_ms is not None else int(time.time() * 1000), progress)


def record_context(plan: Plan) -> RecordContext:
    """Return what the log engine has to know of a drive."""
    machine, ring_type, rings, face = plan.case.machine, plan.case.ring_type, plan.rings, plan.face
    return RecordContext(
        ring_length_m=ring_type.ring_length_m + ring_type.joint_gap_mm / 1000.0,
        first_ring_number=1,
        ring_numbers=rings.ring_number,
        chainage_m=rings.chainage_m,
        start_chainage_m=plan.case.drive.start_chainage_m,
        face_offset_m=machine.face_offset_m,
        sensor_depth_m={sensor.name: sensor.depth_below_crown_m for sensor in machine.chamber_sensors},
        sensor_side={sensor.name: sensor.side for sensor in machine.chamber_sensors},
        axis_depth_m=plan.sections.excavation_diameter_m / 2,
        limits=PushLimits(
            hard_lower_crown_kpa=face.hard_lower_crown_kpa,
            operating_lower_crown_kpa=face.operating_lower_crown_kpa,
            operating_upper_crown_kpa=face.operating_upper_crown_kpa,
            hard_upper_crown_kpa=face.hard_upper_crown_kpa,
        ),
        weigher_distance_m={weigher.name: weigher.distance_m for weigher in machine.belt_weighers},
        grout_ports=tuple(port.name for port in machine.grout_ports),
    )


def record(workspace: Workspace, plan: Plan, progress: Progress | None = None) -> Record:
    """Make rings of the imported log of a drive and keep them.

    Raises
    ------
    InputRefused
        when nothing was imported yet.
    """
    name = plan.case.drive.name
    store = workspace.log_store(name)
    if not any(store.glob("**/*.parquet")):
        raise InputRefused(
            [Fault(where=f"logs/{name}", field="log", given="no imported log", required="import the machine's log first", hint="`tunnelwright import-log`")],
            str(workspace.folder),
        )
    made: RecordTable = rings_of(store, record_context(plan), progress)
    kept = Record(table=made.table, findings=tuple(made.findings), unattributed={name: float(value) for name, value in made.unattributed.items()})
    _keep(workspace.record_file(name), kept, plan.revision)
    return kept


def _keep(path: Path, made: Record, revision: str) -> None:
    notes = {"revision": revision, "findings": [asdict(finding) for finding in made.findings], "unattributed": made.unattributed}
    write_parquet(made.table.replace_schema_metadata({b"tunnelwright": json.dumps(notes).encode()}), path)


def kept_record(workspace: Workspace, drive: str) -> Record | None:
    """Return the record as it was last made, None when there is none yet."""
    path = workspace.record_file(drive)
    if not path.is_file():
        return None
    table = pq.read_table(path)
    notes = json.loads((table.schema.metadata or {}).get(b"tunnelwright", b"{}"))
    findings = tuple(Finding(**one) for one in notes.get("findings", []))
    return Record(table=table.replace_schema_metadata(None), findings=findings, unattributed=notes.get("unattributed", {}))


def built_ring(workspace: Workspace, drive: str) -> int:
    """Return the number of the last recorded ring, 0 before the first."""
    path = workspace.record_file(drive)
    rings = pq.read_table(path, columns=["ring_number"])["ring_number"] if path.is_file() else ()
    return int(np.nanmax(np.asarray(rings, dtype=np.float64))) if len(rings) else 0
