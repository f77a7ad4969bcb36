"""Key figures of a shift: how good the data is, where the time went, the best stretch of a drive."""

import itertools
import math
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.record.sources import DEFINITION, LOG_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, TextArray, TextSeries, Values

GRADE_A_COVERAGE: Final = 0.95
GRADE_B_COVERAGE: Final = 0.80
UNASSIGNED: Final = "U0"
NOT_SCHEDULED: Final = "X4"
BREAKDOWNS: Final = ("D1", "D2", "D3", "D4", "D5", "D6")
YesNo = Literal["no", "yes"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DataGrade(Record):
    """How much of a phase is known and how far an aggregate can be trusted."""

    coverage: FloatArray
    grade: TextArray


@method(
    "record.grade.coverage",
    formulas={"coverage": Formula("q", "t_valid / t_phase")},
    found_by={
        "grade": Algorithm(
            "A from 95 % without correction or flag, B from 80 % or corrected, else C",
            invariants={"a flag is always C": lambda v: v["flagged"] == "no" or np.all(np.asarray(v["grade"]) == "C")},
        )
    },
    symbols={"valid_time_s": "t_valid", "phase_time_s": "t_phase"},
    possible={"valid_time_s": (0.0, 1e9), "phase_time_s": (0.0, 1e9)},
    kind="screening",
    source=LOG_PRACTICE,
)
def grade_of_coverage(valid_time_s: Number, phase_time_s: Number, corrected: YesNo = "no", flagged: YesNo = "no") -> DataGrade:
    """Return the share of a phase that valid data covers, and the grade of what is made of it.

    Parameters
    ----------
    valid_time_s : time with valid data.
    phase_time_s : time of the phase.
    corrected : whether values were corrected by a person or a rule.
    flagged : whether an offset, a unit or a conflict of records is suspected.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        coverage = np.divide(valid_time_s, phase_time_s)
    best = "B" if corrected == "yes" else "A"
    grade = np.where(coverage >= GRADE_A_COVERAGE, best, np.where(coverage >= GRADE_B_COVERAGE, "B", "C"))
    return DataGrade(coverage=coverage, grade=np.full_like(grade, "C") if flagged == "yes" else grade)


@dataclass(frozen=True, init=False, repr=False, eq=False)
class StopEvents(Table):
    """What happened from when to when, in seconds since the start of the shift; one column bears the word ``class``, which Python keeps for itself."""

    __annotations__ = {"class": TextArray, "start_s": FloatArray, "end_s": FloatArray}

    def __init__(self, **columns: Any) -> None:
        for name, value in columns.items():
            object.__setattr__(self, name, value)
        self.__post_init__()

    def column(self, name: str) -> Any:
        """Return a column by name."""
        return getattr(self, name)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShiftTimes(Record):
    """Where the time of a shift went."""

    class_time_s: Series
    utilisation: FloatArray
    production_share: FloatArray
    availability: FloatArray
    mean_time_between_failures_s: FloatArray
    mean_time_to_repair_s: FloatArray
    unassigned_share: FloatArray


def _is_share(name: str) -> dict[str, Any]:
    return {"between 0 and 1": lambda v: not np.any((v[name] < -1e-12) | (v[name] > 1 + 1e-12))}


@method(
    "record.downtime.shift",
    found_by={
        "class_time_s": Algorithm(
            "each second goes to the first class of the priority list that claims it; what nobody claims is U0, last",
            invariants={"every second is booked once": lambda v: np.allclose(np.sum(v["class_time_s"], axis=-1), v["shift_length_s"])},
        ),
        "utilisation": Algorithm("P1 over scheduled time, which is the shift without X4", invariants=_is_share("utilisation")),
        "production_share": Algorithm("P1 and P2 over scheduled time", invariants=_is_share("production_share")),
        "availability": Algorithm("scheduled time without D1 to D6, over scheduled time", invariants=_is_share("availability")),
        "mean_time_between_failures_s": Algorithm("scheduled time without D1 to D6, over the number of failures"),
        "mean_time_to_repair_s": Algorithm("D1 to D6 over the number of failures"),
        "unassigned_share": Algorithm("U0 over the shift", invariants=_is_share("unassigned_share")),
    },
    possible={"shift_length_s": (0.0, 1e8), "failure_count": (0.0, 1e6)},
    requires=(
        Require("events.end_s", lambda v: np.all(v["events"].column("end_s") >= v["events"].column("start_s")), "must not lie before start_s"),
        Require("priority", lambda v: np.isin(v["events"].column("class"), [*v["priority"], UNASSIGNED]), "must list every class that occurs among the events"),
    ),
    kind="identity",
    source=DEFINITION,
)
def downtime_shift(events: StopEvents, shift_length_s: Number, priority: TextSeries, failure_count: Number | None = None) -> ShiftTimes:
    """Return the time of every class in a shift and the key figures that follow.

    Parameters
    ----------
    events : class, start and end in seconds since the start of the shift; what lies outside the shift is cut off.
    shift_length_s : length of the shift.
    priority : classes in order; where events overlap, the first in the list has the time.
    failure_count : number of failures behind the times D1 to D6; without it there are no mean times.
    """
    order = [str(one) for one in np.atleast_1d(priority) if one != UNASSIGNED]

    def booked(shift_s: float, *_: Any) -> tuple[FloatArray]:
        return (_class_times_s(events, order, shift_s),)

    (times_s,) = each_place(booked, 1, (shift_length_s, failure_count))
    times_s = times_s if times_s.size else np.empty((*times_s.shape, len(order) + 1))
    shift_s = np.asarray(shift_length_s, dtype=np.float64)
    failures = np.nan if failure_count is None else np.asarray(failure_count, dtype=np.float64)
    return _key_figures(times_s, order, shift_s, failures)


def _key_figures(times_s: FloatArray, order: list[str], shift_s: FloatArray, failures: Number) -> ShiftTimes:
    def total_s(*classes: str) -> FloatArray:
        return np.asarray(sum((times_s[..., order.index(one)] for one in classes if one in order), np.zeros(times_s.shape[:-1])))

    scheduled_s, broken_s = shift_s - total_s(NOT_SCHEDULED), total_s(*BREAKDOWNS)
    with np.errstate(divide="ignore", invalid="ignore"):
        return ShiftTimes(
            class_time_s=times_s,
            utilisation=total_s("P1") / scheduled_s,
            production_share=total_s("P1", "P2") / scheduled_s,
            availability=(scheduled_s - broken_s) / scheduled_s,
            mean_time_between_failures_s=(scheduled_s - broken_s) / failures,
            mean_time_to_repair_s=broken_s / failures,
            unassigned_share=times_s[..., -1] / shift_s,
        )


def _class_times_s(events: StopEvents, order: list[str], shift_s: float) -> FloatArray:
    """Return the time of each class and of U0: the shift is cut at every start and end, each piece goes to the first class that claims it."""
    classes, start_s, end_s = events.column("class"), events.column("start_s"), events.column("end_s")
    cuts = np.unique(np.clip(np.concatenate([[0.0, shift_s], start_s, end_s]), 0.0, shift_s))
    times_s = np.zeros(len(order) + 1)
    for begin, finish in itertools.pairwise(cuts):
        claims = [order.index(one) for one, start, end in zip(classes, start_s, end_s, strict=True) if start <= begin and end >= finish and one in order]
        times_s[min(claims, default=len(order))] += finish - begin
    return times_s if math.isfinite(shift_s) else np.full(len(order) + 1, np.nan)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BestPeriod(Record):
    """Most rings within a moving window."""

    best_count: FloatArray
    best_start_s: FloatArray


def _is_best(values: Values) -> bool:
    built = np.sort(values["built_at_s"])
    start, window, best = np.broadcast_arrays(values["best_start_s"], values["window_s"], values["best_count"])
    return all(np.sum((built >= one) & (built < one + width)) == count for one, width, count in zip(start.flat, window.flat, best.flat, strict=True))


@method(
    "record.best_period.rolling",
    found_by={
        "best_count": Algorithm(
            "most rings that end within one window, over windows that start with a ring", invariants={"that many lie in the window found": _is_best}
        ),
        "best_start_s": Algorithm("end of the first ring of the earliest such window"),
    },
    possible={"window_s": (0.0, 1e9)},
    kind="identity",
    source=DEFINITION,
)
def best_period(built_at_s: Series, window_s: Number = 86400.0) -> BestPeriod:
    """Return the best rolling day, week or other period of a drive.

    Parameters
    ----------
    built_at_s : end of each ring's build; a ring counts when its build ends.
    window_s : length of the period; a ring exactly at its end no longer counts.
    """
    built = np.sort(built_at_s[np.isfinite(built_at_s)])
    window = np.asarray(window_s, dtype=np.float64)
    if not len(built):
        return BestPeriod(best_count=np.zeros(window.shape), best_start_s=np.full(window.shape, np.nan))
    beyond = np.searchsorted(built, built + window[..., None], side="left")
    counts = np.where(np.isnan(window[..., None]), np.nan, beyond - np.arange(len(built)))
    best = np.argmax(counts, axis=-1)
    return BestPeriod(best_count=counts.max(axis=-1), best_start_s=np.where(np.isnan(window), np.nan, built[best]))
