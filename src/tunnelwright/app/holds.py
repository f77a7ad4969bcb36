"""Places ahead that only a signed release clears, as far as the plan alone knows them."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.plan import Plan
from tunnelwright.store import JournalEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """One stretch ahead at which the drive waits for a person, for one reason.

    Parameters
    ----------
    name : by which a person releases it; it stays the same while the machine drives into the stretch.
    first_ring, last_ring : pushes of the whole stretch.
    ring_number : push before which it needs release: the first of the stretch, or the very next one where the machine already stands in it.
    chainage_m : of the face before that push.
    """

    name: str
    why: str
    first_ring: int
    last_ring: int
    ring_number: int
    chainage_m: float

    def released_by(self, releases: Iterable[JournalEntry]) -> JournalEntry | None:
        """Return the release that covers all pushes still ahead; one for a shorter stretch, as an older plan had it, clears nothing."""
        for one in releases:
            same = one.data.get("why") == self.why
            if same and one.data.get("first_ring", 0) <= self.ring_number and self.last_ring <= one.data.get("last_ring", -1):
                return one
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldPoint:
    """One place at which the drive waits for a person: before which push, where the face then stands, and why."""

    ring_number: int
    chainage_m: float
    why: str
    names: tuple[str, ...]


def hold_points(plan: Plan, built_ring: int, releases: Iterable[JournalEntry] = ()) -> tuple[HoldPoint, ...]:
    """Return the places ahead of the last built ring that nobody has released, in driving order; holds before the same push are one place."""
    signed = tuple(releases)
    places: dict[int, list[Hold]] = {}
    for hold in holds_ahead(plan, built_ring):
        if hold.released_by(signed) is None:
            places.setdefault(hold.ring_number, []).append(hold)
    return tuple(
        HoldPoint(
            ring_number=ring,
            chainage_m=holds[0].chainage_m,
            why="; ".join(one.why for one in holds),
            names=tuple(one.name for one in holds),
        )
        for ring, holds in places.items()
    )


def holds_ahead(plan: Plan, built_ring: int) -> tuple[Hold, ...]:
    """Return every hold ahead of the last built ring in driving order, released or not: stretches without a window and unsealed boreholes."""
    face = plan.face
    found = _stretches(plan, ~face.has_window, "no window", "no-window", built_ring)
    for name in dict.fromkeys(str(one) for one in face.loss_path if one):
        found += _stretches(plan, face.loss_path == name, f"{name}, unsealed", "-".join(name.split()), built_ring)
    return tuple(sorted(found, key=lambda hold: hold.ring_number))


def _stretches(plan: Plan, flags: np.ndarray, why: str, stem: str, built_ring: int) -> list[Hold]:
    """Return a hold for each stretch of flagged pushes that does not lie wholly behind the machine."""
    steps = np.diff(np.concatenate([[False], np.asarray(flags, dtype=bool), [False]]).astype(int))
    found = []
    for first, last in zip(np.flatnonzero(steps == 1) + 1, np.flatnonzero(steps == -1), strict=True):
        if last > built_ring:
            ring = max(int(first), built_ring + 1)
            chainage_m = float(plan.rings.face_start_chainage_m[ring - 1])
            hold = Hold(name=f"{stem}-{first}", why=why, first_ring=int(first), last_ring=int(last), ring_number=ring, chainage_m=chainage_m)
            found.append(hold)
    return found
