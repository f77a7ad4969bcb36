"""What the program found, counted against what the simulator did: found at its place, missed, and healthy rings accused."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

# What must be found, and by which finding or criterion it shows. A fault of the ground shows as a state, one of the log as a finding.
SHOWN_BY: dict[str, tuple[str, ...]] = {
    "over_excavation": ("muck_ratio",),
    "grout_surge": ("grout_ratio", "grout_unusual"),
    "stuck_sensor": ("stuck",),
    "stuck_ram": ("stuck",),
    "weigher_drift": ("weighers_differ", "muck_ratio"),
    "log_gap": ("rings_missing",),
    "short_gaps": ("gap",),
    "ring_mistyped": ("ring_number_corrected",),
    "spikes": ("spike",),
    "text_in_number": ("status_text",),
    "counter_roll_over": ("counter_event",),
    "counter_reset": ("counter_event",),
    "counter_zero_glitch": ("counter_event",),
    # A clock set forward cannot be told from a gap.
    "clock_step": ("clock_step", "gap", "duplicate_conflict"),
    "offset_drift": ("offset_suspect",),
    "duplicates": ("duplicate_conflict",),
}
# These must change nothing: the record has to be right without a word.
BENIGN = ("ram_reset", "interrupted_push", "night_fall_back", "shuffled_block", "ring_keyed_late")
# A spike returns within three seconds; a log with longer steps cannot show one, and a longer dip must never be called one.
LONGEST_STEP_FOR_SPIKES_S = 3.0
# A person called to a ring that has no fault of the ground, the grout or the instruments within this many rings was called in vain.
NEAR_RINGS = 1
STATES_OF_THE_GROUND = ("act",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Counts against the truth file."""

    found: dict[str, int] = field(default_factory=dict)
    planted: dict[str, int] = field(default_factory=dict)
    missed: tuple[str, ...] = ()
    accused: tuple[int, ...] = ()
    acts: tuple[int, ...] = ()
    closed: tuple[int, ...] = ()

    def lines(self) -> list[str]:
        """Return the counts as sentences."""
        counts = ", ".join(f"{kind.replace('_', ' ')} {self.found.get(kind, 0)} of {count}" for kind, count in sorted(self.planted.items()))
        lines = [
            "",
            f"Against the simulator's truth: {sum(self.found.values())} of {sum(self.planted.values())} planted faults found at their place.",
            f"   {counts}",
        ]
        if self.missed:
            lines.append(f"   missed: {'; '.join(self.missed)}")
        healthy = f"rings {', '.join(map(str, self.accused))}" if self.accused else "none"
        lines.append(f"   healthy rings called for action: {healthy}")
        if self.closed:
            lines.append(f"   rings {self.closed[0]} to {self.closed[-1]} were driven without a window, which the plan had named: an act by itself")
        return lines


def compare(simulated: Path, reconciliation: Any, findings: Iterable[Any], imported: Iterable[Any], step_s: float) -> Comparison:
    """Return the counts of findings and states against the simulator's truth file."""
    faults = json.loads((simulated / "truth_faults.json").read_text(encoding="utf-8"))
    listed, arrived = list(findings), list(imported)
    planted: dict[str, int] = {}
    found: dict[str, int] = {}
    missed = []
    for fault in faults:
        kind = fault["kind"]
        if kind not in SHOWN_BY or (kind == "spikes" and step_s > LONGEST_STEP_FOR_SPIKES_S):
            continue
        planted[kind] = planted.get(kind, 0) + 1
        if _is_found(fault, reconciliation, listed) or _has_arrived(fault, arrived):
            found[kind] = found.get(kind, 0) + 1
        else:
            missed.append(f"{kind.replace('_', ' ')} at ring {fault['first_ring']}")
    acts = tuple(int(ring) for ring in reconciliation.rings_in_state("act"))
    closed = {int(ring) for ring in reconciliation.plan.rings.ring_number[~reconciliation.plan.face.has_window]}
    touched = {
        ring
        for fault in faults
        for ring in range(fault["first_ring"] - NEAR_RINGS, fault["last_ring"] + NEAR_RINGS + 1)
        if fault["kind"] not in ("spikes", *BENIGN)
    }
    return Comparison(
        found=found,
        planted=planted,
        missed=tuple(missed),
        accused=tuple(ring for ring in acts if ring not in touched | closed),
        acts=acts,
        closed=tuple(sorted(closed & set(acts))),
    )


def _has_arrived(fault: dict[str, Any], imported: list[Any]) -> bool:
    """Return whether the import named the fault: same kind and channel, in the file of its day."""
    wanted = SHOWN_BY[fault["kind"]]
    return any(one.kind in wanted and _same_channel(fault, one) and fault["start"][:10] in one.where for one in imported)


def _is_found(fault: dict[str, Any], reconciliation: Any, findings: list[Any]) -> bool:
    if fault["kind"] == "log_gap":
        seen = set(reconciliation.recorded.ring_number.astype(int).tolist())
        return any(one.kind == "rings_missing" for one in findings) and not seen & set(range(fault["first_missing_ring"], fault["last_missing_ring"] + 1))
    first, last = fault["first_ring"] - NEAR_RINGS, fault["last_ring"] + NEAR_RINGS
    wanted = SHOWN_BY[fault["kind"]]
    for one in findings:
        if one.kind in wanted and first <= one.ring_number <= last and _same_channel(fault, one):
            return True
    for series in reconciliation.series:
        if series.key in wanted:
            rings = reconciliation.recorded.ring_number[series.state > 0]
            if any(first <= ring <= last for ring in rings):
                return True
    return False


def _same_channel(fault: dict[str, Any], finding: Any) -> bool:
    return not fault.get("channel") or not finding.channel or finding.channel == fault["channel"] or finding.channel == fault.get("counter")
