"""The second pass: what the channels say of every cycle of a labelled chunk."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import ibis
import numpy as np
import pyarrow as pa
from ibis import Table, _
from ibis.backends.duckdb import Backend

from tunnelwright.logs.belt import departure_ms
from tunnelwright.logs.chamber import LINE, chamber_line, with_gradients
from tunnelwright.logs.channel_families import channels_of, family_of, mark_of, unit_of_channel
from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.chunks import LogReader
from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.counters import by_label, increments, segments_of
from tunnelwright.logs.cycles import UNATTRIBUTED
from tunnelwright.logs.fold import LabelledChunk
from tunnelwright.logs.intervals import (
    count_columns,
    integral_columns,
    is_advancing,
    mean_columns,
    ten_second_extremes,
    times_outside,
    valid_intervals,
    weighted_percentiles,
    with_total_stroke,
)
from tunnelwright.logs.motion import PushRules
from tunnelwright.logs.quality import clean

PER_SECOND: Final = {"t/h": 1 / 3600.0, "l/min": 1 / 60_000.0, "Nl/min": 1 / 60_000.0, "m3/h": 1 / 3600.0}
LIMITS: Final = {
    "operating_lower": ("below", "operating_lower_crown_kpa"),
    "hard_lower": ("below", "hard_lower_crown_kpa"),
    "operating_upper": ("above", "operating_upper_crown_kpa"),
    "hard_upper": ("above", "hard_upper_crown_kpa"),
}
CROWN_PERCENTILES: Final = {"face_pressure_crown_p10_kpa": 0.10, "face_pressure_crown_p50_kpa": 0.50, "face_pressure_crown_p90_kpa": 0.90}
LONGEST_BELT_DELAY_MS: Final = 6 * 3_600_000

Measures = dict[int, dict[str, Any]]
"""Values by name for every label: the numbers of cycles, and ``UNATTRIBUTED``."""


@dataclass
class ChunkMeasures:
    """Everything needed to measure one chunk, and what was measured so far.

    Parameters
    ----------
    excluded : sensors of the chamber left out of the line, by cycle.
    limits : of the pressure at the crown, by cycle.
    """

    reader: LogReader
    chunk: LabelledChunk
    rules: PushRules
    context: RecordContext
    facts: Mapping[str, ChannelFacts]
    excluded: Mapping[int, Sequence[str]]
    limits: Mapping[int, Mapping[str, float]]
    found: Measures = field(default_factory=dict)
    events: list[tuple[str, int, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Load the labels and see which channels are there."""
        self.plain_labels = self.backend.read_parquet(str(self.chunk.path))
        self.end_ms = self.chunk.end_ms
        self.present = self.reader.present(self.chunk.context_ms, self.end_ms)
        self.dirty = self.reader.dirty(self.chunk.context_ms, self.end_ms)

    @property
    def backend(self) -> Backend:
        """Return the engine."""
        return self.reader.backend

    @cached_property
    def labels(self) -> Table:
        """Return the labels with the stroke since the start of the chunk, which only channels with missing readings need."""
        return self.backend.create_table("labels", with_total_stroke(self.plain_labels), temp=True, overwrite=True)

    def samples(self, names: Sequence[str], end_ms: int | None = None) -> Table:
        """Return the cleaned samples of some channels over the chunk and its context."""
        last_ms = self.end_ms if end_ms is None else end_ms
        spikes, spiky = self.reader.spikes(self.chunk.context_ms, last_ms)
        return clean(self.reader.samples(self.chunk.context_ms, last_ms), names, spikes, sorted(spiky))

    def intervals(self, names: Sequence[str], samples: Table | None = None, counted: Sequence[str] = (), whole: bool | None = None) -> Table:
        """Return the intervals between samples that are valid in all the named channels."""
        stepped = [name for name in names if name in self.facts and self.facts[name].interpolation == "step"]
        if whole is None:
            whole = not any(name in self.dirty for name in names)
        labels = self.plain_labels if whole else self.labels
        return valid_intervals(self.samples(names) if samples is None else samples, labels, names, self.rules.gap_limit_s, stepped, counted, whole)

    def kind(self, name: str) -> str:
        """Return the kind of a channel; one that the store knows nothing of is of no kind."""
        return self.facts[name].kind if name in self.facts else ""

    def take(self, table: Table) -> None:
        """Take the columns of a table with one row per label into what was found."""
        for row in table.to_pyarrow().to_pylist():
            label = row.pop("label")
            if label is not None:
                self.found.setdefault(int(label), {}).update(row)


