"""From the clock of a logger to UTC: summer time, clocks that were set, instants that cannot be placed."""

import datetime
from dataclasses import dataclass
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Times = NDArray[np.int64]
MS_PER_HOUR: Final = 3_600_000
STEP_TOLERANCE_MS: Final = 120_000
NEAR_MS: Final = 600_000
LEAST_RUN: Final = 20
UNORDERED_SHARE: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UtcTimes:
    """Times of the rows of one file, in file order.

    Parameters
    ----------
    time_ms : UTC milliseconds since 1970.
    ambiguous : rows in an hour that the wall clock shows twice or never and that nothing in the file decides.
    """

    time_ms: Times
    ambiguous: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneChange:
    """An instant at which the zone changes its offset."""

    at_ms: int
    before_ms: int
    after_ms: int


def zone_changes(zone: ZoneInfo, first_ms: int, last_ms: int) -> tuple[int, list[ZoneChange]]:
    """Return the zone's offset at the first instant, and its changes up to the last one."""
    start, end = first_ms - 48 * MS_PER_HOUR, last_ms + 48 * MS_PER_HOUR
    start -= start % MS_PER_HOUR
    hours = range(start, end + MS_PER_HOUR, 6 * MS_PER_HOUR)
    offsets = [_offset_ms(zone, hour) for hour in hours]
    changes = []
    for low, before, after in zip(hours, offsets[:-1], offsets[1:], strict=False):
        if before != after:
            changes.append(ZoneChange(at_ms=_bisected(zone, low, low + 6 * MS_PER_HOUR, before), before_ms=before, after_ms=after))
    return offsets[0], changes


def _offset_ms(zone: ZoneInfo, at_ms: int) -> int:
    moment = datetime.datetime.fromtimestamp(at_ms / 1000, tz=zone)
    offset = moment.utcoffset()
    assert offset is not None, "a zone always knows its offset"
    return round(offset.total_seconds() * 1000)


def _bisected(zone: ZoneInfo, low: int, high: int, before: int) -> int:
    while high - low > 1000:
        middle = (low + high) // 2
        low, high = (middle, high) if _offset_ms(zone, middle) == before else (low, middle)
    return high - high % 1000


def utc_of_wall_clock(wall_ms: Times, zone: ZoneInfo) -> UtcTimes:
    """Return UTC for the readings of a wall clock in file order.

    Notes
    -----
    In the hour that comes twice the order of the file decides: the first pass lasts until the clock steps back by about an hour. Without
    such a step the neighbours outside the hour decide; where they do not, the rows are taken as the first pass and marked.
    """
    ambiguous = np.zeros(len(wall_ms), dtype=bool)
    if not len(wall_ms):
        return UtcTimes(time_ms=wall_ms, ambiguous=ambiguous)
    first_offset, changes = zone_changes(zone, int(wall_ms.min()), int(wall_ms.max()))
    offset = np.full(len(wall_ms), first_offset, dtype=np.int64)
    for change in changes:
        overlap_start, overlap_end = change.at_ms + min(change.before_ms, change.after_ms), change.at_ms + max(change.before_ms, change.after_ms)
        offset[wall_ms >= overlap_end] = change.after_ms
        inside = (wall_ms >= overlap_start) & (wall_ms < overlap_end)
        if change.after_ms > change.before_ms:
            # The clock never shows these times: somebody's clock was not put forward.
            offset[inside] = change.before_ms
            ambiguous |= inside
            continue
        second_pass, unclear = _second_pass(wall_ms, inside, overlap_start, overlap_end)
        offset[inside] = np.where(second_pass[inside], change.after_ms, change.before_ms)
        ambiguous |= unclear
    return UtcTimes(time_ms=wall_ms - offset, ambiguous=ambiguous)


def _second_pass(wall_ms: Times, inside: NDArray[np.bool_], start: int, end: int) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    second = np.zeros(len(wall_ms), dtype=bool)
    unclear = np.zeros(len(wall_ms), dtype=bool)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    for first, beyond in zip(edges[::2], edges[1::2], strict=True):
        stretch = slice(int(first), int(beyond))
        steps = np.flatnonzero(np.abs(np.diff(wall_ms[stretch]) + (end - start)) <= STEP_TOLERANCE_MS)
        if len(steps):
            second[first + steps[0] + 1 : beyond] = True
            continue
        comes_in = first > 0 and 0 <= wall_ms[first] - wall_ms[first - 1] <= NEAR_MS
        goes_out = beyond < len(wall_ms) and 0 <= wall_ms[beyond] - wall_ms[beyond - 1] <= NEAR_MS
        if goes_out and not comes_in:
            second[stretch] = True
        elif comes_in == goes_out:
            unclear[stretch] = True
    return second, unclear


def clock_steps(time_ms: Times, row_digest: NDArray[np.uint64]) -> list[tuple[int, int, int]]:
    """Return where the clock was set back: first row, row after the last that repeats earlier times, and the step in milliseconds.

    Parameters
    ----------
    time_ms : UTC, in file order.
    row_digest : equal for rows with equal readings.

    Notes
    -----
    A block of rows that was moved in the file steps back too, but to times that were not seen before; rows in no order at all step back
    all the time. Neither is a clock that was set.
    """
    back = np.flatnonzero(np.diff(time_ms) < -1000) + 1
    if not len(back) or len(back) > max(5, UNORDERED_SHARE * len(time_ms)):
        return []
    found = []
    bounds = [0, *back.tolist(), len(time_ms)]
    for before, start, beyond in zip(bounds[:-2], bounds[1:-1], bounds[2:], strict=True):
        if min(start - before, beyond - start) < LEAST_RUN:
            continue
        last_ms = time_ms[start - 1]
        repeated = start + int(np.searchsorted(time_ms[start:beyond], last_ms, side="right"))
        seen = np.flatnonzero((time_ms[:start] >= time_ms[start]) & (time_ms[:start] <= time_ms[repeated - 1]))
        # The same rows written twice are an overlap, not a clock.
        copies = np.count_nonzero(np.isin(row_digest[start:repeated], row_digest[seen]))
        if len(seen) >= 3 and copies < 0.5 * (repeated - start):
            found.append((start, repeated, int(time_ms[start] - last_ms)))
    return found
