"""From the log store to the record: one row per ring, the open ring, what belongs to no ring, and everything doubtful."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet as parquet

from tunnelwright.logs.assembly import CycleEvidence, record_row, totals
from tunnelwright.logs.chamber import SensorHealth, sensor_health
from tunnelwright.logs.channel_families import channels_of
from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.chunks import LogReader
from tunnelwright.logs.constants import push_rules
from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.cycles import UNATTRIBUTED, OpenCycle
from tunnelwright.logs.days import LogStore
from tunnelwright.logs.engine import DEFAULT_SETTINGS, EngineSettings, expression_engine, sql_engine
from tunnelwright.logs.fold import SETTLE_MS, LabelledChunk, labelled_chunks
from tunnelwright.logs.measures import LIMITS, ChunkMeasures, Measures, measured, sensor_statistics
from tunnelwright.logs.motion import PushRules
from tunnelwright.logs.numbering import Numbering, numbered
from tunnelwright.logs.resume import Resume, Statistics, day_marks, rows_before
from tunnelwright.logs.ring_findings import counter_findings, cycle_findings, mass_findings, number_findings, sample_findings, sensor_findings, stuck_findings
from tunnelwright.logs.spikes import ensure_spikes
from tunnelwright.vocabulary.remark import Fault, Finding, InputRefused

Progress = Callable[[str, float], None]
LABELLING_SHARE: Final = 0.4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordTable:
    """The record of a drive.

    Parameters
    ----------
    table : one row per closed cycle, columns as in the reference of records.
    open_ring : the same columns of the cycle that is still going on; no row when the log holds none.
    unattributed : time, stroke and totals that belong to no ring: before the first push, and what ran while nobody looked.
    findings : everything doubtful, in order of time.
    missing : rings that were built unseen.
    resume : what the next pass over the same log can go on from.
    """

    table: pa.Table
    open_ring: pa.Table
    unattributed: Mapping[str, float]
    findings: tuple[Finding, ...]
    missing: tuple[int, ...] = ()
    resume: Resume | None = None

    @property
    def ring_numbers(self) -> np.ndarray:
        """Return the numbers of the closed rings."""
        return np.asarray(self.table["ring_number"]) if self.table.num_rows else np.empty(0, dtype=np.int64)


def rings_of(
    store_folder: Path | str,
    context: RecordContext,
    progress: Progress | None = None,
    settings: EngineSettings = DEFAULT_SETTINGS,
    previous: RecordTable | None = None,
) -> RecordTable:
    """Return the record of the log in a store.

    Parameters
    ----------
    progress : called with what is being done and the share that is done.
    previous : an earlier record of the same store and the same context object; only what came since is worked through. Where something before
        its open cycle has changed everything is worked through again.

    Raises
    ------
    InputRefused
        when the store holds no samples.
    """
    store = LogStore(Path(store_folder))
    days = store.days()
    if not days:
        fault = Fault(
            where=str(store_folder), field="log store", given="no samples", required="an imported log is needed", hint="import files of the logger first"
        )
        raise InputRefused([fault])
    with sql_engine(settings) as (connection, _folder):
        ensure_spikes(connection, store, days)
    with expression_engine(settings) as (backend, folder):
        reader = LogReader(backend, store)
        rules = push_rules(reader, context)
        work = _Work(reader, rules, context, _logged_channels(reader), folder, settings, progress or (lambda _sentence, _share: None))
        resume = previous.resume if previous is not None else None
        if resume is not None and resume.holds(reader, rules, context):
            record = _record(work, resume)
            if record is not None:
                return record
        record = _record(work, None)
        assert record is not None, "without an earlier record nothing can disagree with it"
        return record


def _logged_channels(reader: LogReader) -> dict[str, ChannelFacts]:
    kept = reader.store.channels()
    return {name: kept[name] for name in reader.columns if name in kept}


@dataclass(frozen=True, slots=True)
class _Work:
    reader: LogReader
    rules: PushRules
    context: RecordContext
    channels: Mapping[str, ChannelFacts]
    folder: Path
    settings: EngineSettings
    report: Progress


def _labelled(work: _Work, state: OpenCycle | None) -> tuple[list[LabelledChunk], Statistics]:
    """Return all chunks with their labels, and the statistics of the chamber sensors of every cycle."""
    settle_ms = SETTLE_MS + round(1000 * max((facts.lag_s for facts in work.channels.values()), default=0.0))
    chunks: list[LabelledChunk] = []
    statistics: Statistics = {}

    def progress(share: float) -> None:
        work.report("finding rings", LABELLING_SHARE * share)

    for chunk in labelled_chunks(work.reader, work.rules, work.folder, work.settings.rows_per_chunk, settle_ms, progress, state):
        statistics.update(sensor_statistics(work.reader, chunk, work.context))
        chunks.append(chunk)
    return chunks, statistics


def _record(work: _Work, resume: Resume | None) -> RecordTable | None:
    """Return the record; none when what an earlier pass measured does not stand any more."""
    chunks, statistics = _labelled(work, resume.state if resume is not None else None)
    stuck = {cycle: names for chunk in chunks for cycle, names in chunk.stuck.items()}
    facts: list[Mapping[str, Any]] = [one for chunk in chunks for one in chunk.cycles]
    if resume is not None:
        facts, statistics, stuck = [*resume.facts, *facts], {**resume.statistics, **statistics}, {**resume.stuck, **stuck}
    numbering = numbered(_column(facts, "keyed"), _column(facts, "chainage_m"), work.context)
    health = _health(facts, statistics, work.context)
    excluded, limits = _excluded(health, facts), _limits(facts, numbering, work.context)
    if resume is not None and not resume.agrees(excluded, limits):
        return None
    closed, found, events = _measured(work, chunks, excluded, limits, resume)
    for cycle, sensors in statistics.items():
        found.setdefault(cycle, {}).update({f"chamber_pressure_{mark}_kpa__median": median for mark, (median, _range) in sensors.items()})
    evidence = _evidence(facts, numbering, health, stuck, events)
    rows = [record_row(fact, found.get(fact["cycle"], {}), one, work.channels, work.context) for fact, one in zip(facts, evidence, strict=True)]
    open_cycles = {one["cycle"] for chunk in chunks if chunk.is_open for one in chunk.cycles}
    work.report("done", 1.0)
    return RecordTable(
        table=_as_table([row for row in rows if row["cycle"] not in open_cycles], rows),
        open_ring=_as_table([row for row in rows if row["cycle"] in open_cycles], rows),
        unattributed=_unattributed(found.get(UNATTRIBUTED, {}), work.channels),
        findings=_findings(facts, rows, numbering, health, stuck, events, found, work.channels, work.context),
        missing=tuple(numbering.missing),
        resume=_resume(work, chunks, facts, statistics, closed, stuck, excluded, limits, open_cycles),
    )


def _measured(
    work: _Work, chunks: Sequence[LabelledChunk], excluded: Mapping[int, tuple[str, ...]], limits: Mapping[int, Mapping[str, float]], resume: Resume | None
) -> tuple[tuple[Measures, list[tuple[str, int, str]]], Measures, list[tuple[str, int, str]]]:
    """Return values and events of the closed cycles, and those of all."""
    found: Measures = {label: dict(row) for label, row in resume.found.items()} if resume is not None else {}
    events = list(resume.events) if resume is not None else []
    closed = (found, events)
    for at, chunk in enumerate(chunks):
        work.report("measuring rings", LABELLING_SHARE + (1 - LABELLING_SHARE) * at / len(chunks))
        if chunk.is_open:
            closed = ({label: dict(row) for label, row in found.items()}, list(events))
        values, chunk_events = measured(ChunkMeasures(work.reader, chunk, work.rules, work.context, work.channels, excluded, limits))
        events += chunk_events
        _merge(found, values)
    return closed, found, events


def _resume(
    work: _Work,
    chunks: Sequence[LabelledChunk],
    facts: Sequence[Mapping[str, Any]],
    statistics: Statistics,
    closed: tuple[Measures, list[tuple[str, int, str]]],
    stuck: Mapping[int, list[str]],
    excluded: Mapping[int, tuple[str, ...]],
    limits: Mapping[int, Mapping[str, float]],
    open_cycles: set[int],
) -> Resume | None:
    """Return what the next pass can go on from; none before the first cycle has closed."""
    state = next((chunk.start for chunk in chunks if chunk.is_open), None)
    if state is None:
        return None
    return Resume(
        state=state,
        rules=work.rules,
        context=work.context,
        columns=tuple(work.reader.columns),
        facts=tuple(one for one in facts if one["cycle"] not in open_cycles),
        statistics={cycle: one for cycle, one in statistics.items() if cycle not in open_cycles},
        found=closed[0],
        events=tuple(closed[1]),
        stuck={cycle: names for cycle, names in stuck.items() if cycle not in open_cycles},
        excluded={cycle: sensors for cycle, sensors in excluded.items() if cycle not in open_cycles},
        limits={cycle: one for cycle, one in limits.items() if cycle not in open_cycles},
        day_marks=day_marks(work.reader.store, state.start_ms),
        rows_before=rows_before(work.reader, state.start_ms),
    )


def _merge(found: Measures, values: Measures) -> None:
    """Take in the values of a chunk; only what belongs to no cycle can come from several chunks, and is added up."""
    for label, row in values.items():
        kept = found.setdefault(label, {})
        for name, value in row.items():
            if label == UNATTRIBUTED and isinstance(value, int | float) and isinstance(kept.get(name), int | float):
                kept[name] = kept[name] + value
            elif value is not None or name not in kept:
                kept[name] = value


def _column(facts: Sequence[Mapping[str, Any]], name: str) -> Any:
    return np.array([np.nan if one.get(name) is None else one[name] for one in facts], dtype=np.float64)


def _health(facts: Sequence[Mapping[str, Any]], statistics: Mapping[int, Mapping[str, tuple[float, float]]], context: RecordContext) -> SensorHealth:
    sensors = sorted({mark for one in statistics.values() for mark in one})
    missing = (float("nan"), float("nan"))
    pairs = [[statistics.get(one["cycle"], {}).get(mark, missing) for mark in sensors] for one in facts]
    values = np.array(pairs, dtype=np.float64).reshape(len(facts), len(sensors), 2)
    return sensor_health(sensors, values[..., 0], values[..., 1], _column(facts, "advancing_s"), context)


def _excluded(health: SensorHealth, facts: Sequence[Mapping[str, Any]]) -> dict[int, tuple[str, ...]]:
    return {one["cycle"]: tuple(sensor for at, sensor in enumerate(health.sensors) if health.excluded[row, at]) for row, one in enumerate(facts)}


def _limits(facts: Sequence[Mapping[str, Any]], numbering: Numbering, context: RecordContext) -> dict[int, dict[str, float]]:
    """Return the limits of every cycle's push, by cycle; pushes that the plan does not know, or without a window, have none."""
    if context.limits is None or not facts:
        return {}
    place = context.place_of(numbering.ring_number.astype(np.float64))
    columns = [column for _side, column in LIMITS.values()]
    values = {column: np.asarray(getattr(context.limits, column), dtype=np.float64) for column in columns}
    return {one["cycle"]: {column: float(values[column][at]) for column in columns} for one, at in zip(facts, place, strict=True) if at >= 0}


