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


def valid_intervals(samples: Table, labels: Table, names: Sequence[str], gap_limit_s: float, stepped: Sequence[str] = ()) -> Table:
    """Return the intervals between samples that are valid in all the named channels.

    Parameters
    ----------
    samples : time and channels; may begin before the labels, so that the first interval has its start.
    labels : of the intervals between samples: label, phase, stroke.
    names : channels; give those without missing readings together and every other one alone.
    stepped : channels that hold their value until the next sample.
    """
    valid = samples.filter([samples[name].notnull() for name in names]).select("time_ms", *names)
    joined = valid.left_join(labels.select("time_ms", "label", "phase", "total_stroke_m"), "time_ms").drop("time_ms_right")
    with_last = joined.mutate(
        last_ms=previous(joined.time_ms),
        last_stroke_m=previous(joined.total_stroke_m).fill_null(0.0),
        last_label=previous(joined.label),
        **{f"last_{name}": previous(joined[name]) for name in names},
    )
    dt_s = (with_last.time_ms - with_last.last_ms) / 1000.0
    values = {name: with_last[f"last_{name}"] if name in stepped else (with_last[f"last_{name}"] + with_last[name]) / 2.0 for name in names}
    rows = with_last.filter(with_last.label.notnull() & with_last.last_ms.notnull()).select(
        "time_ms", "label", "last_label", "phase", dt_s=dt_s, stroke_m=with_last.total_stroke_m - with_last.last_stroke_m, **values
    )
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


def weighted_percentiles(intervals: Table, name: str, probabilities: Mapping[str, float]) -> Table:
    """Return per label percentiles weighted by duration: the smallest value with at least that share of the time at or below it."""
    in_order = ibis.window(group_by="label", order_by=[name, "time_ms"], preceding=None, following=0)
    whole = ibis.window(group_by="label")
    reached = intervals.mutate(reached_s=intervals.dt_s.sum().over(in_order)).mutate(total_s=_.reached_s.max().over(whole))
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