def measured(chunk: ChunkMeasures) -> tuple[Measures, list[tuple[str, int, str]]]:
    """Return what the channels say of every cycle of a chunk, and the events of its counters: channel, instant, word."""
    _times(chunk)
    odd = _ordinary_channels(chunk)
    delayed = [name for name in chunk.reader.columns if chunk.kind(name) in ("rate", "counter") and _is_delayed(chunk, name)]
    _counters(chunk, odd + [name for name in delayed if chunk.kind(name) == "counter"])
    for name in (one for one in delayed if chunk.kind(one) == "rate"):
        _delayed_rate(chunk, name)
    _chamber(chunk)
    _grout_pressures(chunk)
    _marked_samples(chunk)
    return chunk.found, chunk.events


def _times(chunk: ChunkMeasures) -> None:
    labels = chunk.plain_labels
    chunk.take(
        labels.group_by("label").aggregate(
            total_s=_.dt_s.sum(), gap_s=_.dt_s.sum(where=_.gap), push_s=_.dt_s.sum(where=is_advancing(_)), stroke_total_m=_.stroke_m.sum(), row_count=_.count()
        )
    )


def _ordinary_channels(chunk: ChunkMeasures) -> list[str]:
    """Sum up the channels that see events when they happen; return the counters that did more than count on."""
    apart = set(channels_of("chamber_pressure_kpa", chunk.present))
    names = [name for name in chunk.present if chunk.kind(name) in ("level", "rate", "counter") and name not in apart and not _is_delayed(chunk, name)]
    whole = [name for name in names if name not in chunk.dirty]
    odd = [name for name in names if name in chunk.dirty and chunk.kind(name) == "counter"]
    for group in ([whole] if whole else []) + [[name] for name in names if name in chunk.dirty and name not in odd]:
        rows = chunk.intervals(group, counted=[name for name in group if chunk.kind(name) == "counter"])
        columns: dict[str, Any] = {}
        for name in group:
            columns |= _columns_of(chunk, rows, name)
        chunk.take(rows.group_by("label").aggregate(**columns))
    events = {name for row in chunk.found.values() for name in whole if row.get(f"{name}__event")}
    return odd + sorted(events)


def _columns_of(chunk: ChunkMeasures, rows: Table, name: str) -> dict[str, Any]:
    kind = chunk.kind(name)
    if kind == "counter":
        return count_columns(rows, name, chunk.facts[name].largest_rate_per_s, chunk.facts[name].tolerance)
    return mean_columns(rows, name) if kind == "level" else integral_columns(rows, name, PER_SECOND[unit_of_channel(name)])


def _is_delayed(chunk: ChunkMeasures, name: str) -> bool:
    return _distance_m(chunk, name) > 0 or (name in chunk.facts and chunk.facts[name].lag_s > 0)


def _distance_m(chunk: ChunkMeasures, name: str) -> float:
    family = family_of(name)
    is_belt = family is not None and family.name in ("belt_mass_rate_t_h", "belt_mass_total_t")
    return chunk.context.weigher_distance_m.get(mark_of(name), 0.0) if is_belt and "belt_speed_m_s" in chunk.reader.columns else 0.0


