"""Is the shield advancing? Extension of the rams, speed, and runs of advancing intervals.

An interval reaches from one sample to the next and carries the label of its end; a row here speaks of the interval that ends at it. What follows
from whole runs of intervals (which last long enough, which cycle they belong to) is decided in ``cycles``, on a table of a few hundred runs.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import ibis
from ibis import Table, _

from tunnelwright.logs.windows import UP_TO_HERE, following, held, in_blocks, previous, row_median

HOLD_MS: Final = 60_000
HALF_WINDOW_MS: Final = 15_000
BLOCK_MS: Final = 1_800_000
MM_MS_PER_M_MIN: Final = 60_000_000.0
VOTES: Final = ("thrust_kn", "advance_rate_mm_min", "cutterhead_speed_rpm")


@dataclass(frozen=True, slots=True, kw_only=True)
class PushRules:
    """What counts as advancing, as a gap and as the end of a push.

    Parameters
    ----------
    rest_extension_m, high_thrust_kn, gap_limit_s : estimated once for the drive and kept.
    chainage_follows : whether the logged chainage moves with the rams; some loggers step it once per ring.
    """

    ring_length_m: float
    rest_extension_m: float
    high_thrust_kn: float
    gap_limit_s: float = 30.0
    chainage_follows: bool = True
    least_speed_mm_min: float = 2.0
    least_run_s: float = 20.0
    thrust_share: float = 0.3
    least_cutterhead_rpm: float = 0.05
    high_share: float = 0.60
    low_share: float = 0.35
    largest_speed_mm_min: float = 120.0
    unseen_share: float = 0.1
    reset_share: float = 0.25


def motion(cleaned: Table, groups: Sequence[str], dirty: Sequence[str] = ()) -> Table:
    """Return time, extension and the channels that vote on advancing, each bridged over short holes.

    Parameters
    ----------
    cleaned : samples of the ram groups and of those voting channels that were logged.
    groups : ram groups, none when they are not logged.
    dirty : columns in which readings are missing; the others need no bridge.
    """
    votes = [name for name in VOTES if name in cleaned.columns]
    extension = row_median([cleaned[name] for name in groups]) if groups else ibis.null("float64")
    table = cleaned.select("time_ms", *votes, extension_m=extension)
    for name in ("extension_m", *votes):
        if (name in dirty) if name in votes else any(group in dirty for group in groups):
            table = held(table, name, HOLD_MS)
    return table


def with_speed(table: Table) -> Table:
    """Return the table with the interval that ends at each sample and the speed of the rams there.

    Notes
    -----
    The speed is the slope from the first to the last sample within 15 s on either side; where the log is coarser than that, from the sample
    before to the one after.
    """
    neighbours = table.mutate(
        previous_ms=previous(table.time_ms), previous_m=previous(table.extension_m), next_ms=following(table.time_ms), next_m=following(table.extension_m)
    )
    around = ibis.range_window(group_by="block", order_by="time_ms", preceding=HALF_WINDOW_MS, following=HALF_WINDOW_MS)
    point = ibis.struct({"ms": _.time_ms, "m": _.extension_m})
    wide = in_blocks(neighbours, BLOCK_MS, HALF_WINDOW_MS + 1000).mutate(
        first=point.first(include_null=True).over(around), last=point.last(include_null=True).over(around)
    )
    alone = _["first"]["ms"] == _["last"]["ms"]
    ends = wide.filter(wide.own).mutate(
        first_ms=alone.ifelse(_.previous_ms.coalesce(_.time_ms), _["first"]["ms"]),
        last_ms=alone.ifelse(_.next_ms.coalesce(_.time_ms), _["last"]["ms"]),
        first_m=alone.ifelse(_.previous_ms.isnull().ifelse(_.extension_m, _.previous_m), _["first"]["m"]),
        last_m=alone.ifelse(_.next_ms.isnull().ifelse(_.extension_m, _.next_m), _["last"]["m"]),
    )
    elapsed_ms = (_.last_ms - _.first_ms).nullif(0)
    return ends.mutate(speed_mm_min=MM_MS_PER_M_MIN * (_.last_m - _.first_m) / elapsed_ms).drop(
        "block", "own", "first", "last", "first_ms", "last_ms", "first_m", "last_m", "next_ms", "next_m"
    )


def with_intervals(table: Table, rules: PushRules) -> Table:
    """Return the table with the duration of the interval that ends at each sample, and whether it is a gap."""
    dt_s = (_.time_ms - _.previous_ms).fill_null(0) / 1000.0
    return table.mutate(dt_s=dt_s).mutate(gap=_.dt_s > rules.gap_limit_s)


def with_votes(table: Table, rules: PushRules) -> Table:
    """Return the table with ``moves``: all channels that have something to say agree, and at least one of them saw movement."""
    speed = table.speed_mm_min
    if "advance_rate_mm_min" in table.columns:
        speed = speed.coalesce(table.advance_rate_mm_min)
    moved = speed > rules.least_speed_mm_min
    pushed = table.thrust_kn > rules.thrust_share * rules.high_thrust_kn if "thrust_kn" in table.columns else ibis.null("boolean")
    turned = table.cutterhead_speed_rpm > rules.least_cutterhead_rpm if "cutterhead_speed_rpm" in table.columns else ibis.null("boolean")
    # Without a reading of movement, thrust and a turning head must both speak for it: thrust alone is also high in a build.
    without_movement = speed.isnull() & pushed.fill_null(False) & turned.fill_null(False)
    agreed = moved.fill_null(False) & pushed.fill_null("thrust_kn" not in table.columns or turned.fill_null(False)) & turned.fill_null(True)
    return table.mutate(moves=(agreed | without_movement) & ~table.gap)


def with_level(table: Table, rules: PushRules) -> Table:
    """Return the table with the ``level`` of the rams: 1 when far out, 0 when at rest, missing in between."""
    high = table.extension_m > rules.rest_extension_m + rules.high_share * rules.ring_length_m
    low = table.extension_m < rules.rest_extension_m + rules.low_share * rules.ring_length_m
    return table.mutate(level=ibis.cases((high, 1), (low, 0)))


def moving_intervals(cleaned: Table, groups: Sequence[str], rules: PushRules, dirty: Sequence[str] = ()) -> Table:
    """Return every interval with its duration, whether it moves and the level of the rams at its end."""
    table = with_level(with_votes(with_intervals(with_speed(motion(cleaned, groups, dirty)), rules), rules), rules)
    return table.select("time_ms", "previous_ms", "dt_s", "gap", "moves", "level", "extension_m", "previous_m")


def with_runs(intervals: Table, fall_ms: Sequence[int]) -> Table:
    """Return the intervals with the number of their ``run``: neighbours that move alike, cut at gaps and where a cycle may end.

    Parameters
    ----------
    fall_ms : samples at which the rams came back to rest.
    """
    falls = intervals.time_ms.isin([int(one) for one in fall_ms]) if len(fall_ms) else ibis.literal(False)
    cut = (intervals.moves != previous(intervals.moves)) | intervals.gap | previous(intervals.gap) | falls
    numbered = intervals.mutate(cut=cut.fill_null(True).cast("int64"))
    return numbered.mutate(run=_.cut.sum().over(UP_TO_HERE)).drop("cut", "level")


def with_strokes(intervals: Table) -> Table:
    """Return the intervals with their stroke: what the extension gains over its running maximum in the run, advancing runs only.

    Notes
    -----
    The running maximum starts with the sample before the run. Adding up every rise would book noise as stroke.
    """
    pushing, resting = intervals.filter(intervals.advancing), intervals.filter(~intervals.advancing)
    in_run = ibis.window(group_by="run", order_by="time_ms", preceding=None, following=0)
    reached = pushing.mutate(reached_m=ibis.greatest(_.extension_m, _.previous_m).max().over(in_run))
    before = reached.reached_m.lag(1).over(ibis.window(group_by="run", order_by="time_ms"))
    gained_m = (reached.reached_m - before.coalesce(reached.previous_m)).fill_null(0.0)
    return reached.mutate(stroke_m=gained_m).drop("reached_m").union(resting.mutate(stroke_m=ibis.literal(0.0)))
