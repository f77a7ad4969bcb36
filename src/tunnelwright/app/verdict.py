"""The verdict in one sentence: the worst open thing first, then what was not checked, then the age of the data."""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from tunnelwright.drive.reconcile import STATE_CODE, STATE_OF_CODE, CriterionSeries, Reconciliation


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
    parts = []
    if acts:
        parts.append(_act_words(reconciliation, acts))
    parts.append(_ring_words(reconciliation, ring_number))
    parts.append(age_words(reconciliation, now))
    state = "act" if acts else reconciliation.state(ring_number)
    return Verdict(sentence=" ".join(parts), second_line=_second_line(reconciliation, ring_number), state=state)


def _act_words(reconciliation: Reconciliation, acts: list[int]) -> str:
    worst = acts[-1]
    reasons = ", ".join(_reason(one, reconciliation.row_of(worst) or 0) for one in _in_state(reconciliation, worst, "act")[:2])
    others = f" and {len(acts) - 1} more" if len(acts) > 1 else ""
    return f"Open act at push {worst} ({reasons}){others}, not acknowledged."


def _in_state(reconciliation: Reconciliation, ring_number: int, state: str) -> list[CriterionSeries]:
    row = reconciliation.row_of(ring_number)
    return [] if row is None else [one for one in reconciliation.series if STATE_OF_CODE[int(one.state[row])] == state]


def _reason(one: CriterionSeries, row: int) -> str:
    value = float(one.value[row])
    number = f" {value:.2f}" if np.isfinite(value) and abs(value) < 10 else (f" {value:.0f} {one.unit}".rstrip() if np.isfinite(value) else "")
    return f"{one.name.split(',')[0].lower()}{number}"


def _ring_words(reconciliation: Reconciliation, ring_number: int) -> str:
    row = reconciliation.row_of(ring_number)
    if row is None:
        return f"Push {ring_number}: the log did not see it."
    state = reconciliation.state(ring_number)
    if state == "in order":
        unchecked = [one for one in reconciliation.series if one.state[row] == STATE_CODE["not checked"]]
        left = f", {len(unchecked)} not checked" if unchecked else ""
        return f"Push {ring_number}: {len(reconciliation.series) - len(unchecked)} readings inside their limits{left}."
    if state == "not checked":
        life = [one for one in _in_state(reconciliation, ring_number, "not checked") if one.life_hangs_on_it]
        names = life or _in_state(reconciliation, ring_number, "not checked")
        return f"Push {ring_number}: {names[0].name.lower()} not checked, {names[0].comment[row]}."
    reasons = ", ".join(_reason(one, row) for one in _in_state(reconciliation, ring_number, state)[:2])
    return f"Push {ring_number} {'on watch' if state == 'watch' else 'needs a person'}: {reasons}."


def age_words(reconciliation: Reconciliation, now: datetime) -> str:
    """Return how old the log is."""
    ends = reconciliation.recorded.number("end_time_ms")
    if not np.isfinite(ends).any():
        return "No log yet."
    last = datetime.fromtimestamp(float(np.nanmax(ends)) / 1000, UTC)
    minutes = (now - last).total_seconds() / 60
    if minutes < 0:
        return f"Log to {last:%d %b %Y, %H:%M} UTC, ahead of this computer's clock."
    if minutes < 120:
        return f"Log {minutes:.0f} min old."
    return (
        f"Log to {last:%d %b %Y, %H:%M} UTC, {minutes / 60:.0f} h old."
        if minutes < 72 * 60
        else f"Log to {last:%d %b %Y, %H:%M} UTC, {minutes / 1440:.0f} days old."
    )


def _second_line(reconciliation: Reconciliation, ring_number: int) -> str:
    counts = reconciliation.counts(ring_number)
    said = ", ".join(f"{counts[state]} {state}" for state in ("in order", "watch", "act", "not checked") if counts[state])
    ahead = reconciliation.plan.face
    closed = [int(one) + 1 for one in np.flatnonzero(~ahead.has_window) if one + 1 > ring_number]
    paths = [int(one) + 1 for one in np.flatnonzero(ahead.loss_path != "") if one + 1 > ring_number]
    notes = []
    if closed:
        notes.append(f"No window at push {closed[0]}: needs a decision before the face comes there.")
    if paths:
        notes.append(f"Unsealed borehole {ahead.loss_path[paths[0] - 1]} near the face from push {paths[0]}.")
    return " ".join([f"Push {ring_number}: {said}.", *notes])