def _origin(chunk: ChunkMeasures, name: str) -> tuple[Table | None, int]:
    """Return when that which a channel sees left the machine, and until when samples are needed for this chunk."""
    distance_m = _distance_m(chunk, name)
    lag_ms = round(1000 * chunk.facts[name].lag_s) if name in chunk.facts else 0
    if distance_m > 0:
        end_ms = min(chunk.end_ms + LONGEST_BELT_DELAY_MS, chunk.reader.last_ms)
        speeds = chunk.samples(["belt_speed_m_s"], end_ms).order_by("time_ms").to_pyarrow()
        time_ms = np.asarray(speeds["time_ms"])
        speed = np.asarray(speeds["belt_speed_m_s"].to_numpy(), dtype=np.float64)
        origin = departure_ms(time_ms, speed, distance_m, chunk.rules.gap_limit_s)
        needed = origin <= chunk.end_ms
        table = pa.table({"time_ms": time_ms[needed], "origin_ms": origin[needed]})
        return chunk.backend.create_table("belt_origin", table, temp=True, overwrite=True), end_ms
    if lag_ms > 0:
        end_ms = chunk.end_ms + lag_ms
        return chunk.reader.samples(chunk.chunk.context_ms, end_ms).select("time_ms", origin_ms=_.time_ms - lag_ms), end_ms
    return None, chunk.end_ms


def _delayed_rate(chunk: ChunkMeasures, name: str) -> None:
    origin, end_ms = _origin(chunk, name)
    valid = chunk.samples([name], end_ms).filter(_[name].notnull())
    in_order = ibis.window(order_by="time_ms")
    last_ms, last = _.time_ms.lag(1).over(in_order), _[name].lag(1).over(in_order)
    is_stepped = name in chunk.facts and chunk.facts[name].interpolation == "step"
    rows = valid.mutate(last_ms=last_ms, last=last).filter(_.last_ms.notnull())
    rows = rows.mutate(dt_s=(_.time_ms - _.last_ms) / 1000.0, mean=_["last"] if is_stepped else (_["last"] + _[name]) / 2.0).filter(
        _.dt_s <= chunk.rules.gap_limit_s
    )
    counted = rows.select("time_ms", "last_ms", increment=rows["mean"] * rows.dt_s * PER_SECOND[unit_of_channel(name)])
    found = by_label(counted, segments_of(chunk.plain_labels), chunk.rules.gap_limit_s, origin)
    chunk.take(found.select("label", **{f"{name}__integral": found.total, f"{name}__known": found.covered_s}))


def sensors_with_depth(names: Sequence[str], context: RecordContext) -> dict[str, str]:
    """Return the channels of chamber sensors whose depth is known, with their marks."""
    return {name: mark_of(name) for name in channels_of("chamber_pressure_kpa", list(names)) if mark_of(name) in context.sensor_depth_m}


def _chamber(chunk: ChunkMeasures) -> None:
    sensors = sensors_with_depth(chunk.present, chunk.context)
    if len({chunk.context.sensor_depth_m[mark] for mark in sensors.values()}) < 2:
        return
    pressures = _without_excluded(chunk, chunk.samples(list(sensors)), sensors)
    depth_m = {name: chunk.context.sensor_depth_m[mark] for name, mark in sensors.items()}
    side = {name: chunk.context.sensor_side.get(mark, "centre") for name, mark in sensors.items()}
    with_gradient = chunk.backend.create_table("chamber_gradients", with_gradients(pressures, depth_m, side), temp=True, overwrite=True)
    line = chunk.backend.create_table("chamber_line", chamber_line(with_gradient, depth_m, side, chunk.context.axis_depth_m), temp=True, overwrite=True)
    whole = not any(name in chunk.dirty for name in sensors) and not any(chunk.excluded.values())
    rows = chunk.backend.create_table("chamber_intervals", chunk.intervals(LINE, line, whole=whole), temp=True, overwrite=True)
    columns: dict[str, Any] = {"chamber__known": rows.dt_s.sum(where=rows.known)}
    for name in LINE:
        columns |= mean_columns(rows, name)
    chunk.take(rows.group_by("label").aggregate(**columns))
    pushing = rows.filter(is_advancing(rows) & rows.known)
    chunk.take(weighted_percentiles(pushing, "crown_kpa", CROWN_PERCENTILES))
    extremes = ten_second_extremes(rows, "crown_kpa")
    chunk.take(extremes.select("label", face_pressure_crown_min_kpa=extremes.least, face_pressure_crown_max_kpa=extremes.most))
    _outside(chunk, rows)


