"""The reconciliation of a drive in a few honest lines: how many rings, which pushes need a person and why."""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from tunnelwright.drive.reconcile import STATE_CODE, STATE_OF_CODE, Reconciliation


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedsAPerson:
    """One push that is not in order."""

    ring_number: int
    face_chainage_m: float
    state: str
    criterion: str
    why: str
    do: str
    do_not: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Neighbouring pushes with the same state for the same reason."""

    first: NeedsAPerson
    last: NeedsAPerson
    count: int

    @property
    def rings(self) -> str:
        """Return the ring or the span of rings."""
        return str(self.first.ring_number) if self.count == 1 else f"{self.first.ring_number} to {self.last.ring_number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """What the reconciliation of a drive came to."""

    drive: str
    revision: str
    planned_count: int
    recorded_count: int
    first_ring: int
    last_ring: int
    missing_rings: tuple[int, ...]
    in_order_count: int
    watch_count: int
    act_count: int
    unchecked_count: int
    needs_a_person: tuple[NeedsAPerson, ...]

    def lines(self) -> list[str]:
        """Return the summary as sentences."""
        missing = f" The log did not see {_spans(self.missing_rings)}." if self.missing_rings else ""
        return [
            f"Drive {self.drive}: rings {self.first_ring} to {self.last_ring} of {self.planned_count}, {self.recorded_count} recorded, "
            f"plan revision {self.revision}.{missing}",
            f"{self.act_count} to act on, {self.watch_count} on watch, {self.unchecked_count} not checked, {self.in_order_count} in order."
            + (" A ring in order is one in which no reading left its limits; it does not prove that nothing was lost." if self.in_order_count else ""),
        ]

    def runs(self) -> list["Run"]:
        """Return what needs a person with neighbouring pushes of the same state and criterion joined, acts first."""
        joined: list[list[NeedsAPerson]] = []
        for one in self.needs_a_person:
            last = joined[-1][-1] if joined else None
            if last is not None and (last.state, last.criterion) == (one.state, one.criterion) and one.ring_number == last.ring_number + 1:
                joined[-1].append(one)
            else:
                joined.append([one])
        return [Run(first=part[0], last=part[-1], count=len(part)) for part in joined]

    def reasons(self) -> dict[str, int]:
        """Return how many pushes each criterion alone calls for, most first."""
        counts: dict[str, int] = {}
        for one in self.needs_a_person:
            key = f"{one.state}: {one.criterion.replace('_', ' ')}"
            counts[key] = counts.get(key, 0) + 1
        return dict(sorted(counts.items(), key=lambda item: -item[1]))

    def as_dict(self) -> dict[str, Any]:
        """Return the summary as it leaves as JSON."""
        return asdict(self)


def _spans(rings: tuple[int, ...]) -> str:
    """Return ring numbers as spans in words."""
    parts: list[list[int]] = []
    for ring in rings:
        if parts and ring == parts[-1][-1] + 1:
            parts[-1].append(ring)
        else:
            parts.append([ring])
    return ", ".join(f"ring {part[0]}" if len(part) == 1 else f"rings {part[0]} to {part[-1]}" for part in parts)


def summary_of(found: Reconciliation) -> Summary:
    """Return the summary of a reconciliation; acts first, then what was not checked, then watches."""
    rings = found.recorded.ring_number.astype(int)
    counts = {state: int((found.ring_state == code).sum()) for state, code in STATE_CODE.items()}
    every = set(range(int(rings.min()), int(rings.max()) + 1)) if len(rings) else set()
    listed = [line for row in range(len(rings)) if (line := _line(found, row)) is not None]
    order = {"act": 0, "not checked": 1, "watch": 2}
    return Summary(
        drive=found.plan.case.drive.name,
        revision=found.plan.revision,
        planned_count=found.plan.push_count,
        recorded_count=len(rings),
        first_ring=int(rings.min()) if len(rings) else 0,
        last_ring=int(rings.max()) if len(rings) else 0,
        missing_rings=tuple(sorted(every - set(rings.tolist()))),
        in_order_count=counts["in order"],
        watch_count=counts["watch"],
        act_count=counts["act"],
        unchecked_count=counts["not checked"],
        needs_a_person=tuple(sorted(listed, key=lambda line: (order[line.state], line.ring_number))),
    )


def _line(found: Reconciliation, row: int) -> NeedsAPerson | None:
    """Return the line of one recorded ring: its worst criterion and the advice for it; None when the ring is in order."""
    state = STATE_OF_CODE[int(found.ring_state[row])]
    if state == "in order":
        return None
    ring = int(found.recorded.ring_number[row])
    worst = [one for one in found.series if STATE_OF_CODE[int(one.state[row])] == state]
    if state == "not checked":
        worst = sorted((one for one in worst if one.counts_unchecked()[row]), key=lambda one: not one.life_hangs_on_it)
    advice = [one for one in found.advice(ring) if one.criterion == worst[0].key]
    reasons = "; ".join(f"{one.name.lower()}: {one.comment[row]}" for one in worst[:2])
    middle = (found.plan.rings.face_start_chainage_m[ring - 1] + found.plan.rings.face_end_chainage_m[ring - 1]) / 2
    return NeedsAPerson(
        ring_number=ring,
        face_chainage_m=float(np.round(middle, 1)),
        state=state,
        criterion=worst[0].key,
        why=reasons,
        do=advice[0].do if advice else "",
        do_not=advice[0].do_not if advice else "",
    )
