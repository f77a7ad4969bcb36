"""Ram groups: out together in the push, back one by one while the ring is built."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from examples.brennholt.simulator.push import Advance
from numpy.typing import NDArray

Array = NDArray[np.float64]

# The group whose rams make room for each segment, from the invert upwards; the key comes last.
VISITS: Final = ("bottom", "right", "left", "right", "left", "top")
CONTACT_M: Final = 0.45
RETRACTED_M: Final = 0.26
RETREAT_S, RETURN_S = 30.0, 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RamPosition:
    """Mean extension of all groups, and how far each stands off it (steering and taper)."""

    mean_m: float
    offset_m: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class RamReset:
    """Some groups let go and grip again in a halt of the push."""

    start_s: float
    groups: tuple[str, ...]
    amount_m: float


Knots = tuple[Array, Array]


def ram_knots(
    advance: Advance, start: RamPosition, end_offset_m: dict[str, float], after: RamPosition, build_start_s: float, segment_s: tuple[float, ...],
    end_s: float, fall_back_m: float = 0.0, reset: RamReset | None = None,
) -> dict[str, Knots]:  # fmt: skip
    """Return times and extensions of every group over one cycle.

    Parameters
    ----------
    start : at the start of the push.
    end_offset_m : of every group at the end of the push.
    after : in contact with the new ring, before any fall-back.
    fall_back_m : how far the shield creeps back from the end of the build to the end of the cycle.
    """
    share = advance.stroke_m / advance.stroke_m[-1]
    visit_starts = build_start_s + np.concatenate([[0.0], np.cumsum(segment_s)[:-1]])
    knots: dict[str, Knots] = {}
    for group, offset in start.offset_m.items():
        pushed = start.mean_m + advance.stroke_m + offset + (end_offset_m[group] - offset) * share
        if reset is not None and group in reset.groups:
            pushed = pushed - _let_go(advance.time_s, reset)
        contact = after.mean_m + after.offset_m[group]
        times, extensions = [*advance.time_s], [*pushed]
        for visited, visit_start, lasting in zip(VISITS, visit_starts, segment_s, strict=True):
            if visited == group:
                times += [visit_start, visit_start + RETREAT_S, visit_start + lasting - RETURN_S, visit_start + lasting]
                extensions += [extensions[-1], RETRACTED_M, RETRACTED_M, contact]
        knots[group] = np.array([*times, build_start_s + sum(segment_s), end_s]), np.array([*extensions, contact, contact - fall_back_m])
    return knots


def _let_go(time_s: Array, reset: RamReset) -> Array:
    """Return how far reset rams are back at times: out of contact in half a minute, two minutes later in contact again."""
    return reset.amount_m * np.interp(time_s - reset.start_s, [0.0, 30.0, 150.0, 180.0], [0.0, 1.0, 1.0, 0.0])