def _without_excluded(chunk: ChunkMeasures, pressures: Table, sensors: Mapping[str, str]) -> Table:
    """Return the pressures without the sensors that may not speak in a cycle."""
    doubtful = {cycle: out for cycle, out in chunk.excluded.items() if out}
    if not doubtful:
        return pressures
    flags = {"label": list(doubtful), **{f"out_{name}": [mark in out for out in doubtful.values()] for name, mark in sensors.items()}}
    table = chunk.backend.create_table("excluded_sensors", pa.table(flags), temp=True, overwrite=True)
    with_label = pressures.left_join(chunk.plain_labels.select("time_ms", "label"), "time_ms").drop("time_ms_right").left_join(table, "label")
    columns = {name: with_label[f"out_{name}"].fill_null(False).ifelse(ibis.null("float64"), with_label[name]) for name in sensors}
    return with_label.select("time_ms", **columns)


def _outside(chunk: ChunkMeasures, rows: Table) -> None:
    limits = {cycle: one for cycle, one in chunk.limits.items() if any(cycle == fact["cycle"] for fact in chunk.chunk.cycles)}
    if not limits:
        return
    columns = {column: [one[column] for one in limits.values()] for _side, column in LIMITS.values()}
    table = chunk.backend.create_table("crown_limits", pa.table({"label": list(limits), **columns}), temp=True, overwrite=True)
    for cycle in limits:
        for name, (side, _column) in LIMITS.items():
            for suffix in ("", "_standstill"):
                times = {f"time_{side}_{name}{suffix}_s": 0.0, f"longest_{side}_{name}{suffix}_s": 0.0, f"depth_{side}_{name}{suffix}_kpa_s": 0.0}
                chunk.found.setdefault(cycle, {}).update(times)
    for name, (side, column) in LIMITS.items():
        for row in times_outside(rows, "crown_kpa", table, side, column).to_pyarrow().to_pylist():
            suffix = "" if row["advancing"] else "_standstill"
            chunk.found[row["label"]].update(
                {
                    f"time_{side}_{name}{suffix}_s": row["total_s"],
                    f"longest_{side}_{name}{suffix}_s": row["longest_s"],
                    f"depth_{side}_{name}{suffix}_kpa_s": row["depth_s"],
                }
            )


def _counters(chunk: ChunkMeasures, names: Sequence[str]) -> None:
    """Sum up counters that need a closer look: readings missing, falls and jumps, or a weigher down the belt."""
    segments = chunk.backend.create_table("segments", segments_of(chunk.plain_labels), temp=True, overwrite=True) if names else chunk.plain_labels
    for name in names:
        origin, end_ms = _origin(chunk, name)
        if name not in chunk.reader.present(chunk.chunk.context_ms, end_ms):
            continue
        readings = chunk.samples([name], end_ms).filter(_[name].notnull()).select("time_ms", value=_[name])
        readings = _with_last_reading(chunk, name, readings)
        counted, events = increments(chunk.backend, readings, chunk.facts[name])
        found = by_label(counted, segments, chunk.rules.gap_limit_s, origin)
        # What the quick sum said of this counter does not stand.
        for row in chunk.found.values():
            row.pop(f"{name}__total", None)
        chunk.take(found.select("label", **{f"{name}__total": found.total, f"{name}__known": found.covered_s}))
        first_ms = chunk.chunk.start_ms
        chunk.events += [(name, at, word) for at, word in zip(events.time_ms, events.word, strict=True) if first_ms <= at <= chunk.end_ms]


def _with_last_reading(chunk: ChunkMeasures, name: str, readings: Table) -> Table:
    """Return the readings with the last one before them, when the counter was silent for longer than the context reaches back."""
    if name not in chunk.dirty:
        return readings
    first = readings.time_ms.min().to_pyarrow().as_py()
    if first is None or first <= chunk.chunk.start_ms:
        return readings
    before = last_reading(chunk.reader, name, chunk.chunk.context_ms)
    if before is None:
        return readings
    return readings.union(ibis.memtable(pa.table({"time_ms": [before[0]], "value": [before[1]]})))


