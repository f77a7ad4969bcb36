"""How far an aggregate can be trusted: coverage, flags, grade."""

from collections.abc import Sequence
from typing import Final

from tunnelwright.logs.context import Thresholds
from tunnelwright.logs.quality import Quality

WORST: Final = Quality.OFFSET_SUSPECT | Quality.UNIT_SUSPECT | Quality.CONFLICT
WORDS: Final = {
    Quality.MISSING: "missing",
    Quality.OUT_OF_RANGE: "out_of_range",
    Quality.SPIKE: "spike",
    Quality.STUCK: "stuck",
    Quality.OFFSET_SUSPECT: "offset_suspect",
    Quality.COUNTER_EVENT: "counter_event",
    Quality.GAP: "gap",
    Quality.CONFLICT: "conflict",
    Quality.UNIT_SUSPECT: "unit_suspect",
}


def coverage_of(valid_s: float, phase_s: float) -> float:
    """Return the share of a phase that has valid readings, 0 for a phase without any time."""
    return min(1.0, valid_s / phase_s) if phase_s > 0 else 0.0


def grade_of(coverage: float, flags: Quality, is_corrected: bool, limits: Thresholds) -> str:
    """Return A, B or C.

    Parameters
    ----------
    flags : of the aggregate; an offset, a unit or a conflict in doubt make it C.
    is_corrected : a reading was replaced or a sensor left out, or two ways of measuring differ.
    """
    if coverage < limits.fair_coverage or flags & WORST:
        return "C"
    return "B" if coverage < limits.full_coverage or flags or is_corrected else "A"


def words_of(flags: Quality) -> str:
    """Return the words of flags, in the order of their bits; empty when there is none."""
    return " ".join(word for bit, word in WORDS.items() if flags & bit)


def joined(flags: Sequence[Quality]) -> Quality:
    """Return what any of several sets of flags says."""
    total = Quality(0)
    for one in flags:
        total |= one
    return total
