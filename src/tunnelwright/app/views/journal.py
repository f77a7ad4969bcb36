"""The journal page: what people signed on one drive, newest first, and what still waits for a signature."""

from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

from tunnelwright.app.acts import OpenAct, open_acts, reasons, signed_words
from tunnelwright.app.holds import Hold, holds_ahead
from tunnelwright.app.journal import JournalLine, journal_entries, journal_lines
from tunnelwright.app.views.subject import Subject, rail_of
from tunnelwright.report.inputs import RingRail


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingAct:
    """One push with an open act, why, and where its signatures stand."""

    ring_number: int
    why: str
    stands: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JournalView:
    """Everything on the journal page."""

    subject: Subject
    rail: RingRail
    lines: tuple[JournalLine, ...]
    waiting_acts: tuple[WaitingAct, ...]
    waiting_holds: tuple[Hold, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return what leaves as JSON."""
        return {
            "drive": self.subject.drive,
            "verdict": self.subject.verdict.sentence,
            "entries": [asdict(one) for one in self.lines],
            "waiting_acts": [asdict(one) for one in self.waiting_acts],
            "waiting_holds": [asdict(one) for one in self.waiting_holds],
        }


def journal_view(subject: Subject, now: datetime | None = None) -> JournalView:
    """Return the journal page of a subject."""
    found = subject.reconciliation
    acts = open_acts(found, subject.signed) if found is not None else ()
    return JournalView(
        subject=subject,
        rail=rail_of(subject),
        lines=journal_lines(subject.workspace, journal_entries(subject.workspace, subject.drive)),
        waiting_acts=tuple(_waiting(subject, act, now or datetime.now(UTC)) for act in sorted(acts, key=lambda act: (not act.unsigned, -act.ring_number))),
        waiting_holds=tuple(one for one in holds_ahead(subject.plan, subject.built_ring) if one.released_by(subject.signed.releases) is None),
    )


def _waiting(subject: Subject, act: OpenAct, now: datetime) -> WaitingAct:
    assert subject.reconciliation is not None
    if act.unsigned or act.acknowledgement is None:
        stands = "not acknowledged"
    else:
        stands = f"acknowledged {signed_words(act.acknowledgement, subject.plan.case.project.calendar.time_zone, now)}, not closed"
    return WaitingAct(ring_number=act.ring_number, why=reasons(subject.reconciliation, act.ring_number, "act", act.unsigned or act.criteria), stands=stands)
