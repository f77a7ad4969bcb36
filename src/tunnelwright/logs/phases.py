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


class Phase(IntEnum):
    """Where the time of an interval goes; every interval has exactly one."""

    ADVANCING = 0
    SHORT_STOP = 1
    WAIT_BEFORE_BUILD = 2
    BUILD = 3
    WAIT_AFTER_BUILD = 4
    UNKNOWN = 5
    IDLE = 6


def push_ends(labelled: Table) -> Table:
    """Return per cycle when it starts, when its push ends and when it ends."""
    in_cycle = labelled.filter(labelled.cycle >= 0)
    return in_cycle.group_by("cycle").aggregate(
        start_ms=_.previous_ms.min(where=_.advancing), push_end_ms=_.time_ms.max(where=_.advancing), end_ms=_.time_ms.max()
    )


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
    rows = labelled.filter(labelled.cycle >= 0).select("time_ms", "cycle").inner_join(groups, "time_ms").inner_join(ends, "cycle")
    rows = rows.select("time_ms", "cycle", "push_end_ms", *names)
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
    table = labelled.left_join(ends, "cycle").drop("cycle_right", "start_ms", "end_ms")
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


def keyed_numbers(labelled: Table, ends: Table) -> Table:
    """Return per cycle the number keyed for the longest time in the last half of its push."""
    rows = labelled.inner_join(ends, "cycle")
    late = rows.filter(rows.advancing & rows.ring_number_keyed.notnull() & (rows.time_ms > (rows.start_ms + rows.push_end_ms) / 2))
    lasting = late.group_by("cycle", "ring_number_keyed").aggregate(dt_s=_.dt_s.sum())
    longest = lasting.dt_s.max().over(ibis.window(group_by="cycle"))
    return lasting.mutate(longest=longest).filter(_.dt_s == _.longest).group_by("cycle").aggregate(keyed=_.ring_number_keyed.min())


def chainages(labelled: Table, ends: Table) -> Table:
    """Return per cycle the logged chainage at its start."""
    rows = labelled.inner_join(ends, "cycle")
    valid = rows.chainage_m.notnull() & (rows.time_ms <= rows.push_end_ms)
    return rows.group_by("cycle").aggregate(chainage_m=rows.chainage_m.argmin(rows.time_ms, where=valid))
