"""Open acts of a drive: what the reconciliation calls for, less what named persons have closed, and the reasons in words."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from tunnelwright.drive.reconcile import STATE_CODE, STATE_OF_CODE, CriterionSeries, Reconciliation
from tunnelwright.report.numbers import number_text
from tunnelwright.store import ActSignatures, JournalEntry, JournalState
from tunnelwright.vocabulary.criterion import State

NAMED_REASONS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenAct:
    """The acts at one push that nobody has closed.

    Parameters
    ----------
    criteria : keys of all of them.
    unsigned : keys of those that nobody has acknowledged.
    acknowledgement : the latest one, None when there is none.
    """

    ring_number: int
    criteria: tuple[str, ...]
    unsigned: tuple[str, ...]
    acknowledgement: JournalEntry | None

    def as_dict(self) -> dict[str, Any]:
        """Return the act as it leaves as JSON."""
        signed = self.acknowledgement
        by = {"person": signed.person, "time_ms": signed.time_ms, "reason": signed.reason} if signed is not None else None
        return {"ring_number": self.ring_number, "criteria": list(self.criteria), "unsigned": list(self.unsigned), "acknowledged": by}


def open_acts(reconciliation: Reconciliation, signed: JournalState) -> tuple[OpenAct, ...]:
    """Return the open acts of a drive in order of pushes.

    An act is open while its criterion stands at act and nobody has closed it; once acknowledged it stays open until closed, even if the condition is gone.
    """
    rings = {int(ring) for ring in reconciliation.rings_in_state("act")} | {ring for ring, one in signed.acts.items() if one.waiting}
    return tuple(act for ring in sorted(rings) if (act := open_act(reconciliation, signed, ring)) is not None)


def open_act(reconciliation: Reconciliation, signed: JournalState, ring_number: int) -> OpenAct | None:
    """Return what is open at one push, None when nothing is."""
    given = signed.acts.get(ring_number, ActSignatures())
    raised = act_criteria(reconciliation, ring_number)
    criteria = tuple(key for key in dict.fromkeys([*raised, *given.waiting]) if key not in given.closed)
    if not criteria:
        return None
    entries = [given.acknowledged[key] for key in criteria if key in given.acknowledged]
    return OpenAct(
        ring_number=ring_number,
        criteria=criteria,
        unsigned=tuple(key for key in criteria if key not in given.acknowledged),
        acknowledgement=max(entries, key=lambda entry: entry.id, default=None),
    )


def act_criteria(reconciliation: Reconciliation, ring_number: int) -> tuple[str, ...]:
    """Return the keys of the criteria that stand at act at one push."""
    return tuple(one.key for one in _in_state(reconciliation, ring_number, "act"))


def reasons(reconciliation: Reconciliation, ring_number: int, state: State, keys: tuple[str, ...] | None = None) -> str:
    """Return at most two reasons of a state at one push; what is said of advance and again of standstill is said once.

    Parameters
    ----------
    keys : only these criteria; one of them that is no longer in the state is said to have cleared.
    """
    row = reconciliation.row_of(ring_number) or 0
    by_name: dict[str, str] = {}
    for one in _in_state(reconciliation, ring_number, state):
        if keys is None or one.key in keys:
            by_name.setdefault(short_name(one), _reason(one, row))
    for one in reconciliation.series:
        if keys is not None and one.key in keys:
            by_name.setdefault(short_name(one), f"{short_name(one)} cleared since")
    return ", ".join(list(by_name.values())[:NAMED_REASONS])


def short_name(one: CriterionSeries) -> str:
    """Return the name of a criterion without what stands behind its comma."""
    return one.name.split(",")[0].lower()


def unchecked_first(reconciliation: Reconciliation, ring_number: int) -> CriterionSeries:
    """Return the unchecked criterion to name at a push: one that life hangs on before all others."""
    unchecked = _in_state(reconciliation, ring_number, "not checked")
    return next((one for one in unchecked if one.life_hangs_on_it), unchecked[0])


def _in_state(reconciliation: Reconciliation, ring_number: int, state: State) -> list[CriterionSeries]:
    row = reconciliation.row_of(ring_number)
    return [] if row is None else [one for one in reconciliation.series if STATE_OF_CODE[int(one.state[row])] == state]


def _reason(one: CriterionSeries, row: int) -> str:
    value, name = float(one.value[row]), short_name(one)
    if one.limit_low[row] > one.limit_high[row]:
        return "driven without a window"
    if not np.isfinite(value):
        return name
    return f"{name} {number_text(value, 2 if abs(value) < 10 else 0)} {one.unit.replace('m3', 'm³')}".rstrip()


def grave_rings(reconciliation: Reconciliation) -> set[int]:
    """Return the pushes with an act on which life hangs."""
    grave = np.zeros(reconciliation.recorded.count, dtype=bool)
    for one in reconciliation.series:
        if one.life_hangs_on_it:
            grave |= one.state == STATE_CODE["act"]
    return {int(ring) for ring in reconciliation.recorded.ring_number[grave]}


def signed_words(entry: JournalEntry, zone: str, now: datetime) -> str:
    """Return day and person of a signature on the clock of the site; the year only when it is not this one."""
    day = datetime.fromtimestamp(entry.time_ms / 1000, ZoneInfo(zone))
    year = f" {day:%Y}" if day.year != now.astimezone(ZoneInfo(zone)).year else ""
    return f"{day.day} {day:%b}{year} by {entry.person}"