def _evidence(
    facts: Sequence[Mapping[str, Any]], numbering: Numbering, health: SensorHealth, stuck: Mapping[int, Sequence[str]], events: Sequence[tuple[str, int, str]]
) -> list[CycleEvidence]:
    starts = _column(facts, "start_ms")
    of_cycle: dict[int, set[str]] = {}
    for channel, at_ms, _word in events:
        place = int(np.searchsorted(starts, at_ms, side="right")) - 1
        if place >= 0:
            of_cycle.setdefault(place, set()).add(channel)
    doubtful = health.frozen | health.outlier | health.drifting
    return [
        CycleEvidence(
            ring_number=int(numbering.ring_number[row]),
            corrected=bool(numbering.corrected[row]),
            conflict=bool(numbering.conflict[row]),
            excluded=tuple(sensor for at, sensor in enumerate(health.sensors) if health.excluded[row, at]),
            suspect=tuple(sensor for at, sensor in enumerate(health.sensors) if doubtful[row, at] and not health.excluded[row, at]),
            stuck=tuple(stuck.get(one["cycle"], ())),
            counter_events=frozenset(of_cycle.get(row, ())),
        )
        for row, one in enumerate(facts)
    ]


def _findings(
    facts: Sequence[Mapping[str, Any]],
    rows: Sequence[Mapping[str, Any]],
    numbering: Numbering,
    health: SensorHealth,
    stuck: Mapping[int, Sequence[str]],
    events: Sequence[tuple[str, int, str]],
    found: Measures,
    channels: Mapping[str, ChannelFacts],
    context: RecordContext,
) -> tuple[Finding, ...]:
    sources: list[Iterable[Finding]] = [
        number_findings(numbering, _column(facts, "keyed").tolist(), rows) if channels_of("ring_number_keyed", list(channels)) else (),
        cycle_findings(facts, rows, context),
        sensor_findings(health, rows),
        stuck_findings([stuck.get(one["cycle"], ()) for one in facts], rows),
        counter_findings(events, rows),
        mass_findings(rows, channels, context),
        sample_findings(rows, facts, found, channels),
    ]
    return tuple(sorted((finding for source in sources for finding in source), key=lambda one: (one.start_time_ms, one.kind, one.channel)))


