"""Findings about rings: what is doubtful in a record, said where it stands."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from tunnelwright.logs.assembly import disagreements, median_while_advancing, total_name, unit_factor
from tunnelwright.logs.chamber import SensorHealth
from tunnelwright.logs.channel_families import channels_of
from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.numbering import Numbering
from tunnelwright.logs.suspects import hint_sentence
from tunnelwright.vocabulary.remark import Finding

Facts = Sequence[Mapping[str, Any]]


def _of_ring(kind: str, row: Mapping[str, Any], sentence: str, channel: str = "", count: int = 1) -> Finding:
    return Finding(
        kind=kind,
        channel=channel,
        where=f"ring {row['ring_number']}",
        sentence=sentence,
        count=count,
        ring_number=int(row["ring_number"]),
        start_time_ms=int(row["start_time_ms"]),
        end_time_ms=int(row["end_time_ms"]),
    )


def number_findings(numbering: Numbering, keyed: Sequence[float], rows: Sequence[Mapping[str, Any]]) -> Iterator[Finding]:
    """Yield what had to be decided about ring numbers."""
    for at, row in enumerate(rows):
        given = "nothing" if np.isnan(keyed[at]) else f"{keyed[at]:.0f}"
        if numbering.corrected[at]:
            yield _of_ring("ring_number_corrected", row, f"keyed {given}; the chain of cycles says {row['ring_number']}", "ring_number_keyed")
        if numbering.conflict[at]:
            sentence = f"keyed {given}, the chain of cycles says {row['ring_number']}, and the difference stays; the chain is kept until a person decides"
            yield _of_ring("ring_number_conflict", row, sentence, "ring_number_keyed")
    if numbering.missing:
        shown = ", ".join(str(number) for number in numbering.missing[:20]) + (", ..." if len(numbering.missing) > 20 else "")
        yield Finding(kind="rings_missing", sentence=f"the log did not see rings {shown}; the chainage says they were built", count=len(numbering.missing))


def cycle_findings(facts: Facts, rows: Sequence[Mapping[str, Any]], context: RecordContext) -> Iterator[Finding]:
    """Yield gaps and strokes that do not fit."""
    limit_m = context.thresholds.stroke_share * context.ring_length_m
    for fact, row in zip(facts, rows, strict=True):
        if fact["gap_count"]:
            yield _of_ring("gap", row, f"{fact['gap_count']} gaps, {fact['unknown_s']:.0f} s without readings", count=int(fact["gap_count"]))
        if fact["clock_jump_s"]:
            sentence = f"{fact['clock_jump_s']:.0f} s are missing within the push, but the rams did not move in them: was the logger's clock put forward?"
            yield _of_ring("clock_step", row, sentence)
        if abs(fact["stroke_m"] - context.ring_length_m) > limit_m:
            sentence = (
                f"the stroke adds up to {fact['stroke_m']:.3f} m, the ring is {context.ring_length_m:.3f} m long: a split push, a gap, a ram sensor or a re-set"
            )
            yield _of_ring("stroke_mismatch", row, sentence)


def sensor_findings(health: SensorHealth, rows: Sequence[Mapping[str, Any]]) -> Iterator[Finding]:
    """Yield chamber sensors that drift, stand off or are dead; one finding for each stretch of rings."""
    kinds = (
        ("offset_suspect", health.drifting, "drifts from the line through the others and is left out"),
        ("stuck", health.frozen, "did not move while the shield advanced and is left out"),
        ("offset_suspect", health.outlier & ~health.drifting, "stands off the line through the others in this ring and is left out"),
    )
    for kind, flags, words in kinds:
        for at, sensor in enumerate(health.sensors):
            for first, last in _stretches(flags[:, at]):
                residual = health.residual_kpa[first : last + 1, at]
                size = f", by up to {np.nanmax(np.abs(residual)):.0f} kPa" if kind == "offset_suspect" and np.isfinite(residual).any() else ""
                span = f"ring {rows[first]['ring_number']}" + (f" to {rows[last]['ring_number']}" if last > first else "")
                yield Finding(
                    kind=kind,
                    channel=f"chamber_pressure_{sensor}_kpa",
                    where=span,
                    sentence=f"chamber sensor {sensor} {words}{size}",
                    count=last - first + 1,
                    ring_number=int(rows[first]["ring_number"]),
                    start_time_ms=int(rows[first]["start_time_ms"]),
                    end_time_ms=int(rows[last]["end_time_ms"]),
                )


def _stretches(flags: Any) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(first), int(beyond) - 1) for first, beyond in zip(edges[::2], edges[1::2], strict=True)]


def stuck_findings(stuck: Sequence[Sequence[str]], rows: Sequence[Mapping[str, Any]]) -> Iterator[Finding]:
    """Yield ram groups that stood still while the others pushed."""
    for names, row in zip(stuck, rows, strict=True):
        for name in names:
            yield _of_ring("stuck", row, f"{name} stands still while the other groups push; it is left out of the extension", name)


def counter_findings(events: Sequence[tuple[str, int, str]], rows: Sequence[Mapping[str, Any]]) -> Iterator[Finding]:
    """Yield what happened to counters, by ring, channel and word."""
    starts = np.array([row["start_time_ms"] for row in rows])
    grouped: dict[tuple[int, str, str], list[int]] = {}
    for channel, at_ms, word in events:
        place = int(np.searchsorted(starts, at_ms, side="right")) - 1
        grouped.setdefault((place, channel, word), []).append(at_ms)
    words = {
        "roll over": "rolled over and was counted on",
        "reset": "was set to zero; what ran between its last reading and the reset is lost",
        "spike": "jumped and came back; the readings are dropped",
        "glitch": "fell and came back; the readings are dropped",
        "fault": "jumped by more than it can count; the jump is not booked",
    }
    for (place, channel, word), times in sorted(grouped.items()):
        ring = int(rows[place]["ring_number"]) if place >= 0 else 0
        yield Finding(
            kind="counter_event",
            channel=channel,
            where=f"ring {ring}" if ring else "before the first push",
            sentence=f"{channel} {words.get(word, word)}",
            count=len(times),
            ring_number=ring,
            start_time_ms=min(times),
            end_time_ms=max(times),
        )


def mass_findings(rows: Sequence[Mapping[str, Any]], channels: Mapping[str, ChannelFacts], context: RecordContext) -> Iterator[Finding]:
    """Yield counters against integrals, and weighers against each other over the last rings."""
    names = sorted(channels)
    for row in rows:
        for weigher, ratio, is_apart in disagreements(row, names, context):
            if is_apart:
                yield _of_ring(
                    "methods_disagree",
                    row,
                    f"weigher {weigher}: the integral of its rate lies {100 * ratio:.1f} % off its counter; the counter is taken",
                    f"belt_mass_total_{weigher}_t",
                )
    columns = [total_name(name) for name in channels_of("belt_mass_total_t", names)]
    for at, one in enumerate(columns):
        for other in columns[at + 1 :]:
            yield from _weighers_apart(rows, one, other, context)


def _weighers_apart(rows: Sequence[Mapping[str, Any]], one: str, other: str, context: RecordContext) -> Iterator[Finding]:
    limits = context.thresholds
    first = np.array([row.get(one, np.nan) for row in rows], dtype=np.float64)
    second = np.array([row.get(other, np.nan) for row in rows], dtype=np.float64)
    ratio = np.full(len(rows), np.nan)
    for at in range(limits.weigher_rings - 1, len(rows)):
        last = slice(at - limits.weigher_rings + 1, at + 1)
        both = np.isfinite(first[last]) & np.isfinite(second[last])
        mean = (first[last][both].sum() + second[last][both].sum()) / 2
        ratio[at] = (first[last][both].sum() - second[last][both].sum()) / mean if mean else np.nan
    for start, end in _stretches(np.abs(np.nan_to_num(ratio)) > limits.weigher_ratio):
        sentence = (
            f"{one} and {other} differ by {100 * ratio[start : end + 1][np.argmax(np.abs(ratio[start : end + 1]))]:+.1f} % over {limits.weigher_rings} rings; "
            "neither is trusted until it is checked against a test weight"
        )
        yield Finding(
            kind="weighers_differ",
            channel=one,
            where=f"ring {rows[start]['ring_number']} to {rows[end]['ring_number']}",
            sentence=sentence,
            count=end - start + 1,
            ring_number=int(rows[start]["ring_number"]),
            start_time_ms=int(rows[start]["start_time_ms"]),
            end_time_ms=int(rows[end]["end_time_ms"]),
        )


def sample_findings(
    rows: Sequence[Mapping[str, Any]], facts: Facts, found: Mapping[int, Mapping[str, Any]], channels: Mapping[str, ChannelFacts]
) -> Iterator[Finding]:
    """Yield spikes, conflicts and units that cannot be right, by ring."""
    for row, fact in zip(rows, facts, strict=True):
        values = found.get(fact["cycle"], {})
        for channel, count in sorted((values.get("spikes") or {}).items()):
            yield _of_ring("spike", row, f"{count} readings of {channel} left their neighbours and came back; they are not counted", channel, count)
        if values.get("conflict_count"):
            sentence = f"{values['conflict_count']} instants are marked: delivered twice with different readings, or with a clock in doubt"
            yield _of_ring("duplicate_conflict", row, sentence, count=int(values["conflict_count"]))
        for name in sorted(channels):
            factor = unit_factor(name, fact, values, channels)
            plausible = channels[name].plausible
            if factor is not None and plausible is not None:
                yield _of_ring("unit_suspect", row, hint_sentence(name, median_while_advancing(name, fact, values), plausible, factor), name)
