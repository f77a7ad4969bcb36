"""Counters: what was counted between readings, and which cycle it belongs to.

Nearly all readings are ordinary and the engine takes their differences. The few around a fall or a jump go to the reference rule, which tells
roll-over, reset, spike, glitch and fault apart.
"""

from dataclasses import dataclass
from typing import Final

import ibis
import numpy as np
import pyarrow as pa
from ibis import Table, _
from ibis.backends.duckdb import Backend

from tunnelwright.engineering.record.counter import CounterReadings, counter_difference
from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.cycles import UNATTRIBUTED
from tunnelwright.logs.windows import previous

NEIGHBOURS: Final = 12
DROPPED: Final = ("spike", "glitch")


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterEvents:
    """Readings at which a counter did anything but count on: instant and word."""

    time_ms: list[int]
    word: list[str]


def increments(backend: Backend, readings: Table, facts: ChannelFacts) -> tuple[Table, CounterEvents]:
    """Return per kept reading when the last kept one was and what was counted since, and the events.

    Parameters
    ----------
    readings : ``time_ms`` and ``value`` of the valid readings.
    """
    rate, tolerance = facts.largest_rate_per_s, facts.tolerance
    in_order = readings.mutate(last_ms=previous(readings.time_ms), increment=readings.value - previous(readings.value))
    allowed = rate * (_.time_ms - _.last_ms) / 1000.0 + tolerance if np.isfinite(rate) else ibis.literal(float("inf"))
    marked = in_order.mutate(event=((_.increment < -tolerance) | (_.increment > allowed)).fill_null(False))
    plain = marked.filter(marked.last_ms.notnull()).select("time_ms", "last_ms", "increment")
    if not marked.event.any().to_pyarrow().as_py():
        return plain, CounterEvents(time_ms=[], word=[])
    judged, events = _judged(_near_events(marked), facts)
    replaced = backend.create_table(f"judged_{facts.name}", judged, temp=True, overwrite=True)
    kept = replaced.filter(~replaced.dropped).select("time_ms", "last_ms", "increment")
    return plain.filter(plain.time_ms.notin(replaced.time_ms)).union(kept), events


def _near_events(marked: Table) -> pa.Table:
    numbered = marked.mutate(place=ibis.row_number().over(ibis.window(order_by="time_ms")))
    places = numbered.filter(numbered.event).select(at=numbered.place)
    near = places.select(place=ibis.range(places["at"] - NEIGHBOURS, places["at"] + NEIGHBOURS + 1).unnest()).distinct()
    return numbered.semi_join(near, "place").order_by("time_ms").select("time_ms", "last_ms", "value", "increment", "place").to_pyarrow()


def _judged(near: pa.Table, facts: ChannelFacts) -> tuple[pa.Table, CounterEvents]:
    """Return the readings around events after the reference rule; readings between the stretches are ordinary, so one call does for all."""
    time_ms, place = np.asarray(near["time_ms"]), np.asarray(near["place"])
    readings = CounterReadings(time_s=(time_ms - time_ms[0]) / 1000.0, counter=np.asarray(near["value"]))
    found = counter_difference(readings=readings, largest_rate=facts.largest_rate_per_s, tolerance=facts.tolerance, modulus=facts.modulus)
    words = np.asarray(found.flags)
    dropped = np.isin(words, DROPPED)
    # The last kept reading before each one, within its own stretch or just before it.
    kept_ms = np.maximum.accumulate(np.where(dropped, 0, time_ms))
    last_ms = np.concatenate([[0], kept_ms[:-1]])
    starts = np.concatenate([[True], np.diff(place) > 1])
    last_ms = np.where(starts, np.asarray(near["last_ms"].fill_null(0)), last_ms)
    increment = np.where(starts, np.asarray(near["increment"].fill_null(0.0)), np.asarray(found.increments))
    judged = pa.table({"time_ms": time_ms, "last_ms": last_ms, "increment": increment, "dropped": dropped | (last_ms == 0)})
    odd = (words != "ok") & ~starts
    return judged, CounterEvents(time_ms=time_ms[odd].tolist(), word=words[odd].tolist())


def segments_of(labels: Table) -> Table:
    """Return the stretches of time with one label, as (after, until]."""
    in_order = ibis.window(order_by="time_ms")
    changed = labels.mutate(change=(labels.label != labels.label.lag(1).over(in_order)).fill_null(True).cast("int64"))
    numbered = changed.mutate(stretch=_.change.sum().over(ibis.window(order_by="time_ms", preceding=None, following=0)))
    return numbered.group_by("stretch", "label").aggregate(after_ms=_.previous_ms.min(), until_ms=_.time_ms.max()).select("label", "after_ms", "until_ms")


def by_label(counted: Table, segments: Table, gap_limit_s: float, origin: Table | None = None) -> Table:
    """Return what was counted per label, and the time that the readings cover.

    Parameters
    ----------
    counted : kept readings with their increments.
    segments : stretches of time with one label.
    origin : when that which is counted at ``time_ms`` left the machine, for weighers down the belt; without it the same instant.

    Notes
    -----
    Across a long silence of the counter only what began and ended in the same cycle counts for it; the rest cannot be attributed.
    """
    table = counted
    if origin is not None:
        table = table.inner_join(origin, "time_ms")
        before = origin.select(last_ms=_.time_ms, before_ms=_.origin_ms)
        table = table.left_join(before, "last_ms").drop("last_ms_right").mutate(before_ms=_.before_ms.coalesce(_.origin_ms - (_.time_ms - _.last_ms)))
    else:
        table = table.mutate(origin_ms=table.time_ms, before_ms=table.last_ms)
    # What ran during a silence was counted at times that nobody saw: the belt's travel back from its end means nothing.
    silent = (table.time_ms - table.last_ms) / 1000.0 > gap_limit_s
    table = table.mutate(origin_ms=silent.ifelse(table.time_ms, table.origin_ms), before_ms=silent.ifelse(table.last_ms, table.before_ms))
    ends = table.inner_join(segments, [table.origin_ms > segments.after_ms, table.origin_ms <= segments.until_ms])
    long = (ends.time_ms - ends.last_ms) / 1000.0 > gap_limit_s
    within = ends.before_ms >= ends.after_ms
    labelled = ends.mutate(label=(long & ~within).ifelse(UNATTRIBUTED, ends.label))
    return labelled.group_by("label").aggregate(total=_.increment.sum(), covered_s=((_.time_ms - _.last_ms) / 1000.0).sum())
