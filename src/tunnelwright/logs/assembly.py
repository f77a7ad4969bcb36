"""One row of the record from what both passes know of a cycle."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.logs.channel_families import channels_of, family_of, mark_of, unit_of_channel
from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.grades import coverage_of, grade_of, joined, words_of
from tunnelwright.logs.motion import MM_MS_PER_M_MIN
from tunnelwright.logs.phases import Phase
from tunnelwright.logs.quality import Quality
from tunnelwright.logs.suspects import factor_hint
from tunnelwright.vocabulary.units import suffix_of

NAN: Final = math.nan
INTEGRAL_UNIT: Final = {"t/h": "t", "l/min": "m3", "Nl/min": "m3", "m3/h": "m3"}
PHASE_COLUMNS: Final = {
    "push_net_s": Phase.ADVANCING,
    "short_stop_s": Phase.SHORT_STOP,
    "wait_before_build_s": Phase.WAIT_BEFORE_BUILD,
    "build_s": Phase.BUILD,
    "wait_after_build_s": Phase.WAIT_AFTER_BUILD,
    "unknown_time_s": Phase.UNKNOWN,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleEvidence:
    """What was judged of a cycle outside its own sums.

    Parameters
    ----------
    ring_number : after numbering.
    conflict : the ring number is in doubt.
    excluded, suspect : chamber sensors left out of the line, and sensors that should have been but could not.
    stuck : channels that stood still in the push.
    counter_events : channels with an event of their counter.
    """

    ring_number: int
    corrected: bool = False
    conflict: bool = False
    excluded: tuple[str, ...] = ()
    suspect: tuple[str, ...] = ()
    stuck: tuple[str, ...] = ()
    counter_events: frozenset[str] = frozenset()


def record_row(
    facts: Mapping[str, Any], found: Mapping[str, Any], evidence: CycleEvidence, channels: Mapping[str, ChannelFacts], context: RecordContext
) -> dict[str, Any]:
    """Return the columns of one ring.

    Parameters
    ----------
    facts : of the first pass.
    found : of the second pass.
    channels : of the whole store, so that every row has the same columns.
    """
    names = sorted(channels)
    row: dict[str, Any] = {
        "ring_number": evidence.ring_number,
        "cycle": facts["cycle"],
        "start_time_ms": facts["start_ms"],
        "push_end_time_ms": facts["push_end_ms"],
        "end_time_ms": facts["end_ms"],
    }
    row |= {column: facts[f"{phase.name.lower()}_s"] for column, phase in PHASE_COLUMNS.items()}
    row |= {"cycle_time_s": facts["cycle_time_s"], "stroke_m": facts["stroke_m"], "advance_rate_mm_min": _rate(facts)}
    row |= _face_span(evidence.ring_number, context)
    row |= _face(found)
    row |= {name: _mean(found, name, "stroke") for name in names if _is_plain_level(name, channels)}
    row |= totals(found, channels)
    row |= _mass(found, names)
    row |= _grades(facts, found, row, evidence, channels, context)
    return row


def _rate(facts: Mapping[str, Any]) -> float:
    """Return stroke over net push time, of the stroke that was seen: what a gap hides has no time."""
    return MM_MS_PER_M_MIN / 1000.0 * facts["seen_stroke_m"] / facts["advancing_s"] if facts["advancing_s"] > 0 else NAN


def _face_span(ring_number: int, context: RecordContext) -> dict[str, float]:
    place = int(context.place_of(np.array([ring_number], dtype=np.float64))[0])
    if place < 0:
        return {"face_start_chainage_m": NAN, "face_end_chainage_m": NAN}
    before = context.start_chainage_m if place == 0 else float(context.chainage_m[place - 1])
    return {"face_start_chainage_m": before + context.face_offset_m, "face_end_chainage_m": float(context.chainage_m[place]) + context.face_offset_m}


def _mean(found: Mapping[str, Any], name: str, weight: str) -> float:
    total = found.get(f"{name}__{weight}") or 0.0
    return found[f"{name}__{weight}_sum"] / total if total > 0 else NAN


def _face(found: Mapping[str, Any]) -> dict[str, float]:
    row = {"face_pressure_crown_kpa": _mean(found, "crown_kpa", "time")}
    for part in ("p10", "p50", "p90"):
        row[f"face_pressure_crown_{part}_kpa"] = _number(found, f"face_pressure_crown_{part}_kpa")
    row["face_pressure_crown_standstill_kpa"] = _mean(found, "crown_kpa", "still")
    row |= {name: _number(found, name) for name in ("face_pressure_crown_min_kpa", "face_pressure_crown_max_kpa")}
    for limit in ("below_operating_lower", "below_hard_lower", "above_operating_upper", "above_hard_upper"):
        for suffix in ("", "_standstill"):
            row |= {
                f"{sort}_{limit}{suffix}_{unit}": _number(found, f"{sort}_{limit}{suffix}_{unit}")
                for sort, unit in (("time", "s"), ("longest", "s"), ("depth", "kpa_s"))
            }
    row["face_pressure_axis_kpa"] = _mean(found, "axis_kpa", "time")
    row["face_pressure_axis_standstill_kpa"] = _mean(found, "axis_kpa", "still")
    row["support_unit_weight_kn_m3"] = _mean(found, "gradient_kn_m3", "time")
    return row


def _number(found: Mapping[str, Any], name: str) -> float:
    value = found.get(name)
    return NAN if value is None else float(value)


def _is_plain_level(name: str, channels: Mapping[str, ChannelFacts]) -> bool:
    family = family_of(name)
    return channels[name].kind == "level" and family is not None and family.name not in ("chamber_pressure_kpa", "grout_pressure_kpa", "advance_rate_mm_min")


def integral_name(name: str) -> str:
    """Return the column of a rate's integral: ``muck_mass_integral_<w>_t`` for belts, else the stem with ``volume``."""
    own = unit_of_channel(name)
    unit = INTEGRAL_UNIT[own]
    if name.startswith("belt_mass_rate"):
        return f"muck_mass_integral_{mark_of(name)}_{unit}"
    stem = name.removesuffix("_" + suffix_of(own))
    return f"{stem}_volume_{unit}"


