"""What happened within each cycle: push, short stops, waits and the build, interval by interval."""

from collections.abc import Sequence
from enum import IntEnum
from typing import Final

import ibis
from ibis import Table, _

from tunnelwright.logs.cycles import UNATTRIBUTED
from tunnelwright.logs.motion import PushRules

DRAWN_IN_SHARE: Final = 0.15
STILL_M: Final = 0.005
END_LOOK_MS: Final = 60_000


class Phase(IntEnum):
    """Where the time of an interval goes; every interval has exactly one."""

    ADVANCING = 0
    SHORT_STOP = 1
    WAIT_BEFORE_BUILD = 2
    BUILD = 3
    WAIT_AFTER_BUILD = 4
    UNKNOWN = 5
    IDLE = 6


def builds(labelled: Table, groups: Table, names: Sequence[str], ends: Table, rules: PushRules) -> Table:
    """Return per cycle when the build starts and when a ram group moves for the last time.

    Parameters
    ----------
    groups : extension of every ram group, ``names`` its columns.
    ends : of the pushes.

    Notes
    -----
    The build starts when any group is drawn in by 0.15 ring lengths from where the push ended, and lasts until no group is more than 5 mm from
    where the next push finds it.
    """
    late = labelled.filter(labelled.cycle >= 0).select("time_ms", "cycle").inner_join(ends.select("cycle", "push_end_ms"), "cycle")
    rows = late.filter(late.time_ms >= late.push_end_ms - END_LOOK_MS).inner_join(groups, "time_ms").select("time_ms", "cycle", "push_end_ms", *names)
    stands = rows.group_by("cycle").aggregate(
        **{f"end_{at}": rows[name].argmax(rows.time_ms, where=rows[name].notnull() & (rows.time_ms <= rows.push_end_ms)) for at, name in enumerate(names)},
        **{f"last_{at}": rows[name].argmax(rows.time_ms, where=rows[name].notnull()) for at, name in enumerate(names)},
    )
    after = rows.filter(rows.time_ms > rows.push_end_ms).inner_join(stands, "cycle")
    limit_m = DRAWN_IN_SHARE * rules.ring_length_m
    drawn_in, moving = ibis.literal(False), ibis.literal(False)
    for at, name in enumerate(names):
        drawn_in = drawn_in | (after[name] < after[f"end_{at}"] - limit_m).fill_null(False)
        moving = moving | ((after[name] - after[f"last_{at}"]).abs() > STILL_M).fill_null(False)
    found = after.mutate(drawn_in=drawn_in, moving=moving).group_by("cycle")
    return found.aggregate(build_start_ms=_.time_ms.min(where=_.drawn_in), last_moved_ms=_.time_ms.max(where=_.moving))


def with_phases(labelled: Table, ends: Table, found_builds: Table | None) -> Table:
    """Return the intervals with their ``phase``; time that cannot be placed in a cycle is idle or unknown."""
    table = labelled.left_join(ends.select("cycle", "push_end_ms"), "cycle").drop("cycle_right")
    if found_builds is None:
        table = table.mutate(build_start_ms=ibis.null("int64"), last_moved_ms=ibis.null("int64"))
    else:
        table = table.left_join(found_builds, "cycle").drop("cycle_right")
    after_build = table.previous_ms > table.last_moved_ms
    phase = ibis.cases(
        (table.gap, int(Phase.UNKNOWN)),
        (table.label == UNATTRIBUTED, int(Phase.IDLE)),
        (table.advancing, int(Phase.ADVANCING)),
        (table.time_ms <= table.push_end_ms, int(Phase.SHORT_STOP)),
        (table.build_start_ms.isnull() | (table.time_ms <= table.build_start_ms), int(Phase.WAIT_BEFORE_BUILD)),
        (after_build.fill_null(False), int(Phase.WAIT_AFTER_BUILD)),
        else_=int(Phase.BUILD),
    )
    return table.select("time_ms", "previous_ms", "dt_s", "gap", "unseen", "cycle", "label", "advancing", "stroke_m", phase=phase)


def keyed_numbers(labelled: Table, keyed: Table, ends: Table) -> Table:
    """Return per cycle the number keyed for the longest time in the last half of its push.

    Parameters
    ----------
    keyed : time and ``ring_number_keyed``.
    """
    pushing = labelled.filter(labelled.advancing).select("time_ms", "cycle", "dt_s").inner_join(ends.select("cycle", "start_ms", "push_end_ms"), "cycle")
    late = pushing.filter(pushing.time_ms > (pushing.start_ms + pushing.push_end_ms) / 2).inner_join(keyed, "time_ms").filter(_.ring_number_keyed.notnull())
    lasting = late.group_by("cycle", "ring_number_keyed").aggregate(dt_s=_.dt_s.sum())
    longest = lasting.dt_s.max().over(ibis.window(group_by="cycle"))
    return lasting.mutate(longest=longest).filter(_.dt_s == _.longest).group_by("cycle").aggregate(keyed=_.ring_number_keyed.min())


def chainages(logged: Table, intervals: Table, ends: Table, rules: PushRules) -> Table:
    """Return per cycle the logged chainage at the start of its push.

    Parameters
    ----------
    logged : time and ``chainage_m``.
    intervals : time and ``extension_m``.

    Notes
    -----
    A push that is seen only from its middle on, after a gap, began where the rams were at rest.
    """
    at_start = ends.select("cycle", time_ms=ends.start_ms).union(ends.select("cycle", time_ms=ends.first_ms))
    rows = at_start.inner_join(logged, "time_ms").inner_join(intervals.select("time_ms", "extension_m"), "time_ms")
    pushed_m = ibis.greatest(rows.extension_m.fill_null(rules.rest_extension_m) - rules.rest_extension_m, 0.0) if rules.chainage_follows else ibis.literal(0.0)
    begun = rows.mutate(begun_m=rows.chainage_m - pushed_m)
    return begun.group_by("cycle").aggregate(chainage_m=begun.begun_m.argmin(begun.time_ms, where=begun.begun_m.notnull()))
