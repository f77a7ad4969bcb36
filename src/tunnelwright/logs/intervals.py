"""Sums over intervals: means by time and by stroke, integrals, percentiles, times outside limits.

A row of ``valid_intervals`` speaks of the interval from the last valid sample to this one: its value is the mean of its two ends (or the first
one, for channels that hold their value), its label that of its end.
"""

from collections.abc import Mapping, Sequence
from typing import Final

import ibis
from ibis import Table, _
from ibis.expr.types import Value

from tunnelwright.logs.cycles import UNATTRIBUTED
from tunnelwright.logs.phases import Phase
from tunnelwright.logs.windows import UP_TO_HERE, previous

TEN_SECONDS_MS: Final = 10_000
# A share that is met exactly must not be missed by rounding.
SHARE_SLACK: Final = 1e-12


def valid_intervals(
    samples: Table, labels: Table, names: Sequence[str], gap_limit_s: float, stepped: Sequence[str] = (), counted: Sequence[str] = (), whole: bool = False
) -> Table:
    """Return the intervals between samples that are valid in all the named channels.

    Parameters
    ----------
    samples : time and channels; may begin before the labels, so that the first interval has its start.
    labels : of the intervals between samples: label, phase, stroke.
    names : channels; give those without missing readings together and every other one alone.
    stepped : channels that hold their value until the next sample.
    counted : counters, whose value is the difference of the two ends.
    whole : no reading is missing, so every interval is one of the labels' own.
    """
    valid = samples.select("time_ms", *names) if whole else samples.filter([samples[name].notnull() for name in names]).select("time_ms", *names)
    paired = valid.mutate(last_ms=previous(valid.time_ms), **{f"last_{name}": previous(valid[name]) for name in names})
    stroke = ["stroke_m"] if whole else ["stroke_m", "total_stroke_m"]
    joined = paired.inner_join(labels.select("time_ms", "label", "phase", *stroke), "time_ms").filter(_.last_ms.notnull())
    if not whole:
        # A longer interval has the stroke of all that it spans; before the chunk there is none, since a chunk starts with a push.
        before = labels.select(last_ms=labels.time_ms, last_stroke_m=labels.total_stroke_m)
        joined = joined.left_join(before, "last_ms").drop("last_ms_right").mutate(stroke_m=_.total_stroke_m - _.last_stroke_m.fill_null(0.0))

    def value(name: str) -> Value:
        if name in counted:
            return joined[name] - joined[f"last_{name}"]
        return joined[f"last_{name}"] if name in stepped else (joined[f"last_{name}"] + joined[name]) / 2.0

    values = {name: value(name) for name in names}
    rows = joined.select("time_ms", "label", "phase", "stroke_m", dt_s=(joined.time_ms - joined.last_ms) / 1000.0, **values)
    return rows.mutate(known=rows.dt_s <= gap_limit_s)


def with_total_stroke(labels: Table) -> Table:
    """Return the labels with the stroke since the start of the chunk, so that longer intervals find theirs by difference."""
    return labels.mutate(total_stroke_m=labels.stroke_m.sum().over(UP_TO_HERE))


def is_advancing(table: Table) -> Value:
    """Return whether an interval advances."""
    return table.phase == int(Phase.ADVANCING)


def mean_columns(intervals: Table, name: str) -> dict[str, Value]:
    """Return the sums of a level for a group-by: by stroke and by time while advancing, and by time at standstill."""
    advancing = is_advancing(intervals) & intervals.known
    standing = ~is_advancing(intervals) & intervals.known
    weighted_s = intervals[name] * intervals.dt_s
    return {
        f"{name}__time_sum": weighted_s.sum(where=advancing),
        f"{name}__time": intervals.dt_s.sum(where=advancing),
        f"{name}__stroke_sum": (intervals[name] * intervals.stroke_m).sum(where=advancing),
        f"{name}__stroke": intervals.stroke_m.sum(where=advancing),
        f"{name}__still_sum": weighted_s.sum(where=standing),
        f"{name}__still": intervals.dt_s.sum(where=standing),
    }


def integral_columns(intervals: Table, name: str, per_second: float) -> dict[str, Value]:
    """Return the integral of a rate and the time it covers; ``per_second`` turns its unit into units per second."""
    return {
        f"{name}__integral": (intervals[name] * intervals.dt_s).sum(where=intervals.known) * per_second,
        f"{name}__known": intervals.dt_s.sum(where=intervals.known),
        f"{name}__time": intervals.dt_s.sum(where=intervals.known & is_advancing(intervals)),
    }


def count_columns(intervals: Table, name: str, largest_rate_per_s: float, tolerance: float) -> dict[str, Value]:
    """Return what a counter counted, the time its readings cover, and whether anything but counting happened."""
    beyond = intervals[name] < -tolerance
    if largest_rate_per_s != float("inf"):
        beyond = beyond | (intervals[name] > largest_rate_per_s * intervals.dt_s + tolerance)
    return {f"{name}__total": intervals[name].sum(), f"{name}__known": intervals.dt_s.sum(), f"{name}__event": beyond.any()}


def weighted_percentiles(intervals: Table, name: str, probabilities: Mapping[str, float]) -> Table:
    """Return per label percentiles weighted by duration: the smallest value with at least that share of the time at or below it."""
    in_order = ibis.window(group_by="label", order_by=name, preceding=None, following=0)
    narrow = intervals.select("label", "dt_s", name)
    reached = narrow.mutate(reached_s=narrow.dt_s.sum().over(in_order)).mutate(total_s=_.reached_s.max().over(ibis.window(group_by="label")))
    return reached.group_by("label").aggregate(
        **{column: reached[name].min(where=reached.reached_s >= share * reached.total_s * (1 - SHARE_SLACK)) for column, share in probabilities.items()}
    )


def ten_second_extremes(intervals: Table, name: str) -> Table:
    """Return per label the lowest and highest mean over ten seconds; single samples are noise."""
    known = intervals.filter(intervals.known & (intervals.label != UNATTRIBUTED))
    buckets = known.group_by("label", bucket=known.time_ms - known.time_ms % TEN_SECONDS_MS).aggregate(mean=(known[name] * known.dt_s).sum() / known.dt_s.sum())
    return buckets.group_by("label").aggregate(least=_["mean"].min(), most=_["mean"].max())


def times_outside(intervals: Table, name: str, limits: Table, side: str, limit: str) -> Table:
    """Return per label and phase set how long, how deep and how long at a stretch a level lay beyond a limit.

    Parameters
    ----------
    limits : one row per label with the limits.
    side : ``below`` or ``above``.
    limit : column of ``limits``.
    """
    numbered = intervals.mutate(place=ibis.row_number().over(ibis.window(order_by="time_ms")), advancing=is_advancing(intervals))
    joined = numbered.inner_join(limits.select("label", limit), "label")
    depth = (joined[limit] - joined[name]) if side == "below" else (joined[name] - joined[limit])
    beyond = joined.mutate(depth=depth).filter((_.depth > 0) & joined.known)
    # Neighbours in the log keep the same distance between their place there and their place among the intervals beyond.
    among = ibis.row_number().over(ibis.window(group_by=["label", "advancing"], order_by="time_ms"))
    stretches = (
        beyond.mutate(rank=among)
        .mutate(stretch=_.place - _.rank)
        .group_by("label", "advancing", "stretch")
        .aggregate(stretch_s=_.dt_s.sum(), depth_s=(_.depth * _.dt_s).sum())
    )
    return stretches.group_by("label", "advancing").aggregate(total_s=_.stretch_s.sum(), longest_s=_.stretch_s.max(), depth_s=_.depth_s.sum())