def total_name(name: str) -> str:
    """Return the column of what a counter counted: ``muck_mass_<w>_t`` for belts, else the channel's own name."""
    return f"muck_mass_{mark_of(name)}_t" if name.startswith("belt_mass_total") else name


def totals(found: Mapping[str, Any], channels: Mapping[str, ChannelFacts]) -> dict[str, float]:
    """Return what rates and counters add up to, missing where nothing was read."""
    row: dict[str, float] = {}
    for name, facts in sorted(channels.items()):
        if facts.kind == "rate":
            row[integral_name(name)] = _number(found, f"{name}__integral") if found.get(f"{name}__known") else NAN
        elif facts.kind == "counter":
            row[total_name(name)] = _number(found, f"{name}__total")
    for name in channels_of("grout_pressure_kpa", sorted(channels)):
        stem = f"grout_pressure_{mark_of(name)}"
        volume = row.get(f"grout_volume_{mark_of(name)}_m3", NAN)
        row |= {f"{stem}_{part}_kpa": NAN if volume == 0.0 else _number(found, f"{stem}_{part}_kpa") for part in ("p50", "p90")}
    return row


def _mass(found: Mapping[str, Any], names: Sequence[str]) -> dict[str, float]:
    """Return mass, liquids and grout of the ring; a total of which a part is missing is missing."""
    return {
        "muck_mass_t": _best_mass(found, names),
        "solution_volume_m3": _sum(found, [name for name in names if name.startswith("foam_liquid") or name.startswith("polymer")], "integral"),
        "added_water_t": _sum(found, channels_of("water_l_min", names), "integral"),
        "grout_volume_m3": _sum(found, channels_of("grout_volume_m3", names), "total"),
    }


def _best_mass(found: Mapping[str, Any], names: Sequence[str]) -> float:
    """Return the mean of the weighers: counters first, integrals of the rate where there is none."""
    for family, part in (("belt_mass_total_t", "total"), ("belt_mass_rate_t_h", "integral")):
        masses = [value for name in channels_of(family, names) if math.isfinite(value := _number(found, f"{name}__{part}"))]
        if masses:
            return sum(masses) / len(masses)
    return NAN


def _sum(found: Mapping[str, Any], names: Sequence[str], part: str) -> float:
    return sum(_number(found, f"{name}__{part}") for name in names) if names else NAN


def _grades(
    facts: Mapping[str, Any],
    found: Mapping[str, Any],
    row: Mapping[str, Any],
    evidence: CycleEvidence,
    channels: Mapping[str, ChannelFacts],
    context: RecordContext,
) -> dict[str, Any]:
    limits = context.thresholds
    names = sorted(channels)
    cycle_s, push_s = facts["cycle_time_s"], facts["advancing_s"]
    common = Quality(0)
    if facts["unknown_s"] > limits.flag_share * cycle_s:
        common |= Quality.GAP
    if (found.get("conflict_count") or 0) > limits.flag_share * max(1, facts["sample_count"]):
        common |= Quality.CONFLICT
    if evidence.conflict:
        common |= Quality.CONFLICT
    groups = {
        "face_pressure": channels_of("chamber_pressure_kpa", names),
        "muck": [*channels_of("belt_mass_total_t", names), *channels_of("belt_mass_rate_t_h", names)],
        "grout": channels_of("grout_volume_m3", names),
        "thrust": channels_of("thrust_kn", names),
        "rams": channels_of("ram_extension_m", names),
    }
    out: dict[str, Any] = {}
    for group, members in groups.items():
        coverage = _coverage(group, members, found, push_s, cycle_s)
        flags = joined([common, *(_flags_of(name, facts, found, evidence, channels, limits.flag_share) for name in members)])
        if group == "face_pressure":
            flags = flags & ~Quality.UNIT_SUSPECT if _line_fits(row) else flags
            flags |= Quality.OFFSET_SUSPECT if evidence.suspect else Quality(0)
        if coverage < 1.0 - limits.flag_share and not flags & Quality.GAP:
            flags |= Quality.MISSING
        is_corrected = bool(evidence.excluded) if group == "face_pressure" else group == "muck" and _ways_differ(row, names, context)
        out |= {f"coverage_{group}": coverage, f"flags_{group}": words_of(flags), f"grade_{group}": grade_of(coverage, flags, is_corrected, limits)}
    return out