def _as_table(rows: Sequence[Mapping[str, Any]], pattern: Sequence[Mapping[str, Any]]) -> pa.Table:
    """Return rows as a table; the pattern gives the columns when there is no row."""
    if not pattern:
        return pa.table({})
    types = {name: pa.string() if isinstance(value, str) else pa.int64() if isinstance(value, int) else pa.float64() for name, value in pattern[0].items()}
    return pa.table({name: pa.array([row[name] for row in rows], type=own, from_pandas=False) for name, own in types.items()})


def _unattributed(values: Mapping[str, Any], channels: Mapping[str, ChannelFacts]) -> dict[str, float]:
    row = {
        "cycle_time_s": float(values.get("total_s") or 0.0),
        "unknown_time_s": float(values.get("gap_s") or 0.0),
        "stroke_m": float(values.get("stroke_total_m") or 0.0),
    }
    return row | {name: 0.0 if np.isnan(value) else value for name, value in totals(values, channels).items() if "pressure" not in name}


def write_record(record: RecordTable, path: Path | str) -> None:
    """Write the rings of a record as Parquet, so that a reader sees either the old or the new file."""
    target = Path(path)
    target.parent.mkdir(parents=True, exist_ok=True)
    interim = target.with_name(target.name + ".new")
    parquet.write_table(record.table, interim, compression="zstd")
    interim.replace(target)
