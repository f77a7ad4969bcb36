"""When people work: shifts of the week by the clock of a place, as stretches of absolute time.

Absolute time counts in seconds since 1970 in UTC, local time in seconds on the wall clock. A shift over the night in which the clocks change
has an hour more or less; a wall time that comes twice means the first, one that never comes the moment just as far after the change.
"""

import functools
import zoneinfo
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.vocabulary.types import FloatArray, IntArray, Table, TextArray

_DAY_S: Final = 86_400
_HOUR_S: Final = 3_600
_MINUTE_S: Final = 60
# 1 January 1970 was a Thursday, day 4 of the week that begins on Monday.
_FIRST_WEEKDAY: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shifts(Table):
    """Shifts of the week: weekday 1 Monday to 7 Sunday; an end above 24 runs into the next day."""

    weekday: FloatArray
    start_h: FloatArray
    end_h: FloatArray

    @property
    def week_s(self) -> float:
        """Return the working time of a plain week, overlaps counted once."""
        return float(np.sum(self._covered()) * _MINUTE_S)

    @property
    def overlaps(self) -> bool:
        """Return whether two shifts claim the same time."""
        return bool(np.sum(self.end_h - self.start_h) * _HOUR_S > self.week_s + _MINUTE_S * self.row_count)

    def _covered(self) -> Any:
        minutes = np.zeros(7 * 24 * 60, dtype=bool)
        for day, start, end in zip(self.weekday, self.start_h, self.end_h, strict=True):
            first, last = ((day - 1) * 24 + start) * 60, ((day - 1) * 24 + end) * 60
            minutes[np.arange(round(first), round(last)) % minutes.size] = True
        return minutes


@functools.cache
def known_zone(name: str) -> zoneinfo.ZoneInfo | None:
    """Return the time zone of a name of the IANA list; None where it is not in it."""
    try:
        return zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return None


def seconds(text: str) -> int | None:
    """Return an ISO date or time without offset in seconds since 1970 on its own clock; None where it is none."""
    try:
        return int(np.datetime64(text, "s").astype(np.int64))
    except ValueError:
        return None


def to_utc_s(local_s: int, zone: zoneinfo.ZoneInfo) -> int:
    """Return the absolute time of a moment on the wall clock."""
    offset = np.datetime64(local_s, "s").item().replace(tzinfo=zone).utcoffset()
    assert offset is not None
    return local_s - int(offset.total_seconds())


def as_text(utc_s: float, zone: zoneinfo.ZoneInfo) -> str:
    """Return an absolute time as ISO text on the clock of a zone, with its offset, to the second."""
    moment = np.datetime64(round(utc_s), "s").item().replace(tzinfo=zoneinfo.ZoneInfo("UTC"))
    return str(moment.astimezone(zone).isoformat())


@dataclass(frozen=True, slots=True)
class WorkingTime:
    """Working time from a moment on, piecewise linear: ``worked_s`` at the absolute times ``edges_s``."""

    edges_s: IntArray
    worked_s: IntArray

    def when(self, work_s: float) -> float:
        """Return the earliest absolute time by which so much work is done; infinite beyond the last edge."""
        if work_s <= 0:
            return float(self.edges_s[0])
        # The last piece before that edge is one of work: a flat one would have left the edge before with as much.
        at = int(np.searchsorted(self.worked_s, work_s, side="left"))
        return float(self.edges_s[at] - (self.worked_s[at] - work_s)) if at < self.worked_s.size else np.inf


def working_time(shifts: Shifts, zone: zoneinfo.ZoneInfo, days_off: TextArray, start_utc_s: int, day_count: int) -> WorkingTime:
    """Return the working time from a moment on, over so many days.

    Parameters
    ----------
    shifts : of the week; what overlaps is worked once.
    zone : whose clock counts.
    days_off : local days from midnight to midnight on which nobody works.
    start_utc_s : moment from which work counts.
    day_count : days looked at.
    """
    # A shift may have begun two days before: its end is at most 48 h after its own midnight.
    first_day = start_utc_s // _DAY_S - 2
    worked = [
        (to_utc_s(round(day * _DAY_S + start * _HOUR_S), zone), to_utc_s(round(day * _DAY_S + end * _HOUR_S), zone))
        for day in range(first_day, first_day + day_count + 2)
        for weekday, start, end in zip(shifts.weekday, shifts.start_h, shifts.end_h, strict=True)
        if (day + _FIRST_WEEKDAY - 1) % 7 + 1 == weekday
    ]
    off = [(to_utc_s(midnight, zone), to_utc_s(midnight + _DAY_S, zone)) for midnight in map(seconds, days_off) if midnight is not None]
    return _cumulated(worked, off, start_utc_s)


def _cumulated(worked: list[tuple[int, int]], off: list[tuple[int, int]], start_utc_s: int) -> WorkingTime:
    """Return the working time of stretches less days off, from a moment on: one sweep over all their edges."""
    edges = np.array([start_utc_s, *np.ravel(worked), *np.ravel(off)], dtype=np.int64)
    in_shift = np.concatenate([[0], np.tile([1, -1], len(worked)), np.zeros(2 * len(off))])
    is_off = np.concatenate([[0], np.zeros(2 * len(worked)), np.tile([1, -1], len(off))])
    order = np.argsort(edges, kind="stable")
    edges = edges[order]
    works = (np.cumsum(in_shift[order]) > 0) & (np.cumsum(is_off[order]) == 0)
    gained = np.diff(edges) * (works[:-1] & (edges[:-1] >= start_utc_s))
    total = np.concatenate([[0], np.cumsum(gained)])
    first = int(np.searchsorted(edges, start_utc_s))
    return WorkingTime(edges_s=edges[first:], worked_s=total[first:].astype(np.int64))