def _line_fits(row: Mapping[str, Any]) -> bool:
    """Return whether the chamber's line is one of a chamber: a sensor in the wrong unit would have been left out of it."""
    return math.isfinite(row["face_pressure_crown_kpa"]) and row["face_pressure_crown_kpa"] > 0 and math.isfinite(row["support_unit_weight_kn_m3"])


def _coverage(group: str, members: Sequence[str], found: Mapping[str, Any], push_s: float, cycle_s: float) -> float:
    if group == "face_pressure":
        return coverage_of(_sum_of(found, ["chamber__known"]), cycle_s)
    if group == "thrust":
        return coverage_of(_sum_of(found, [f"{name}__time" for name in members[:1]]), push_s)
    if group == "rams":
        return coverage_of(push_s, push_s) if members else 0.0
    counters = [name for name in members if f"{name}__total" in found] or [name for name in members if f"{name}__integral" in found]
    if not counters:
        return 0.0
    # A mean of weighers stands on the best of them; a sum over ports on the worst.
    best = max if group == "muck" else min
    return best(coverage_of(_sum_of(found, [f"{name}__known"]), cycle_s) for name in counters)


def _sum_of(found: Mapping[str, Any], names: Sequence[str]) -> float:
    return sum(found.get(name) or 0.0 for name in names)


def _flags_of(
    name: str, facts: Mapping[str, Any], found: Mapping[str, Any], evidence: CycleEvidence, channels: Mapping[str, ChannelFacts], share: float
) -> Quality:
    flags = Quality(0)
    if (found.get("spikes") or {}).get(name, 0) > share * max(1, facts["sample_count"]):
        flags |= Quality.SPIKE
    if name in evidence.stuck or _is_dead_counter(name, facts, found, channels):
        flags |= Quality.STUCK
    if name in evidence.counter_events:
        flags |= Quality.COUNTER_EVENT
    if unit_factor(name, facts, found, channels) is not None:
        flags |= Quality.UNIT_SUSPECT
    return flags


def _is_dead_counter(name: str, facts: Mapping[str, Any], found: Mapping[str, Any], channels: Mapping[str, ChannelFacts]) -> bool:
    """Return whether a weigher's counter stood still while the shield advanced."""
    family = family_of(name)
    if family is None or family.stuck_s is None or channels[name].kind != "counter" or f"{name}__total" not in found:
        return False
    return facts["advancing_s"] > 2 * family.stuck_s and (found[f"{name}__total"] or 0.0) == 0.0


def median_while_advancing(name: str, facts: Mapping[str, Any], found: Mapping[str, Any]) -> float:
    """Return the typical value of a channel in a push: the median of a chamber sensor, the mean of any other."""
    if f"{name}__median" in found:
        return _number(found, f"{name}__median")
    if f"{name}__integral" in found and facts["advancing_s"] > 0:
        per_hour = {"t/h": 3600.0}.get(unit_of_channel(name))
        return found[f"{name}__integral"] / facts["advancing_s"] * per_hour if per_hour and found[f"{name}__integral"] is not None else NAN
    return _mean(found, name, "time")


def unit_factor(name: str, facts: Mapping[str, Any], found: Mapping[str, Any], channels: Mapping[str, ChannelFacts]) -> float | None:
    """Return the factor by which a channel's unit seems wrong in a ring, none when it seems right."""
    plausible = channels[name].plausible
    typical = median_while_advancing(name, facts, found)
    return factor_hint(typical, plausible, unit_of_channel(name)) if plausible is not None and math.isfinite(typical) else None


def _ways_differ(row: Mapping[str, Any], names: Sequence[str], context: RecordContext) -> bool:
    """Return whether two weighers, or a weigher's counter and its rate, tell different masses of this ring."""
    limits = context.thresholds
    weighers = [value for name in channels_of("belt_mass_total_t", names) if math.isfinite(value := row.get(total_name(name), NAN))]
    if len(weighers) > 1 and max(weighers) - min(weighers) > limits.weigher_ratio * abs(sum(weighers) / len(weighers)):
        return True
    return any(is_apart for _weigher, _ratio, is_apart in disagreements(row, names, context))


def disagreements(row: Mapping[str, Any], names: Sequence[str], context: RecordContext) -> list[tuple[str, float, bool]]:
    """Return per weigher with counter and rate how far they lie apart, and whether that is too far."""
    out = []
    for name in channels_of("belt_mass_total_t", names):
        counted, integral = row.get(total_name(name), NAN), row.get(f"muck_mass_integral_{mark_of(name)}_t", NAN)
        if math.isfinite(counted) and math.isfinite(integral) and counted != 0:
            ratio = abs(integral - counted) / abs(counted)
            out.append((mark_of(name), ratio, ratio > context.thresholds.disagree_ratio))
    return out
