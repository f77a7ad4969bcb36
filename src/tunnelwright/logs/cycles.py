"""Which cycle an interval belongs to: push, build and wait, told apart by the extension of the rams.

The state is HIGH above the rest extension plus 0.60 ring lengths, LOW below it plus 0.35, in between as before. A cycle starts with the first
advancing interval after a change from HIGH to LOW; build and wait stay with their push.
"""

from dataclasses import dataclass
from typing import Final

import ibis
from ibis import Table, _

from tunnelwright.logs.motion import MM_MS_PER_M_MIN, PushRules
from tunnelwright.logs.windows import UP_TO_HERE, following, previous

UNATTRIBUTED: Final = -1
NOISE_M: Final = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCycle:
    """What the fold over chunks carries: where the open cycle starts, its number, and the state of the rams there.

    Parameters
    ----------
    start_ms : end of its first advancing interval; rows before it belong to closed cycles.
    context_ms : earlier samples are not needed any more.
    is_high : state at the start; none before the first threshold was passed.
    """

    start_ms: int
    context_ms: int
    cycle: int
    is_high: bool | None


def with_state(table: Table, rules: PushRules, before: OpenCycle | None) -> Table:
    """Return the table with ``is_high``, the state of the rams at every sample."""
    high = table.extension_m > rules.rest_extension_m + rules.high_share * rules.ring_length_m
    low = table.extension_m < rules.rest_extension_m + rules.low_share * rules.ring_length_m
    # The later of the two last passages decides; both are running maxima of time, which any engine keeps cheaply.
    passed = table.mutate(
        high_ms=high.fill_null(False).ifelse(table.time_ms, None).max().over(UP_TO_HERE),
        low_ms=low.fill_null(False).ifelse(table.time_ms, None).max().over(UP_TO_HERE),
    )
    carried = ibis.null("boolean") if before is None or before.is_high is None else ibis.literal(before.is_high)
    is_high = (_.high_ms.coalesce(0) > _.low_ms.coalesce(0)).ifelse(True, _.low_ms.isnull().ifelse(carried, False))
    return passed.mutate(is_high=is_high).drop("high_ms", "low_ms")


def with_gap_ends(table: Table, rules: PushRules) -> Table:
    """Return the table with what a gap hides: ``unseen`` when the shield moved on while nobody looked, ``bridged_m`` when its stroke is known.

    Notes
    -----
    The chainage gained across a gap must agree with what the rams gained. Without a chainage, an extension that fell by more than a re-set and
    does not lie at rest, or a keyed number that rose by two, says that a build ran unseen.
    """
    gained_m = table.extension_m - table.previous_m
    plausible = gained_m <= rules.largest_speed_mm_min / MM_MS_PER_M_MIN * table.dt_s * 1000.0 + NOISE_M
    fell = (gained_m < -rules.reset_share * rules.ring_length_m) & (table.extension_m > rules.rest_extension_m + rules.low_share * rules.ring_length_m)
    unseen = fell.fill_null(False) | ~plausible.fill_null(True)
    if "ring_number_keyed" in table.columns:
        unseen = unseen | (table.ring_number_keyed - previous(table.ring_number_keyed) >= 2).fill_null(False)
    if rules.chainage_follows and "chainage_m" in table.columns:
        moved_m = table.chainage_m - previous(table.chainage_m)
        differs = (moved_m - ibis.greatest(gained_m, 0.0)).abs() > rules.unseen_share * rules.ring_length_m
        unseen = (moved_m.notnull() & gained_m.notnull()).ifelse(differs, unseen)
    unseen = table.gap & unseen.fill_null(False)
    beside_push = previous(table.advancing).fill_null(False) | following(table.advancing).fill_null(False)
    bridged_m = (table.gap & ~unseen & beside_push & plausible).fill_null(False).ifelse(ibis.greatest(gained_m, 0.0), 0.0)
    return table.mutate(unseen=unseen, bridged_m=bridged_m)


def with_cycles(table: Table, before: OpenCycle | None) -> Table:
    """Return the table with ``cycle`` of every interval, ``UNATTRIBUTED`` where none can be named.

    Notes
    -----
    A gap counts for a cycle only when it lies within it and hides no advance; its ring would otherwise look over-excavated, or hide that it is.
    """
    falls = (~table.is_high & previous(table.is_high)).fill_null(False)
    started = True if before is None else table.time_ms > before.start_ms
    first = 0 if before is None else before.cycle
    counted = table.mutate(change=((falls | table.unseen) & started).cast("int64")).mutate(fall_count=_.change.sum().over(UP_TO_HERE) + first)
    belongs = True if before is None else counted.time_ms >= before.start_ms
    taken_on = (counted.advancing & belongs).ifelse(counted.fall_count, ibis.null("int64"))
    carried = counted.mutate(cycle=taken_on.max().over(UP_TO_HERE).fill_null(UNATTRIBUTED))
    whole = carried.mutate(last_cycle=previous(carried.cycle))
    lost = whole.gap & (whole.unseen | (whole.cycle != whole.last_cycle))
    return whole.mutate(label=lost.ifelse(UNATTRIBUTED, whole.cycle), stroke_m=whole.stroke_m + lost.ifelse(0.0, whole.bridged_m)).drop(
        "change", "fall_count", "last_cycle", "bridged_m"
    )
