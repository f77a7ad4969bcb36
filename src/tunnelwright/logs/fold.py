"""The first pass: chunks of the log into labelled intervals and one row of facts per cycle.

A chunk starts where the open cycle starts and ends with a whole day; closed cycles leave, the open one is read again with the next chunk. The
state that is carried is four numbers, so the size of a chunk cannot matter.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import ibis
import pyarrow as pa
from ibis import Table, _

from tunnelwright.logs.channel_families import channels_of
from tunnelwright.logs.chunks import LogReader
from tunnelwright.logs.cycles import OpenCycle, with_cycles, with_gap_ends, with_state
from tunnelwright.logs.motion import VOTES, PushRules, motion, with_intervals, with_runs, with_speed, with_strokes, with_votes
from tunnelwright.logs.phases import Phase, builds, chainages, keyed_numbers, push_ends, with_phases
from tunnelwright.logs.quality import Quality, clean, stuck_buckets, without_stuck

CONTEXT_MS: Final = 1_800_000
SETTLE_MS: Final = 120_000


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelledChunk:
    """A stretch of the log whose intervals have their cycle and phase.

    Parameters
    ----------
    path : Parquet of the intervals that end after ``start_ms`` (or at it, when a cycle starts there) and not after ``end_ms``.
    context_ms : samples from here on are needed to judge the first intervals.
    cycles : one dictionary of facts per cycle of the chunk.
    is_open : whether this is the end of the log, whose last cycle is still open.
    """

    path: Path
    context_ms: int
    start_ms: int
    end_ms: int
    cycles: list[dict[str, Any]]
    stuck: dict[int, list[str]]
    is_open: bool


def labelled_chunks(
    reader: LogReader, rules: PushRules, folder: Path, rows_per_chunk: int, settle_ms: int, progress: Callable[[float], None]
) -> Iterator[LabelledChunk]:
    """Yield the chunks of the log in order.

    Parameters
    ----------
    settle_ms : a cycle is closed when the next one has been going on for so long, so that late samples cannot change it any more.
    """
    state: OpenCycle | None = None
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


def _labelled(
    reader: LogReader, rules: PushRules, state: OpenCycle | None, end_ms: int, settle_ms: int, path: Path, is_last: bool
) -> tuple[list[LabelledChunk], OpenCycle] | None:
    """Return the chunk up to the last closed cycle (and the open rest at the end of the log) with the state after it; none when nothing closed."""
    context_ms = reader.first_ms if state is None else state.context_ms
    labelled, groups, names, stuck = label(reader, rules, state, context_ms, end_ms)
    first_ms = reader.first_ms if state is None else state.start_ms
    starts = _starts(labelled)
    closed = [one for one in starts if one["first_ms"] <= end_ms - settle_ms]
    if not is_last and (len(closed) < 2 if state is not None else not closed):
        return None
    # Everything before the start of the last cycle that surely goes on is closed.
    border_ms = closed[-1]["first_ms"] if closed else None
    ends = reader.backend.create_table("chunk_ends", push_ends(labelled), temp=True, overwrite=True)
    found = reader.backend.create_table("chunk_builds", builds(labelled, groups, names, ends, rules), temp=True, overwrite=True) if names else None
    phased = reader.backend.create_table("chunk_phases", with_phases(labelled, ends, found), temp=True, overwrite=True)
    facts = _facts(labelled, phased, ends, found)
    parts = [(first_ms, border_ms, False)] if border_ms is not None else []
    if is_last:
        parts.append((first_ms if border_ms is None else border_ms, None, True))
    chunks = []
    for start_ms, before_ms, is_open in parts:
        in_part = (phased.time_ms >= start_ms) & (True if before_ms is None else phased.time_ms < before_ms)
        target = path.with_name(f"{path.name}{'-open' if is_open else ''}.parquet")
        phased.filter(in_part).order_by("time_ms").to_parquet(target)
        inside = [one for one in facts if one["first_ms"] >= start_ms and (before_ms is None or one["first_ms"] < before_ms)]
        part_context = context_ms if start_ms == first_ms else _context_ms(labelled, start_ms)
        chunks.append(
            LabelledChunk(
                path=target,
                context_ms=part_context,
                start_ms=start_ms,
                end_ms=end_ms if before_ms is None else before_ms - 1,
                cycles=inside,
                stuck={one["cycle"]: stuck.get(one["cycle"], []) for one in inside},
                is_open=is_open,
            )
        )
    if border_ms is None:
        return chunks, OpenCycle(start_ms=first_ms, context_ms=context_ms, cycle=0, is_high=None)
    at_border = labelled.filter(labelled.time_ms == border_ms).select("cycle", "is_high").to_pyarrow().to_pylist()[0]
    return chunks, OpenCycle(start_ms=border_ms, context_ms=_context_ms(labelled, border_ms), cycle=at_border["cycle"], is_high=at_border["is_high"])


def _context_ms(labelled: Table, start_ms: int) -> int:
    """Return from when on samples are needed: half an hour before, or the sample before when that is longer ago."""
    before = labelled.filter(labelled.time_ms < start_ms).time_ms.max().to_pyarrow().as_py()
    return min(start_ms - CONTEXT_MS, before if before is not None else start_ms)


def label(reader: LogReader, rules: PushRules, state: OpenCycle | None, context_ms: int, end_ms: int) -> tuple[Table, Table, list[str], dict[int, list[str]]]:
    """Return the intervals of a span with their cycles, the ram groups they were judged by, and the groups that were stuck by cycle."""
    present = reader.present(context_ms, end_ms)
    names = channels_of("ram_extension_m", present)
    others = [name for name in (*VOTES, "ring_number_keyed", "chainage_m") if name in present]
    spikes, spiky = reader.spikes(context_ms, end_ms)
    dirty = reader.dirty(context_ms, end_ms)
    cleaned = reader.backend.create_table(
        "chunk_motion", clean(reader.samples(context_ms, end_ms), [*names, *others], spikes, sorted(spiky)), temp=True, overwrite=True
    )
    resolution = {name: facts.resolution for name, facts in reader.store.channels().items()}
    buckets = None
    if len(names) >= 3:
        buckets = _stuck(reader, cleaned, names, {name: resolution.get(name, 0.001) or 0.001 for name in names})
        if buckets is not None:
            cleaned = reader.backend.create_table("chunk_unstuck", without_stuck(cleaned, names, buckets), temp=True, overwrite=True)
            dirty = dirty | set(names)
    moving = with_votes(with_intervals(with_speed(motion(cleaned, names, sorted(dirty))), rules), rules)
    moving = reader.backend.create_table("chunk_moving", moving, temp=True, overwrite=True)
    strokes = reader.backend.create_table("chunk_strokes", with_strokes(with_runs(moving, rules)), temp=True, overwrite=True)
    labelled = with_cycles(with_gap_ends(with_state(strokes, rules, state), rules), state)
    labelled = reader.backend.create_table("chunk_labelled", labelled, temp=True, overwrite=True)
    groups = cleaned.select("time_ms", *names) if names else cleaned
    return labelled, groups, names, _stuck_by_cycle(labelled, buckets, names) if buckets is not None else {}


def _stuck(reader: LogReader, cleaned: Table, names: list[str], resolution: dict[str, float]) -> Table | None:
    buckets = stuck_buckets(cleaned, names, resolution)
    any_stuck = ibis.literal(False)
    for name in names:
        any_stuck = any_stuck | buckets[name].fill_null(False)
    found = reader.backend.create_table("chunk_stuck", buckets.filter(any_stuck), temp=True, overwrite=True)
    return found if found.count().to_pyarrow().as_py() else None


def _stuck_by_cycle(labelled: Table, buckets: Table, names: list[str]) -> dict[int, list[str]]:
    rows = labelled.mutate(bucket_ms=_.time_ms - _.time_ms % 30_000).inner_join(buckets, "bucket_ms")
    found = rows.filter(rows.cycle >= 0).group_by("cycle").aggregate(**{name: rows[name].fill_null(False).cast("int64").max() for name in names}).to_pyarrow()
    return {row["cycle"]: [name for name in names if row[name]] for row in found.to_pylist()}


def _starts(labelled: Table) -> list[dict[str, Any]]:
    found = labelled.filter((labelled.cycle >= 0) & labelled.advancing).group_by("cycle").aggregate(first_ms=_.time_ms.min())
    return sorted(found.to_pyarrow().to_pylist(), key=lambda one: one["cycle"])


def _facts(labelled: Table, phased: Table, ends: Table, found_builds: Table | None) -> list[dict[str, Any]]:
    """Return what the first pass knows of every cycle."""
    first = labelled.filter((labelled.cycle >= 0) & labelled.advancing).group_by("cycle").aggregate(first_ms=_.time_ms.min())
    in_cycle = phased.filter(phased.label >= 0)
    times = in_cycle.group_by(cycle=_.label).aggregate(
        cycle_time_s=_.dt_s.sum(),
        stroke_m=_.stroke_m.sum(),
        seen_stroke_m=_.stroke_m.sum(where=_.advancing),
        gap_count=_.gap.cast("int64").sum(),
        sample_count=_.count(),
        **{f"{phase.name.lower()}_s": _.dt_s.sum(where=_.phase == int(phase)) for phase in Phase if phase is not Phase.IDLE},
    )
    table = first.inner_join(ends, "cycle").inner_join(times, "cycle")
    if "ring_number_keyed" in labelled.columns:
        table = table.left_join(keyed_numbers(labelled, ends), "cycle").drop("cycle_right")
    if "chainage_m" in labelled.columns:
        table = table.left_join(chainages(labelled, ends), "cycle").drop("cycle_right")
    rows = table.to_pyarrow().to_pylist()
    return sorted(
        ({name: 0.0 if value is None and name.endswith("_s") else value for name, value in row.items()} for row in rows), key=lambda row: row["cycle"]
    )


def facts_table(chunks: list[LabelledChunk]) -> pa.Table:
    """Return the facts of all cycles as one table."""
    return pa.Table.from_pylist([one for chunk in chunks for one in chunk.cycles])


__all__ = ["SETTLE_MS", "LabelledChunk", "Quality", "facts_table", "label", "labelled_chunks"]
