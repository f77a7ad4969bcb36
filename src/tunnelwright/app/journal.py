"""What people sign: acts acknowledged and closed, hold points released, remarks; and the journal as a list."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pyarrow as pa

from tunnelwright.app.acts import OpenAct, open_act, open_acts, reasons, signed_words
from tunnelwright.app.holds import Hold, holds_ahead
from tunnelwright.app.planning import plan
from tunnelwright.app.reconciling import reconcile, ring_faults
from tunnelwright.app.recording import built_ring
from tunnelwright.app.signing import Signature, listed, on_one_line
from tunnelwright.app.workspace import Workspace
from tunnelwright.drive.reconcile import Reconciliation
from tunnelwright.report.numbers import number_text
from tunnelwright.store import JournalEntry, JournalState, NewEntry, entries_in_effect, fold
from tunnelwright.vocabulary.remark import Fault, InputRefused

Entries = tuple[JournalEntry, ...]


def journal_entries(workspace: Workspace, drive: str = "") -> Entries:
    """Return the entries of a drive in the order in which they were written; of all drives when none is named.

    Raises
    ------
    InputRefused
        when the drive is not known.
    """
    name = workspace.case(drive).drive.name if drive else ""
    return tuple(one for one in workspace.journal().entries() if name in ("", one.drive))


def signatures(workspace: Workspace, drive: str = "") -> JournalState:
    """Return where the signatures on a drive stand.

    Raises
    ------
    InputRefused
        when the drive is not known.
    """
    return fold(workspace.journal().entries(), workspace.case(drive).drive.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalLine:
    """One entry as people read it; `counts` is false once a later entry has corrected or withdrawn it."""

    id: int
    when: str
    drive: str
    ring_number: int | None
    what: str
    subject: str
    who: str
    why: str
    counts: bool


def journal_lines(workspace: Workspace, entries: Entries) -> tuple[JournalLine, ...]:
    """Return entries as people read them, newest first, on the clock of the site."""
    zone = ZoneInfo(workspace.project.calendar.time_zone)
    standing = {one.id for one in entries_in_effect(entries)} | {one.id for one in entries if one.data.get("withdraws")}
    return tuple(_line(one, zone, one.id in standing) for one in reversed(entries))


def _line(entry: JournalEntry, zone: ZoneInfo, counts: bool) -> JournalLine:
    action = f"; done: {entry.data['action']}" if entry.data.get("action") else ""
    what: str = "withdrawal" if entry.data.get("withdraws") else entry.kind
    what += f", corrects entry {entry.corrects}" if entry.corrects is not None and what != "withdrawal" else ""
    return JournalLine(
        id=entry.id,
        when=f"{datetime.fromtimestamp(entry.time_ms / 1000, zone):%d %b %Y, %H:%M}",
        drive=entry.drive,
        ring_number=entry.ring_number,
        what=what if counts else f"{what}, no longer counts",
        subject=entry.subject,
        who=", ".join(one for one in (entry.person, entry.post) if one) or "not named",
        why=f"{entry.reason}{action}",
        counts=counts,
    )


def journal_table(entries: Entries) -> pa.Table:
    """Return entries as a table, one row each, times in UTC."""
    columns: dict[str, list[Any]] = {
        "entry": [one.id for one in entries],
        "time": [datetime.fromtimestamp(one.time_ms / 1000, UTC).isoformat(timespec="seconds") for one in entries],
        **{name: [getattr(one, name) for one in entries] for name in ("drive", "ring_number", "kind", "subject", "person", "post", "reason", "corrects")},
        "data": [json.dumps(dict(one.data), ensure_ascii=False, sort_keys=True) for one in entries],
    }
    numbers = {"entry", "ring_number", "corrects"}
    return pa.table({name: pa.array(values, pa.int64() if name in numbers else pa.string()) for name, values in columns.items()})


def acknowledge(
    workspace: Workspace, drive: str, ring: int, person: str, reason: str, action: str = "", *, post: str = "", now: datetime | None = None
) -> JournalEntry:
    """Enter that a named person has taken on the open acts at one push; they stay open until somebody closes them.

    Parameters
    ----------
    reason : what the person takes the cause to be, or why driving goes on.
    action : what is being done about it.

    Raises
    ------
    InputRefused
        when the ring does not exist, nothing is open there or all of it is acknowledged, no person is named or the reason says nothing.
    """
    found = reconcile(workspace, drive)
    name, signature = found.plan.case.drive.name, Signature(person=person, post=post, reason=reason, now=now)

    def decide(entries: Entries) -> NewEntry:
        signed = fold(entries, name)
        act = open_act(found, signed, ring)
        _refuse(workspace, [*signature.faults(), *(ring_faults(found.plan, ring) or _acknowledging_faults(found, signed, ring, act))])
        keys = act.unsigned if act is not None else ()
        done = {"action": on_one_line(action)} if action.strip() else {}
        data = {"criteria": list(keys), "revision": found.plan.revision, **done}
        return signature.entry("acknowledgement", name, reasons(found, ring, "act", keys), ring, data)

    return workspace.journal().append_after(decide)


def close_act(workspace: Workspace, drive: str, ring: int, person: str, reason: str, *, post: str = "", now: datetime | None = None) -> JournalEntry:
    """Enter that a named person closes the acts at one push; they leave the head of the pages and stay in the journal.

    Raises
    ------
    InputRefused
        when the ring does not exist, nothing is open there or some of it nobody has acknowledged, no person is named or the reason says nothing.
    """
    found = reconcile(workspace, drive)
    name, signature = found.plan.case.drive.name, Signature(person=person, post=post, reason=reason, now=now)

    def decide(entries: Entries) -> NewEntry:
        signed = fold(entries, name)
        act = open_act(found, signed, ring)
        _refuse(workspace, [*signature.faults(), *(ring_faults(found.plan, ring) or _closing_faults(found, signed, ring, act))])
        keys = act.criteria if act is not None else ()
        return signature.entry("closure", name, reasons(found, ring, "act", keys), ring, {"criteria": list(keys), "revision": found.plan.revision})

    return workspace.journal().append_after(decide)


def holds_of(workspace: Workspace, drive: str = "") -> tuple[tuple[Hold, JournalEntry | None], ...]:
    """Return the holds ahead of the machine in driving order, each with the release that clears it, None while it holds.

    Raises
    ------
    InputRefused
        when the drive is not known.
    """
    made = plan(workspace, drive)
    releases = signatures(workspace, drive).releases
    return tuple((hold, hold.released_by(releases)) for hold in holds_ahead(made, built_ring(workspace, made.case.drive.name)))


def release_hold(workspace: Workspace, drive: str, hold: str, person: str, post: str, reason: str, *, now: datetime | None = None) -> JournalEntry:
    """Enter that a named person, in a named post, lets the drive pass a hold.

    Parameters
    ----------
    hold : its name, or the push before which it needs release where that is the only one.

    Raises
    ------
    InputRefused
        when no such hold lies ahead or it is released, person or post are not named or the reason says nothing.
    """
    made = plan(workspace, drive)
    name, signature = made.case.drive.name, Signature(person=person, post=post, reason=reason, now=now)
    ahead = holds_ahead(made, built_ring(workspace, name))

    def decide(entries: Entries) -> NewEntry:
        releases = fold(entries, name).releases
        waiting = [one for one in ahead if one.released_by(releases) is None]
        chosen = [one for one in waiting if hold in (one.name, str(one.ring_number))]
        _refuse(workspace, [*signature.faults(needs_post=True), *([] if len(chosen) == 1 else [_hold_fault(name, hold, chosen or waiting)])])
        one = chosen[0]
        data = {"hold": one.name, "why": one.why, "first_ring": one.first_ring, "last_ring": one.last_ring, "revision": made.revision}
        subject = f"{one.why}, push {number_text(one.first_ring)} to {number_text(one.last_ring)}"
        return signature.entry("release", name, subject, one.ring_number, data)

    return workspace.journal().append_after(decide)


def remark(workspace: Workspace, drive: str, person: str, text: str, ring: int | None = None, *, post: str = "", now: datetime | None = None) -> JournalEntry:
    """Enter a remark on a drive or on one of its rings.

    Raises
    ------
    InputRefused
        when the ring does not exist, no person is named or the remark says nothing.
    """
    made = plan(workspace, drive)
    signature = Signature(person=person, post=post, reason=text, now=now)
    _refuse(workspace, [*signature.faults(), *(ring_faults(made, ring) if ring is not None else [])])
    subject = f"ring {number_text(ring)}" if ring is not None else "the drive"
    return workspace.journal().append(signature.entry("remark", made.case.drive.name, subject, ring))


def withdraw(workspace: Workspace, entry: int, person: str, reason: str, *, post: str = "", now: datetime | None = None) -> JournalEntry:
    """Enter that an earlier entry no longer counts; it stays to be read, and what it had signed is open again.

    Raises
    ------
    InputRefused
        when no such entry counts, it is a frozen plan, no person is named or the reason says nothing.
    """
    signature = Signature(person=person, post=post, reason=reason, now=now)

    def decide(entries: Entries) -> NewEntry:
        standing = {one.id: one for one in entries_in_effect(entries) if one.kind != "plan frozen"}
        required = "must be the number of an entry that still counts and is not a frozen plan"
        unknown = Fault(where="journal", field="entry", given=str(entry), required=required, hint="`tunnelwright journal` lists them")
        _refuse(workspace, [*signature.faults(), *([] if entry in standing else [unknown])])
        old = standing[entry]
        return signature.entry("remark", old.drive, f"withdraws entry {entry}, {old.kind}: {old.subject}", old.ring_number, {"withdraws": True}, corrects=entry)

    return workspace.journal().append_after(decide)


def _refuse(workspace: Workspace, faults: list[Fault]) -> None:
    if faults:
        raise InputRefused(faults, str(workspace.folder))


def _acknowledging_faults(found: Reconciliation, signed: JournalState, ring: int, act: OpenAct | None) -> list[Fault]:
    """Return why nothing can be acknowledged at a push, an empty list when something can."""
    if act is not None and act.unsigned:
        return []
    others = [one.ring_number for one in open_acts(found, signed) if one.unsigned]
    given = f"push {ring}, acknowledged {_signed(found, act.acknowledgement)}" if act and act.acknowledgement else _nothing_open(found, signed, ring)
    return [_act_fault(found, given, "must be a push with an act that nobody has acknowledged", others)]


def _closing_faults(found: Reconciliation, signed: JournalState, ring: int, act: OpenAct | None) -> list[Fault]:
    """Return why nothing can be closed at a push, an empty list when everything open there can."""
    if act is not None and not act.unsigned:
        return []
    if act is not None:
        given = f"push {ring}, {reasons(found, ring, 'act', act.unsigned)}, not acknowledged"
        hint = f"`tunnelwright acknowledge` comes first, for push {ring}"
        return [Fault(where=found.plan.case.drive.name, field="ring", given=given, required="an act is acknowledged before it is closed", hint=hint)]
    others = [one.ring_number for one in open_acts(found, signed) if not one.unsigned]
    return [_act_fault(found, _nothing_open(found, signed, ring), "must be a push with an act that is acknowledged and open", others)]


def _act_fault(found: Reconciliation, given: str, required: str, others: list[int]) -> Fault:
    hint = f"there are {listed(others)}" if others else "there is none on this drive"
    return Fault(where=found.plan.case.drive.name, field="ring", given=given, required=required, hint=hint)


def _nothing_open(found: Reconciliation, signed: JournalState, ring: int) -> str:
    closed = signed.acts[ring].closed if ring in signed.acts else {}
    if closed:
        return f"push {ring}, closed {_signed(found, max(closed.values(), key=lambda entry: entry.id))}"
    return f"push {ring}, {found.state(ring)}"


def _signed(found: Reconciliation, entry: JournalEntry) -> str:
    return signed_words(entry, found.plan.case.project.calendar.time_zone, datetime.now(UTC))


def _hold_fault(drive: str, given: str, choices: list[Hold]) -> Fault:
    hint = "there are " + listed(f"{one.name} (before push {one.ring_number})" for one in choices) if choices else "nothing ahead waits for a release"
    return Fault(where=drive, field="hold", given=given or "nothing", required="must be the name of one hold ahead that is not released", hint=hint)
