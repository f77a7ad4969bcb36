"""Record against plan for a whole drive, and the calculations behind one push."""

from tunnelwright.app.planning import plan
from tunnelwright.app.recording import Record, kept_record
from tunnelwright.app.workspace import Workspace
from tunnelwright.drive.explain import Explained, explain_push, explain_record
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile import Reconciliation
from tunnelwright.drive.reconcile import reconcile as reconcile_drive
from tunnelwright.vocabulary.remark import Fault, InputRefused

_KEPT: dict[tuple[str, str, float], Reconciliation] = {}


def reconcile(workspace: Workspace, drive: str = "") -> Reconciliation:
    """Return the reconciliation of a drive from its kept record.

    Raises
    ------
    InputRefused
        when no record was made yet.
    """
    made = plan(workspace, drive)
    name = made.case.drive.name
    kept = kept_record(workspace, name)
    if kept is None:
        raise InputRefused(
            [Fault(where=name, field="record", given="no record", required="make rings of the log first", hint="`tunnelwright record`")], str(workspace.folder)
        )
    return reconciled(workspace, made, kept)


def reconciled(workspace: Workspace, made: Plan, kept: Record) -> Reconciliation:
    """Return plan and record set against each other; for an unchanged record it is not done twice in one process."""
    path = workspace.record_file(made.case.drive.name)
    key = (str(path), made.revision, path.stat().st_mtime if path.is_file() else 0.0)
    if key not in _KEPT:
        _KEPT.clear()
        _KEPT[key] = reconcile_drive(made, kept.recorded())
    return _KEPT[key]


def explain(workspace: Workspace, ring_number: int, drive: str = "") -> list[Explained]:
    """Return the calculations behind one push, planned and, where the log saw it, measured.

    Raises
    ------
    InputRefused
        when the drive has no such ring.
    """
    made = plan(workspace, drive)
    check_ring(made, ring_number)
    kept = kept_record(workspace, made.case.drive.name) if workspace.record_file(made.case.drive.name).is_file() else None
    measured = explain_record(reconciled(workspace, made, kept), ring_number) if kept is not None else []
    return [*explain_push(made, ring_number), *measured]


def check_ring(made: Plan, ring_number: int) -> None:
    """Raise InputRefused when the drive has no ring of this number."""
    faults = ring_faults(made, ring_number)
    if faults:
        raise InputRefused(faults, made.case.drive.name)


def ring_faults(made: Plan, ring_number: int) -> list[Fault]:
    """Return the Fault of a ring number that the drive does not have, an empty list when it has."""
    if 1 <= ring_number <= made.push_count:
        return []
    return [Fault(where=made.case.drive.name, field="ring", given=str(ring_number), required=f"must lie in 1 to {made.push_count}, the rings of this drive")]
