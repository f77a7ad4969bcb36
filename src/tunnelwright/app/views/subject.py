"""What every page of one drive needs: plan, record, reconciliation, and where the machine stands."""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from tunnelwright.app.holds import hold_points
from tunnelwright.app.journal import signatures
from tunnelwright.app.judging import Verdict, data_words, plan_verdict, verdict
from tunnelwright.app.planning import plan
from tunnelwright.app.reconciling import check_ring, reconciled
from tunnelwright.app.recording import Record, kept_record
from tunnelwright.app.summary import Summary, summary_of
from tunnelwright.app.workspace import Workspace
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile import Reconciliation
from tunnelwright.report.inputs import HoldPlace, Places, RingMark, RingRail
from tunnelwright.store import JournalState

SHOWN_RINGS = 300
MARKS_ON_RAIL = 400


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subject:
    """One drive as pages look at it; record and reconciliation are None before the first ring."""

    workspace: Workspace
    plan: Plan
    record: Record | None
    reconciliation: Reconciliation | None
    summary: Summary | None
    verdict: Verdict
    signed: JournalState
    data_age: str
    chosen_ring: int
    built_ring: int

    @property
    def drive(self) -> str:
        """Return the name of the drive."""
        return self.plan.case.drive.name

    @property
    def drive_title(self) -> str:
        """Return the title of the drive as people call it."""
        return self.plan.case.drive.title or self.drive


def subject_of(workspace: Workspace, drive: str = "", ring: int | None = None, now: datetime | None = None) -> Subject:
    """Return the subject of a page.

    Raises
    ------
    InputRefused
        when the drive or the ring does not exist.
    """
    made = plan(workspace, drive)
    kept = kept_record(workspace, made.case.drive.name)
    found = reconciled(workspace, made, kept) if kept is not None and kept.table.num_rows else None
    built = int(np.nanmax(found.recorded.ring_number)) if found is not None else 0
    chosen = ring if ring is not None else max(1, built)
    check_ring(made, chosen)
    moment = now or datetime.now(UTC)
    signed = signatures(workspace, made.case.drive.name)
    said = verdict(found, chosen, moment, signed) if found is not None else plan_verdict(made, signed)
    age = data_words(found) if found is not None else "no log yet"
    return Subject(
        workspace=workspace,
        plan=made,
        record=kept,
        reconciliation=found,
        summary=summary_of(found) if found is not None else None,
        verdict=said,
        signed=signed,
        data_age=age,
        chosen_ring=chosen,
        built_ring=built,
    )


def places_of(subject: Subject) -> Places:
    """Return the three chainages of every push."""
    rings, case = subject.plan.rings, subject.plan.case
    return Places(
        ring_number=rings.ring_number.astype(np.int64),
        ring_chainage_m=rings.chainage_m,
        face_start_chainage_m=rings.face_start_chainage_m,
        face_end_chainage_m=rings.face_end_chainage_m,
        grout_chainage_m=rings.chainage_m - case.machine.grout_offset_m,
        grout_ring_number=rings.grout_ring_number.astype(np.int64),
        built_ring_number=subject.built_ring,
    )


def hold_places(subject: Subject) -> tuple[HoldPlace, ...]:
    """Return the hold points ahead that nobody has released, as they stand on drawings, numbered in driving order."""
    return tuple(
        HoldPlace(number=number, chainage_m=one.chainage_m, ring_number=one.ring_number, words=one.why, href=f"?ring={one.ring_number}")
        for number, one in enumerate(hold_points(subject.plan, subject.built_ring, subject.signed.releases), start=1)
    )


def rail_of(subject: Subject, shown_from: int = 0, shown_to: int = 0) -> RingRail:
    """Return the ring rail of a page."""
    marks = subject.summary.needs_a_person[:MARKS_ON_RAIL] if subject.summary is not None else ()
    return RingRail(
        drive_name=subject.drive_title,
        ring_count=subject.plan.push_count,
        built_ring_number=subject.built_ring,
        chosen_ring=subject.chosen_ring,
        shown_from=shown_from,
        shown_to=shown_to,
        marks=tuple(RingMark(ring_number=one.ring_number, state=one.state, words=one.why) for one in marks),  # type: ignore[arg-type]
        holds=hold_places(subject),
    )


def shown_range(subject: Subject, first: int | None, last: int | None) -> tuple[int, int]:
    """Return the range of rings on the sheet: as asked, or a stretch with the chosen ring at its middle."""
    count = subject.plan.push_count
    if first is not None and last is not None and 1 <= first < last <= count:
        return first, last
    low = max(1, min(subject.chosen_ring - SHOWN_RINGS // 2, count - SHOWN_RINGS + 1))
    return low, min(count, low + SHOWN_RINGS - 1)
