"""The list of what was made to go wrong, for whoever checks what was found."""

import datetime
from dataclasses import dataclass, field
from typing import Any

from examples.brennholt.simulator.block import Block
from examples.brennholt.simulator.faults import PlannedFault


def utc_text(second: float) -> str:
    """Return a UTC second in ISO format."""
    return datetime.datetime.fromtimestamp(round(second), datetime.UTC).isoformat().replace("+00:00", "Z")


@dataclass(slots=True)
class FaultBook:
    """Every fault that was made, in drive order; one that lasts over several rings has one entry."""

    entries: list[dict[str, Any]] = field(default_factory=list)

    def note(self, block: Block, fault: PlannedFault, span_s: tuple[float, float], *, last_ring: int | None = None, **detail: Any) -> dict[str, Any]:
        """Write down a fault between two times of a cycle, and return the entry."""
        cycle = block.cycle
        entry = {
            "kind": fault.kind,
            "channel": fault.channel,
            "first_ring": cycle.ring_number,
            "last_ring": cycle.ring_number if last_ring is None else last_ring,
            "start": utc_text(block.push_start_s + span_s[0]),
            "end": utc_text(block.push_start_s + span_s[1]),
            "face_chainage_m": round(cycle.face_start_chainage_m, 3),
            **detail,
        }
        self.entries.append(entry)
        return entry

    def extend(self, block: Block, fault: PlannedFault, span_s: tuple[float, float], **detail: Any) -> None:
        """Lengthen the entry of a fault that lasts, or begin it."""
        ring = block.cycle.ring_number
        entry = next((one for one in self.entries if (one["kind"], one["channel"]) == (fault.kind, fault.channel)), None)
        if entry is None:
            entry = self.note(block, fault, span_s)
        entry.update(last_ring=ring, end=utc_text(block.push_start_s + span_s[1]), **detail)
