"""The first pass: chunks of the log into labelled intervals and one row of facts per cycle.

A chunk starts where the open cycle starts and ends with a whole day; closed cycles leave, the open one is read again with the next chunk. The
state that is carried is four numbers, so the size of a chunk cannot matter.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import ibis
import numpy as np
import pyarrow as pa
from ibis import Table, _

from tunnelwright.logs.channel_families import channels_of
from tunnelwright.logs.chunks import LogReader
from tunnelwright.logs.cycles import CycleSpan, LevelHistory, OpenCycle, Runs, gap_ends, judged_runs, labelled_intervals, passages, run_table
from tunnelwright.logs.motion import VOTES, PushRules, moving_intervals, with_runs, with_strokes
from tunnelwright.logs.phases import Phase, builds, chainages, keyed_numbers, with_phases
from tunnelwright.logs.quality import clean, stuck_buckets, without_stuck

CONTEXT_MS: Final = 1_800_000
SETTLE_MS: Final = 120_000
DEFAULT_RESOLUTION_M: Final = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelledChunk:
    """A stretch of the log whose intervals have their cycle and phase.

    Parameters
    ----------
    path : Parquet of the intervals that end after ``start_ms`` (or at it, when a cycle starts there) and not after ``end_ms``.
    context_ms : samples from here on are needed to judge the first intervals.
    cycles : one dictionary of facts per cycle of the chunk.
    is_open : whether this is the end of the log, whose last cycle is still open.
    start : what the fold carried to the start of the chunk; none where the log begins.
    """

    path: Path
    context_ms: int
    start_ms: int
    end_ms: int
    cycles: list[dict[str, Any]]
    stuck: dict[int, list[str]]
    is_open: bool
    start: OpenCycle | None


def labelled_chunks(
    reader: LogReader,
    rules: PushRules,
    folder: Path,
    rows_per_chunk: int,
    settle_ms: int,
    progress: Callable[[float], None],
    state: OpenCycle | None = None,
) -> Iterator[LabelledChunk]:
    """Yield the chunks of the log in order.

    Parameters
    ----------
    settle_ms : a cycle is closed when the next one has been going on for so long, so that late samples cannot change it any more.
    state : where an earlier pass left off; without it from the beginning.
    """
    rows, number = rows_per_chunk, 0
    while True:
        start_ms = reader.first_ms if state is None else state.start_ms
        end_ms = reader.chunk_end(start_ms, rows)
        is_last = end_ms >= reader.last_ms
        chunk = _labelled(reader, rules, state, end_ms, settle_ms, folder / f"labels-{number}", is_last)
        if chunk is None:
            rows *= 2
            continue
        yield from chunk[0]
        progress((end_ms - reader.first_ms) / max(1, reader.last_ms - reader.first_ms))
        if is_last:
            return
        state, rows, number = chunk[1], rows_per_chunk, number + 1


@dataclass(slots=True, kw_only=True)
class Judged:
    """A span of the log after its runs were judged, not yet cut into chunks."""

    intervals: Table
    cleaned: Table
    groups: list[str]
    runs: Runs
    history: LevelHistory
    stuck: Table | None


def _labelled(
    reader: LogReader, rules: PushRules, state: OpenCycle | None, end_ms: int, settle_ms: int, path: Path, is_last: bool
) -> tuple[list[LabelledChunk], OpenCycle | None] | None:
    """Return the chunk up to the last closed cycle (and the open rest at the end of the log) with the state after it; none when nothing closed."""
    context_ms = reader.first_ms if state is None else state.context_ms
    first_ms = reader.first_ms if state is None else state.start_ms
    judged = judge(reader, rules, state, context_ms, end_ms)
    spans = judged.runs.spans()
    closed = [span for span in spans if span.first_ms <= end_ms - settle_ms and span.first_ms > (first_ms if state is not None else -1)]
    if not is_last and not closed:
        return None
    # Everything before the start of the last cycle that surely goes on is closed.
    border_ms = closed[-1].first_ms if closed else None
    phased = _phased(reader, judged, spans, rules)
    facts = _facts(reader, judged, phased, spans, rules)
    parts: list[tuple[int, int | None, bool]] = [(first_ms, border_ms, False)] if border_ms is not None else []
    if is_last:
        parts.append((first_ms if border_ms is None else border_ms, None, True))
    stuck = _stuck_by_cycle(judged)
    after = None
    if border_ms is not None:
        after = OpenCycle(start_ms=border_ms, context_ms=_context_ms(judged.runs, border_ms), cycle=closed[-1].cycle, is_high=judged.history.at(border_ms))
    chunks = []
    for start_ms, before_ms, is_open in parts:
        target = path.with_name(f"{path.name}{'-open' if is_open else ''}.parquet")
        phased.filter((phased.time_ms >= start_ms) & (True if before_ms is None else phased.time_ms < before_ms)).to_parquet(target)
        inside = [one for one in facts if one["first_ms"] >= start_ms and (before_ms is None or one["first_ms"] < before_ms)]
        start = state if start_ms == first_ms else after
        chunks.append(
            LabelledChunk(
                path=target,
                context_ms=context_ms if start is state or start is None else start.context_ms,
                start_ms=start_ms,
                end_ms=end_ms if before_ms is None else before_ms - 1,
                cycles=inside,
                stuck={one["cycle"]: stuck.get(one["cycle"], []) for one in inside},
                is_open=is_open,
                start=start,
            )
        )
    return chunks, after


def _context_ms(runs: Runs, start_ms: int) -> int:
    """Return from when on samples are needed: half an hour before, or the sample before when that is longer ago."""
    before = runs.before_ms[runs.first_ms == start_ms]
    return min(start_ms - CONTEXT_MS, int(before[0]) if len(before) and before[0] >= 0 else start_ms)


def judge(reader: LogReader, rules: PushRules, state: OpenCycle | None, context_ms: int, end_ms: int) -> Judged:
    """Return the intervals of a span with their runs, and what the runs mean."""
    backend = reader.backend
    present = reader.present(context_ms, end_ms)
    groups = channels_of("ram_extension_m", present)
    others = [name for name in (*VOTES, "ring_number_keyed", "chainage_m") if name in present]
    spikes, spiky = reader.spikes(context_ms, end_ms)
    dirty = reader.dirty(context_ms, end_ms)
    cleaned = backend.create_table(
        "chunk_cleaned", clean(reader.samples(context_ms, end_ms), [*groups, *others], spikes, sorted(spiky)), temp=True, overwrite=True
    )
    stuck = _stuck(reader, cleaned, groups) if len(groups) >= 3 else None
    if stuck is not None:
        cleaned = backend.create_table("chunk_unstuck", without_stuck(cleaned, groups, stuck), temp=True, overwrite=True)
        dirty = dirty | set(groups)
    moving = backend.create_table("chunk_moving", moving_intervals(cleaned, groups, rules, sorted(dirty)), temp=True, overwrite=True)
    history = LevelHistory.of(passages(moving).to_pyarrow(), state)
    numbered = backend.create_table("chunk_numbered", with_runs(moving, history.fall_ms.tolist()), temp=True, overwrite=True)
    runs = judged_runs(run_table(numbered).to_pyarrow(), history, gap_ends(numbered, cleaned), rules, state)
    return Judged(intervals=numbered, cleaned=cleaned, groups=groups, runs=runs, history=history, stuck=stuck)


def _phased(reader: LogReader, judged: Judged, spans: list[CycleSpan], rules: PushRules) -> Table:
    """Return the intervals with strokes and phases."""
    backend = reader.backend
    ends = backend.create_table("chunk_ends", _ends_table(spans), temp=True, overwrite=True)
    runs = backend.create_table("chunk_runs", judged.runs.as_table(), temp=True, overwrite=True)
    labelled = labelled_intervals(judged.intervals, runs)
    groups = judged.groups
    found = None
    if groups and spans:
        found = backend.create_table(
            "chunk_builds", builds(labelled, judged.cleaned.select("time_ms", *groups), groups, ends, rules), temp=True, overwrite=True
        )
    stroked = with_strokes(labelled).mutate(stroke_m=_.stroke_m + _.bridged_m)
    return backend.create_table("chunk_phases", with_phases(stroked, ends, found), temp=True, overwrite=True)


def _ends_table(spans: list[CycleSpan]) -> pa.Table:
    names = ("cycle", "first_ms", "start_ms", "push_end_ms", "end_ms")
    return pa.table({name: pa.array([getattr(span, name) for span in spans], type=pa.int64()) for name in names})


def _stuck(reader: LogReader, cleaned: Table, groups: list[str]) -> Table | None:
    facts = reader.store.channels()
    resolution = {name: facts[name].resolution if name in facts and facts[name].resolution else DEFAULT_RESOLUTION_M for name in groups}
    buckets = stuck_buckets(cleaned, groups, resolution)
    any_stuck = ibis.literal(False)
    for name in groups:
        any_stuck = any_stuck | buckets[name].fill_null(False)
    found = reader.backend.create_table("chunk_stuck", buckets.filter(any_stuck), temp=True, overwrite=True)
    return found if found.count().to_pyarrow().as_py() else None


def _stuck_by_cycle(judged: Judged) -> dict[int, list[str]]:
    """Return the ram groups that were stuck, by the cycle of the half minutes in which they were."""
    if judged.stuck is None:
        return {}
    by_cycle: dict[int, set[str]] = {}
    for row in judged.stuck.to_pyarrow().to_pylist():
        place = int(np.searchsorted(judged.runs.last_ms, row["bucket_ms"]))
        if place < len(judged.runs.cycle):
            by_cycle.setdefault(int(judged.runs.cycle[place]), set()).update(name for name in judged.groups if row[name])
    return {cycle: sorted(names) for cycle, names in by_cycle.items()}


def _facts(reader: LogReader, judged: Judged, phased: Table, spans: list[CycleSpan], rules: PushRules) -> list[dict[str, Any]]:
    """Return what the first pass knows of every cycle."""
    if not spans:
        return []
    ends = reader.backend.table("chunk_ends")
    in_cycle = phased.filter(phased.label >= 0)
    times = in_cycle.group_by(cycle=_.label).aggregate(
        cycle_time_s=_.dt_s.sum(),
        stroke_m=_.stroke_m.sum(),
        seen_stroke_m=_.stroke_m.sum(where=_.advancing),
        gap_count=_.gap.cast("int64").sum(),
        sample_count=_.count(),
        **{f"{phase.name.lower()}_s": _.dt_s.sum(where=_.phase == int(phase)) for phase in Phase if phase is not Phase.IDLE},
    )
    table = ends.inner_join(times, "cycle")
    if "ring_number_keyed" in judged.cleaned.columns:
        table = table.left_join(keyed_numbers(phased, judged.cleaned.select("time_ms", "ring_number_keyed"), ends), "cycle").drop("cycle_right")
    if "chainage_m" in judged.cleaned.columns:
        table = table.left_join(chainages(judged.cleaned.select("time_ms", "chainage_m"), judged.intervals, ends, rules), "cycle").drop("cycle_right")
    rows = table.to_pyarrow().to_pylist()
    for row in rows:
        row["clock_jump_s"] = float(judged.runs.clock_jump_s[judged.runs.cycle == row["cycle"]].sum())
    return sorted(
        ({name: 0.0 if value is None and name.endswith("_s") else value for name, value in row.items()} for row in rows), key=lambda row: row["cycle"]
    )
