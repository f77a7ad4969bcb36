"""The verdict in one sentence: the worst open thing first, then what was not checked, then the age of the data."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from tunnelwright.app.acts import OpenAct, grave_rings, open_act, open_acts, reasons, signed_words, unchecked_first
from tunnelwright.app.holds import hold_points, holds_ahead
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile import STATE_CODE, Reconciliation
from tunnelwright.report.numbers import chainage_text, count_text, number_text
from tunnelwright.store import JournalState
from tunnelwright.vocabulary.criterion import State

MINUTES_IN_WORDS: Final = 120
HOURS_IN_WORDS: Final = 72
NOTHING_SIGNED: Final = JournalState()


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What stands at the head of a page."""

    sentence: str
    second_line: str
    state: str


def verdict(reconciliation: Reconciliation, ring_number: int, now: datetime, signed: JournalState = NOTHING_SIGNED) -> Verdict:
    """Return the verdict on a ring, led by the open acts of the whole drive.

    Parameters
    ----------
    signed : where the signatures of the journal stand: an acknowledged act stays at the head and says so, a closed one leaves it.
    """
    acts = open_acts(reconciliation, signed)
    lead = _lead(reconciliation, acts) if acts else None
    zone = reconciliation.plan.case.project.calendar.time_zone
    parts = [_act_words(reconciliation, lead, acts, zone, now)] if lead is not None else []
    if lead is None or ring_number != lead.ring_number:
        parts.append(_ring_words(reconciliation, ring_number, signed, zone, now))
    parts.append(f"Log {age_words(reconciliation, now)}." if _last_ms(reconciliation) is not None else "No log yet.")
    state = "act" if acts else _state_when_closed(reconciliation, ring_number)
    return Verdict(sentence=" ".join(parts), second_line=_second_line(reconciliation, ring_number, signed), state=state)


def plan_verdict(plan: Plan, signed: JournalState = NOTHING_SIGNED) -> Verdict:
    """Return the verdict on a drive without a record: it says nothing of the ground."""
    closed = int((~plan.face.has_window).sum())
    sentence = f"No ring recorded yet: {count_text(plan.push_count, 'push is', 'pushes are')} planned"
    sentence += f", {number_text(closed)} of them without a window." if closed else ", each with a window."
    more = " ".join(["Import the machine's log, then make rings of it.", *_hold_words(plan, 0, signed)])
    waiting = sorted(ring for ring, one in signed.acts.items() if one.waiting)
    if waiting:
        # Somebody acknowledged an act and the record is gone since: what was open is open.
        sentence = f"Open act at push {number_text(waiting[-1])}, acknowledged and not closed, and no record of it any more. {sentence}"
    return Verdict(sentence=sentence, second_line=more, state="act" if waiting else "not checked")


def _lead(reconciliation: Reconciliation, acts: tuple[OpenAct, ...]) -> OpenAct:
    """Return the act to name: one that nobody has acknowledged before the others, then one on which life hangs, then the latest."""
    grave = grave_rings(reconciliation)
    return max(acts, key=lambda act: (bool(act.unsigned), act.ring_number in grave, act.ring_number))


def _act_words(reconciliation: Reconciliation, lead: OpenAct, acts: tuple[OpenAct, ...], zone: str, now: datetime) -> str:
    why = reasons(reconciliation, lead.ring_number, "act", lead.unsigned or lead.criteria)
    head = f"Open act at push {number_text(lead.ring_number)} ({why})"
    unsigned = sum(bool(act.unsigned) for act in acts)
    if not unsigned and lead.acknowledgement is not None:
        more = f", and {number_text(len(acts) - 1)} more acknowledged and not closed" if len(acts) > 1 else ""
        return f"{head}, acknowledged {signed_words(lead.acknowledgement, zone, now)}{more}."
    more = f" and {number_text(unsigned - 1)} more" if unsigned > 1 else ""
    known = f"; {number_text(len(acts) - unsigned)} acknowledged and not closed" if len(acts) > unsigned else ""
    return f"{head}{more}, not acknowledged{known}."


def _state_when_closed(reconciliation: Reconciliation, ring_number: int) -> State:
    """Return the state of a push on a drive without open acts: one whose act a person has closed is still to be watched, not in order."""
    state = reconciliation.state(ring_number)
    if state != "act":
        return state
    grave = any(one.life_hangs_on_it and one.state == "not checked" for one in reconciliation.criteria(ring_number))
    return "not checked" if grave else "watch"


def _ring_words(reconciliation: Reconciliation, ring_number: int, signed: JournalState, zone: str, now: datetime) -> str:
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
        first = unchecked_first(reconciliation, ring_number)
        return f"{push}: {first.name.lower()} not checked, {first.comment[row]}."
    if state == "watch":
        return f"{push} on watch: {reasons(reconciliation, ring_number, state)}."
    act = open_act(reconciliation, signed, ring_number)
    if act is None:
        closed = max(signed.acts[ring_number].closed.values(), key=lambda entry: entry.id)
        return f"{push}: act ({reasons(reconciliation, ring_number, state)}) closed {signed_words(closed, zone, now)}."
    if act.unsigned or act.acknowledgement is None:
        return f"{push} needs a person: {reasons(reconciliation, ring_number, state, act.unsigned)}."
    return f"{push}: {reasons(reconciliation, ring_number, state, act.criteria)}, acknowledged {signed_words(act.acknowledgement, zone, now)}, not closed."


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


def _second_line(reconciliation: Reconciliation, ring_number: int, signed: JournalState) -> str:
    built = int(np.nanmax(reconciliation.recorded.ring_number))
    words = _hold_words(reconciliation.plan, built, signed)
    if ring_number <= built:
        counts = reconciliation.counts(ring_number)
        said = ", ".join(f"{counts[state]} {state}" for state in ("in order", "watch", "act", "not checked") if counts[state])
        words.insert(0, f"Push {number_text(ring_number)}: {said}.")
    return " ".join(words)


def _hold_words(plan: Plan, built_ring: int, signed: JournalState) -> list[str]:
    """Return the nearest hold point ahead in words."""
    ahead = hold_points(plan, built_ring, signed.releases)
    if not ahead:
        released = len(holds_ahead(plan, built_ring))
        return [f"Every hold point ahead is released ({number_text(released)})." if released else "The plan knows no hold point ahead."]
    first = ahead[0]
    stands = float(plan.rings.face_end_chainage_m[built_ring - 1]) if built_ring else float(plan.rings.face_start_chainage_m[0])
    far = number_text(first.chainage_m - stands, 1)
    return [
        f"Nearest hold point: {first.why}, at {chainage_text(first.chainage_m)}: needs release before push {number_text(first.ring_number)}, {far} m ahead."
    ]
