"""Which cycle a run of intervals belongs to: push, build and wait, told apart by the extension of the rams.

The rams are HIGH above the rest extension plus 0.60 ring lengths, LOW below it plus 0.35, in between as before. A cycle starts with the first
advancing interval after a change from HIGH to LOW; build and wait stay with their push. The engine finds runs and passages; what follows from
them is decided here, on arrays of a few hundred entries per chunk.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from ibis import Table, _
from numpy.typing import NDArray

from tunnelwright.logs.motion import MM_MS_PER_M_MIN, PushRules
from tunnelwright.logs.windows import previous

UNATTRIBUTED: Final = -1
NOISE_M: Final = 0.005
LEAST_JUMP_S: Final = 60.0
LEAST_CREEP_MM_MIN: Final = 1.0
Times = NDArray[np.int64]
Flags = NDArray[np.bool_]
FloatArray = NDArray[np.float64]


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


def passages(intervals: Table) -> Table:
    """Return the samples at which the level of the rams differs from the one before: few, even with noise at a threshold."""
    last = previous(intervals.level)
    return (
        intervals.mutate(is_new=(last.isnull() | (last != intervals.level)) & intervals.level.notnull())
        .filter(_.is_new)
        .select("time_ms", "level")
        .order_by("time_ms")
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelHistory:
    """Passages of the rams through their thresholds: instants and whether they were far out from then on."""

    time_ms: Times
    is_high: Flags
    before: bool | None = None

    @classmethod
    def of(cls, found: pa.Table, state: OpenCycle | None) -> "LevelHistory":
        """Return the history from a table of passages; before the first one the carried state holds."""
        return cls(
            time_ms=np.asarray(found["time_ms"], dtype=np.int64), is_high=np.asarray(found["level"]) == 1, before=None if state is None else state.is_high
        )

    @property
    def fall_ms(self) -> Times:
        """Return the samples at which the state changes from HIGH to LOW."""
        first = np.array([bool(self.before)])
        was_high = np.concatenate([first, self.is_high[:-1]]) if len(self.is_high) else self.is_high
        return self.time_ms[~self.is_high & was_high]

    def at(self, time_ms: int) -> bool | None:
        """Return the state at an instant."""
        place = int(np.searchsorted(self.time_ms, time_ms, side="right")) - 1
        return bool(self.is_high[place]) if place >= 0 else self.before


def run_table(numbered: Table) -> Table:
    """Return one row per run: its first and last sample, its duration, whether it moves."""
    return (
        numbered.group_by("run")
        .aggregate(first_ms=_.time_ms.min(), last_ms=_.time_ms.max(), before_ms=_.previous_ms.min(), run_s=_.dt_s.sum(), moves=_.moves.any(), gap=_.gap.any())
        .order_by("run")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleSpan:
    """When a cycle starts, when its first advancing interval ends, when its push ends and when it ends."""

    cycle: int
    first_ms: int
    start_ms: int
    push_end_ms: int
    end_ms: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Runs:
    """Runs of intervals and what they mean.

    Parameters
    ----------
    cycle : carried on from the last advancing run; ``label`` is the same or ``UNATTRIBUTED`` for gaps that belong to no cycle.
    bridged_m : stroke across a gap that the rams themselves tell.
    clock_jump_s : length of a gap within a push in which nothing moved, 0 elsewhere.
    """

    run: NDArray[np.int64]
    first_ms: Times
    last_ms: Times
    before_ms: Times
    gap: Flags
    advancing: Flags
    unseen: Flags
    cycle: NDArray[np.int64]
    label: NDArray[np.int64]
    bridged_m: FloatArray
    clock_jump_s: FloatArray

    def as_table(self) -> pa.Table:
        """Return what every interval of a run takes over from it."""
        names = ("run", "advancing", "unseen", "cycle", "label", "bridged_m")
        return pa.table({name: getattr(self, name) for name in names})

    def spans(self) -> list["CycleSpan"]:
        """Return the cycles in order of time."""
        numbers = np.unique(self.cycle[self.cycle >= 0])
        spans = []
        for number in numbers:
            own = np.flatnonzero(self.cycle == number)
            pushes = own[self.advancing[own]]
            spans.append(
                CycleSpan(
                    cycle=int(number),
                    first_ms=int(self.first_ms[pushes[0]]),
                    start_ms=int(self.before_ms[pushes[0]]),
                    push_end_ms=int(self.last_ms[pushes[-1]]),
                    end_ms=int(self.last_ms[own[-1]]),
                )
            )
        return spans


def judged_runs(found: pa.Table, history: LevelHistory, gap_ends: Mapping[int, "GapEnds"], rules: PushRules, state: OpenCycle | None) -> Runs:
    """Return what the runs of a chunk mean.

    Parameters
    ----------
    found : as ``run_table`` gives it.
    gap_ends : what is known on both sides of every gap, by its last sample.
    """
    first_ms, gap = np.asarray(found["first_ms"]), np.asarray(found["gap"])
    before_ms = np.asarray(found["before_ms"].fill_null(-1))
    moves = np.asarray(found["moves"])
    advancing = moves & (_lasting_s(moves, gap, np.asarray(found["run_s"])) >= rules.least_run_s) & ~gap
    ends = [gap_ends.get(int(at)) for at in np.where(gap, first_ms, -1)]
    unseen = np.array([one is not None and one.hides_advance(rules) for one in ends], dtype=bool)
    start_ms = -1 if state is None else state.start_ms
    changes = np.sort(np.concatenate([history.fall_ms, first_ms[unseen]]))
    changes = changes[changes > start_ms]
    count = np.searchsorted(changes, first_ms, side="right") + (0 if state is None else state.cycle)
    taken_on = np.where(advancing & (first_ms >= start_ms), count, UNATTRIBUTED)
    cycle = np.maximum.accumulate(taken_on) if len(taken_on) else taken_on
    last_cycle = np.concatenate([[UNATTRIBUTED], cycle[:-1]])
    label = np.where(gap & (unseen | (cycle != last_cycle)), UNATTRIBUTED, cycle)
    beside_push = np.concatenate([[False], advancing[:-1]]) | np.concatenate([advancing[1:], [False]])
    bridged_m = np.array([one.bridged_m(rules) if one is not None else 0.0 for one in ends], dtype=np.float64)
    jumps = np.concatenate([[False], advancing[:-1]]) & np.concatenate([advancing[1:], [False]])
    jumps &= np.array([one is not None and one.is_clock_jump() for one in ends], dtype=bool)
    return Runs(
        run=np.asarray(found["run"]),
        first_ms=first_ms,
        last_ms=np.asarray(found["last_ms"]),
        before_ms=before_ms,
        gap=gap,
        advancing=advancing,
        unseen=unseen,
        cycle=cycle.astype(np.int64),
        label=label.astype(np.int64),
        clock_jump_s=np.where(jumps, np.asarray(found["run_s"]), 0.0),
        bridged_m=np.where(gap & beside_push & (label != UNATTRIBUTED), bridged_m, 0.0),
    )


def _lasting_s(moves: Flags, gap: Flags, run_s: FloatArray) -> FloatArray:
    """Return the duration of the movement that each run is part of; a passage cuts a run, but not the movement."""
    if not len(moves):
        return run_s
    cut = np.concatenate([[True], (moves[1:] != moves[:-1]) | gap[1:] | gap[:-1]])
    movement = np.cumsum(cut) - 1
    return np.bincount(movement, weights=run_s)[movement]


@dataclass(frozen=True, slots=True, kw_only=True)
class GapEnds:
    """What is known on both sides of a gap; missing where a channel is not logged.

    Parameters
    ----------
    gained_m : by the rams; ``extension_m`` is where they stand after it.
    moved_m : by the logged chainage.
    keyed_step : of the keyed ring number.
    """

    duration_s: float
    gained_m: float
    extension_m: float
    moved_m: float
    keyed_step: float

    def hides_advance(self, rules: PushRules) -> bool:
        """Return whether the shield moved on while nobody looked.

        Notes
        -----
        The chainage gained must agree with what the rams gained. Without a chainage, rams that fell by more than a re-set and do not lie at rest,
        that gained more than a push can, or a keyed number that rose by two say that a build ran unseen.
        """
        if rules.chainage_follows and np.isfinite(self.moved_m) and np.isfinite(self.gained_m):
            return abs(self.moved_m - max(self.gained_m, 0.0)) > rules.unseen_share * rules.ring_length_m
        at_rest = self.extension_m <= rules.rest_extension_m + rules.low_share * rules.ring_length_m
        fell = self.gained_m < -rules.reset_share * rules.ring_length_m and not at_rest
        return fell or not self.is_plausible(rules) or self.keyed_step >= 2

    def is_plausible(self, rules: PushRules) -> bool:
        """Return whether the rams can have gained so much in the time."""
        return not self.gained_m > rules.largest_speed_mm_min / MM_MS_PER_M_MIN * self.duration_s * 1000.0 + NOISE_M

    def is_clock_jump(self) -> bool:
        """Return whether the rams hardly moved in a long gap; within a push that looks like a clock that was put forward, not like a lost hour."""
        return self.duration_s >= LEAST_JUMP_S and bool(0 <= self.gained_m < LEAST_CREEP_MM_MIN / MM_MS_PER_M_MIN * self.duration_s * 1000.0)

    def bridged_m(self, rules: PushRules) -> float:
        """Return the stroke across the gap where the rams themselves tell it."""
        return max(self.gained_m, 0.0) if np.isfinite(self.gained_m) and self.is_plausible(rules) else 0.0


def gap_ends(intervals: Table, cleaned: Table) -> dict[int, GapEnds]:
    """Return what is known on both sides of every gap, by its last sample."""
    others = [name for name in ("chainage_m", "ring_number_keyed") if name in cleaned.columns]
    gaps = intervals.filter(intervals.gap).select("time_ms", "previous_ms", "dt_s", "extension_m", "previous_m")
    after = gaps.left_join(cleaned.select("time_ms", *others), "time_ms").drop("time_ms_right")
    before = cleaned.select(previous_ms=_.time_ms, **{f"last_{name}": cleaned[name] for name in others})
    rows = after.left_join(before, "previous_ms").drop("previous_ms_right").to_pyarrow().to_pylist()

    def step(row: Mapping[str, float | None], now: str, last: str) -> float:
        one, other = row.get(now), row.get(last)
        return float("nan") if one is None or other is None else one - other

    return {
        int(row["time_ms"]): GapEnds(
            duration_s=row["dt_s"],
            gained_m=step(row, "extension_m", "previous_m"),
            extension_m=float("nan") if row["extension_m"] is None else row["extension_m"],
            moved_m=step(row, "chainage_m", "last_chainage_m"),
            keyed_step=step(row, "ring_number_keyed", "last_ring_number_keyed"),
        )
        for row in rows
    }


def labelled_intervals(numbered: Table, runs: Table) -> Table:
    """Return the intervals with what they take over from their run: advancing, cycle, label, stroke across a gap."""
    return numbered.inner_join(runs, "run")