def last_reading(reader: LogReader, name: str, before_ms: int) -> tuple[int, float] | None:
    """Return the last valid reading of a channel before an instant, day by day backwards."""
    for day in reversed([one for one in reader.days if one * 86_400_000 < before_ms]):
        start_ms, end_ms = day * 86_400_000, min((day + 1) * 86_400_000, before_ms) - 1
        if name not in reader.present(start_ms, end_ms):
            continue
        table = clean(reader.samples(start_ms, end_ms), [name])
        found = table.filter(table[name].notnull()).order_by(ibis.desc("time_ms")).limit(1).to_pyarrow().to_pylist()
        if found:
            return found[0]["time_ms"], found[0][name]
    return None


def _grout_pressures(chunk: ChunkMeasures) -> None:
    names = channels_of("grout_pressure_kpa", chunk.present)
    whole = [name for name in names if name not in chunk.dirty]
    for group in ([whole] if whole else []) + [[name] for name in names if name in chunk.dirty]:
        rows = chunk.intervals(group)
        pushing = chunk.backend.create_table(
            "grout_push", rows.filter(is_advancing(rows) & rows.known).select("label", "time_ms", "dt_s", *group), temp=True, overwrite=True
        )
        for name in group:
            stem = f"grout_pressure_{mark_of(name)}"
            chunk.take(weighted_percentiles(pushing, name, {f"{stem}_p50_kpa": 0.5, f"{stem}_p90_kpa": 0.9}))


def _marked_samples(chunk: ChunkMeasures) -> None:
    """Count the samples that were marked at import, and the spikes of every channel, by label."""
    samples = chunk.reader.samples(chunk.chunk.start_ms, chunk.end_ms)
    marked = samples.filter(samples.row_flags != 0).select("time_ms").inner_join(chunk.plain_labels.select("time_ms", "label"), "time_ms")
    chunk.take(marked.group_by("label").aggregate(conflict_count=_.count()))
    spikes, _spiky = chunk.reader.spikes(chunk.chunk.start_ms, chunk.end_ms)
    if spikes is None:
        return
    found = spikes.inner_join(chunk.plain_labels.select("time_ms", "label"), "time_ms").group_by("label", "channel").aggregate(count=_.count()).to_pyarrow()
    for row in found.to_pylist():
        if row["label"] != UNATTRIBUTED:
            chunk.found.setdefault(row["label"], {}).setdefault("spikes", {})[row["channel"]] = row["count"]


def sensor_statistics(reader: LogReader, chunk: LabelledChunk, context: RecordContext) -> dict[int, dict[str, tuple[float, float]]]:
    """Return median and range of every chamber sensor while advancing, by cycle and mark."""
    present = reader.present(chunk.context_ms, chunk.end_ms)
    sensors = sensors_with_depth(present, context)
    if not sensors or not chunk.cycles:
        return {}
    spikes, spiky = reader.spikes(chunk.start_ms, chunk.end_ms)
    pressures = clean(reader.samples(chunk.start_ms, chunk.end_ms), list(sensors), spikes, sorted(spiky))
    labels = reader.backend.read_parquet(str(chunk.path))
    rows = pressures.inner_join(labels.filter(is_advancing(labels)).select("time_ms", "label"), "time_ms")
    columns = {f"median_{mark}": rows[name].median() for name, mark in sensors.items()}
    columns |= {f"range_{mark}": rows[name].max() - rows[name].min() for name, mark in sensors.items()}
    found = rows.group_by("label").aggregate(**columns).to_pyarrow().to_pylist()
    nan = float("nan")
    return {
        row["label"]: {
            mark: (nan if row[f"median_{mark}"] is None else row[f"median_{mark}"], nan if row[f"range_{mark}"] is None else row[f"range_{mark}"])
            for mark in sensors.values()
        }
        for row in found
    }
