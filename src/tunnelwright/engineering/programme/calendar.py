"""From working time to the date of its end, by the calendar of the site."""

import re
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.programme.sources import CALENDAR
from tunnelwright.engineering.programme.working_time import Shifts, as_text, known_zone, seconds, to_utc_s, working_time
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import Number, Record, TextArray, TextSeries, Values

_WEEK_DAYS: Final = 7
_MOST_WEEKS: Final = 5200
_MARGIN_DAYS: Final = 21
_MOMENT: Final = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?")
_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Finish(Record):
    """End of the work as ISO text with its offset: by the clock of the place, and in UTC."""

    finish: TextArray
    finish_utc: TextArray


def _is_moment(values: Values) -> bool:
    text = str(values["start"])
    found = seconds(text) if _MOMENT.fullmatch(text) else None
    return found is not None and 1900 <= int(text[:4]) <= 2500


def _are_dates(values: Values) -> bool:
    return values["holidays"] is None or all(_DATE.fullmatch(day) and seconds(str(day)) is not None for day in map(str, values["holidays"]))


def _ends_within_a_century(values: Values) -> Any:
    week_s = values["shifts"].week_s
    return ~(np.asarray(values["working_time_s"]) > _MOST_WEEKS * week_s) if week_s > 0 else True


def _is_no_moment_of_its_own(values: Values) -> bool:
    """Say whether the clocks jump over the start or go through it twice."""
    zone, local_s = known_zone(str(values["zone"])), seconds(str(values["start"]))
    if zone is None or local_s is None:
        return False
    wall = np.datetime64(local_s, "s").item().replace(tzinfo=zone)
    return bool(wall.utcoffset() != wall.replace(fold=1).utcoffset())


@method(
    "programme.calendar.finish",
    found_by={
        "finish": Algorithm("earliest moment by which the shifts since the start hold the working time, by the clock of the place"),
        "finish_utc": Algorithm("the same moment in UTC"),
    },
    possible={"weekday": (1.0, 7.0), "start_h": (0.0, 24.0), "end_h": (0.0, 48.0), "working_time_s": (0.0, 1e10)},
    requires=(
        Require("shifts.weekday", lambda v: np.mod(v["shifts"].weekday, 1) == 0, "must be a whole number, 1 Monday to 7 Sunday"),
        Require("shifts.end_h", lambda v: v["shifts"].end_h >= v["shifts"].start_h, "must not lie before start_h", "past midnight add 24"),
        Require("shifts", lambda v: v["shifts"].week_s > 0, "must hold working time: the week has none"),
        Require("zone", lambda v: known_zone(str(v["zone"])) is not None, "must be a time zone of the IANA list", 'for example "UTC" or "CET"'),
        Require("start", _is_moment, "must be a local date and time such as 2025-03-06T16:00", "without offset: the zone says it"),
        Require("holidays", _are_dates, "must be dates such as 2025-04-21"),
        Require("working_time_s", _ends_within_a_century, "would take more than a hundred years of these shifts"),
    ),
    remarks=(
        Remark(lambda v: v["shifts"].overlaps, "shifts overlap: what they share is worked once"),
        Remark(
            _is_no_moment_of_its_own, "the clocks change at the start: a time that comes twice was taken as the first, one left out as just after the change"
        ),
    ),
    kind="identity",
    source=CALENDAR,
    dimensional=True,
)
def finish(shifts: Shifts, zone: str, start: str, working_time_s: Number, holidays: TextSeries | None = None) -> Finish:
    """Return when an amount of work that starts at a given moment is done.

    Parameters
    ----------
    shifts : of the week, by the clock of the place; a shift over the night in which the clocks change has an hour more or less.
    zone : name of the IANA list.
    start : local date and time; work counts from there, or from the next shift.
    working_time_s : to be worked; where it ends with a shift, that is the finish and not the begin of the next one.
    holidays : local days on which nobody works from midnight to midnight, also not the second half of a night shift.
    """
    place, local_s = known_zone(zone), seconds(start)
    assert place is not None
    assert local_s is not None
    utc = known_zone("UTC")
    assert utc is not None
    days_off = np.array([] if holidays is None else holidays, dtype=np.str_)
    work = np.asarray(working_time_s, dtype=np.float64)
    most = float(np.max(work, initial=0.0, where=np.isfinite(work)))
    start_utc_s = to_utc_s(local_s, place)
    # A day off may cost the only shift of a week.
    day_count = int(np.ceil(most / shifts.week_s * _WEEK_DAYS)) + _WEEK_DAYS * days_off.size + _MARGIN_DAYS
    done = working_time(shifts, place, days_off, start_utc_s, day_count)
    while not np.isfinite(done.when(most)):
        day_count *= 2
        done = working_time(shifts, place, days_off, start_utc_s, day_count)
    ends = np.array([done.when(one) if np.isfinite(one) else np.nan for one in work.flat])
    texts = [["none" if np.isnan(end) else as_text(end, clock) for end in ends] for clock in (place, utc)]
    local_text, utc_text = (np.array(column, dtype=np.str_).reshape(work.shape) for column in texts)
    return Finish(finish=local_text, finish_utc=utc_text)
