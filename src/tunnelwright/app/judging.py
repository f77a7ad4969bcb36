"""The verdict in one sentence: the worst open thing first, then what was not checked, then the age of the data."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from tunnelwright.app.holds import hold_points
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile import STATE_CODE, STATE_OF_CODE, CriterionSeries, Reconciliation
from tunnelwright.report.numbers import chainage_text, count_text, number_text

MINUTES_IN_WORDS: Final = 120
HOURS_IN_WORDS: Final = 72


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What stands at the head of a page."""

    sentence: str
    second_line: str
    state: str


def verdict(reconciliation: Reconciliation, ring_number: int, now: datetime, acknowledged: frozenset[int] = frozenset()) -> Verdict:
    """Return the verdict on a ring, led by the open acts of the whole drive.

    Parameters
    ----------
    acknowledged : rings whose act a named person has acknowledged.
    """
    acts = [int(ring) for ring in reconciliation.rings_in_state("act") if int(ring) not in acknowledged]
    worst = _worst(reconciliation, acts) if acts else 0
    parts = [_act_words(reconciliation, worst, len(acts) - 1)] if acts else []
    if ring_number != worst:
        parts.append(_ring_words(reconciliation, ring_number))
    parts.append(f"Log {age_words(reconciliation, now)}." if _last_ms(reconciliation) is not None else "No log yet.")
    state = "act" if acts else reconciliation.state(ring_number)
    return Verdict(sentence=" ".join(parts), second_line=_second_line(reconciliation, ring_number), state=state)


def plan_verdict(plan: Plan) -> Verdict:
    """Return the verdict on a drive without a record: it says nothing of the ground."""
    closed = int((~plan.face.has_window).sum())
    sentence = f"No ring recorded yet: {count_text(plan.push_count, 'push is', 'pushes are')} planned"
    sentence += f", {number_text(closed)} of them without a window." if closed else ", each with a window."
    return Verdict(sentence=sentence, second_line=" ".join(["Import the machine's log, then make rings of it.", *_hold_words(plan, 0)]), state="not checked")


def _worst(reconciliation: Reconciliation, acts: list[int]) -> int:
    """Return the act to name: the latest on which life hangs, else the latest."""
    grave = np.zeros(reconciliation.recorded.count, dtype=bool)
    for one in reconciliation.series:
        if one.life_hangs_on_it:
            grave |= one.state == STATE_CODE["act"]
    rings = {int(ring) for ring in reconciliation.recorded.ring_number[grave]}
    return max([ring for ring in acts if ring in rings] or acts)


def _act_words(reconciliation: Reconciliation, ring: int, others: int) -> str:
    more = f" and {number_text(others)} more" if others else ""
    return f"Open act at push {number_text(ring)} ({_reasons(reconciliation, ring, 'act')}){more}, not acknowledged."


def _reasons(reconciliation: Reconciliation, ring: int, state: str) -> str:
    """Return at most two reasons of a state; what is said of advance and again of standstill is said once."""
    row = reconciliation.row_of(ring) or 0
    by_name: dict[str, str] = {}
    for one in _in_state(reconciliation, ring, state):
        by_name.setdefault(_short_name(one), _reason(one, row))
    return ", ".join(list(by_name.values())[:2])


def _short_name(one: CriterionSeries) -> str:
    return one.name.split(",")[0].lower()


def _in_state(reconciliation: Reconciliation, ring_number: int, state: str) -> list[CriterionSeries]:
    row = reconciliation.row_of(ring_number)
    return [] if row is None else [one for one in reconciliation.series if STATE_OF_CODE[int(one.state[row])] == state]


def _reason(one: CriterionSeries, row: int) -> str:
    value, name = float(one.value[row]), _short_name(one)
    if one.limit_low[row] > one.limit_high[row]:
        return "driven without a window"
    if not np.isfinite(value):
        return name
    return f"{name} {number_text(value, 2 if abs(value) < 10 else 0)} {one.unit.replace('m3', 'm³')}".rstrip()


def _ring_words(reconciliation: Reconciliation, ring_number: int) -> str:
    push = f"Push {number_text(ring_number)}"
    row = reconciliation.row_of(ring_number)
    if row is None:
        built = int(np.nanmax(reconciliation.recorded.ring_number))
        return f"{push} is planned, not driven yet." if ring_number > built else f"{push}: not checked, the log did not see it."
    state = reconciliation.state(ring_number)
    if state == "in order":
        unchecked = [one for one in reconciliation.series if one.state[row] == STATE_CODE["not checked"]]
        left = f", {len(unchecked)} not checked" if unchecked else ""
        return f"{push}: {len(reconciliation.series) - len(unchecked)} readings inside their limits{left}."
    if state == "not checked":
        open_ones = _in_state(reconciliation, ring_number, "not checked")
        first = next((one for one in open_ones if one.life_hangs_on_it), open_ones[0])
        return f"{push}: {first.name.lower()} not checked, {first.comment[row]}."
    return f"{push} {'on watch' if state == 'watch' else 'needs a person'}: {_reasons(reconciliation, ring_number, state)}."


def _last_ms(reconciliation: Reconciliation) -> float | None:
    ends = reconciliation.recorded.number("end_time_ms")
    return float(np.nanmax(ends)) if np.isfinite(ends).any() else None


def age_words(reconciliation: Reconciliation, now: datetime) -> str:
    """Return how old the log is, such as ``2 min old``; a log from the future is said to be one."""
    last = _last_ms(reconciliation)
    if last is None:
        return "not there yet"
    minutes = (now.timestamp() - last / 1000) / 60
    if minutes < -1:
        return "ahead of this computer's clock"
    if minutes < MINUTES_IN_WORDS:
        return f"{max(0.0, minutes):.0f} min old"
    return f"{minutes / 60:.0f} h old" if minutes < HOURS_IN_WORDS * 60 else f"{number_text(minutes / 1440)} days old"


def data_words(reconciliation: Reconciliation) -> str:
    """Return until when the log reaches, on the clock of the site."""
    last = _last_ms(reconciliation)
    if last is None:
        return "no log yet"
    moment = datetime.fromtimestamp(last / 1000, ZoneInfo(reconciliation.plan.case.project.calendar.time_zone))
    return f"log to {moment:%d %b %Y, %H:%M}"


def _second_line(reconciliation: Reconciliation, ring_number: int) -> str:
    built = int(np.nanmax(reconciliation.recorded.ring_number))
    words = _hold_words(reconciliation.plan, built)
    if ring_number <= built:
        counts = reconciliation.counts(ring_number)
        said = ", ".join(f"{counts[state]} {state}" for state in ("in order", "watch", "act", "not checked") if counts[state])
        words.insert(0, f"Push {number_text(ring_number)}: {said}.")
    return " ".join(words)


def _hold_words(plan: Plan, built_ring: int) -> list[str]:
    """Return the nearest hold point ahead in words."""
    ahead = hold_points(plan, built_ring)
    if not ahead:
        return ["The plan knows no hold point ahead."]
    first = ahead[0]
    stands = float(plan.rings.face_end_chainage_m[built_ring - 1]) if built_ring else float(plan.rings.face_start_chainage_m[0])
    far = number_text(first.chainage_m - stands, 1)
    return [
        f"Nearest hold point: {first.why}, at {chainage_text(first.chainage_m)}: needs release before push {number_text(first.ring_number)}, {far} m ahead."
    ]
