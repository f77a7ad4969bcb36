"""Places ahead that only a signed release clears, as far as the plan alone knows them."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldPoint:
    """One place at which the drive waits for a person: before which push, where the face then stands, and why."""

    ring_number: int
    chainage_m: float
    why: str


def hold_points(plan: Plan, built_ring: int) -> tuple[HoldPoint, ...]:
    """Return the hold points ahead of the last built ring in driving order.

    Each stretch without a window and each unsealed borehole holds its first push; a stretch in which the machine already stands holds the very next one.
    """
    face = plan.face
    reasons: dict[int, list[str]] = {}
    for index in np.flatnonzero(_begins(~face.has_window, built_ring)):
        reasons.setdefault(int(index), []).append("no window")
    for name in dict.fromkeys(str(one) for one in face.loss_path if one):
        for index in np.flatnonzero(_begins(face.loss_path == name, built_ring)):
            reasons.setdefault(int(index), []).append(f"{name}, unsealed")
    return tuple(
        HoldPoint(ring_number=index + 1, chainage_m=float(plan.rings.face_start_chainage_m[index]), why="; ".join(words))
        for index, words in sorted(reasons.items())
    )


def _begins(flags: np.ndarray, built_ring: int) -> np.ndarray:
    """Return where a stretch begins among the pushes ahead."""
    ahead = np.asarray(flags, dtype=bool) & (np.arange(flags.size) >= built_ring)
    return ahead & ~np.concatenate([[False], ahead[:-1]])
