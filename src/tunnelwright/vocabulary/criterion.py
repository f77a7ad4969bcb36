"""A criterion: a value set against its limit, with a state that says what a person must do."""

from dataclasses import dataclass
from typing import Final, Literal

State = Literal["in order", "watch", "act", "not checked"]
STATES: Final[tuple[State, ...]] = ("in order", "watch", "act", "not checked")


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One row of what was checked.

    Parameters
    ----------
    name : plain name, as it stands in tables.
    value : what was found, NaN when it could not be.
    operator : how value and limit are set against each other: ``<=``, ``>=``, ``within``.
    limit_low, limit_high : the limits of `watch`; NaN where there is none.
    unit : of value and limits.
    state : what follows from it.
    comment : the reason, always present when the state is `not checked`.
    life_hangs_on_it : an unchecked reading of this kind outranks a `watch` (face, gas, next asset).
    """

    name: str
    value: float
    operator: str
    limit_low: float
    limit_high: float
    unit: str
    state: State
    comment: str = ""
    life_hangs_on_it: bool = False


def worst_state(criteria: tuple[Criterion, ...] | list[Criterion]) -> State:
    """Return the state of a ring: act > not checked of a reading that life hangs on > watch > not checked > in order."""
    if not criteria:
        return "not checked"
    return max(criteria, key=_rank).state


def _rank(criterion: Criterion) -> int:
    if criterion.state == "act":
        return 4
    if criterion.state == "not checked":
        return 3 if criterion.life_hangs_on_it else 1
    return 2 if criterion.state == "watch" else 0
