"""A criterion over all recorded rings, and how its states are set."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from tunnelwright.vocabulary.criterion import Criterion, State
from tunnelwright.vocabulary.types import BoolArray, FloatArray, IntArray, TextArray

Place = Literal["face", "grout", "ring"]
STATE_CODE: Final[dict[State, int]] = {"in order": 0, "watch": 1, "act": 2, "not checked": 3}
STATE_OF_CODE: Final[dict[int, State]] = {code: state for state, code in STATE_CODE.items()}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CriterionSeries:
    """One criterion for every recorded ring; arrays are equally long over the rows of the record.

    Parameters
    ----------
    key : short name in addresses and tables.
    name : plain name.
    place : where on the drive the value belongs: the face of the push, the ring round which grout went, or the ring itself.
    value, limit_low, limit_high : limits are those of `watch`, NaN where there is none.
    state : code of the state, see `STATE_CODE`.
    comment : the reason; always there when the state is not `in order`.
    method : registered method behind the value, empty where it is a plain reading.
    applies : where the criterion has a place at all, everywhere when left out; grout has none before the tail has left the launch.
    over_rings : looks at a run of rings; while it lacks its base it is shown as not checked, but says nothing of the ring itself.
    """

    key: str
    name: str
    place: Place
    unit: str
    operator: str
    value: FloatArray
    limit_low: FloatArray
    limit_high: FloatArray
    state: IntArray
    comment: TextArray
    life_hangs_on_it: bool = False
    method: str = ""
    over_rings: bool = False
    applies: BoolArray | None = None

    def counts_unchecked(self) -> BoolArray:
        """Return where a missing value counts for the state of the ring."""
        missing = self.state == STATE_CODE["not checked"]
        if self.over_rings:
            return np.zeros_like(missing)
        return missing if self.applies is None else missing & self.applies

    def at(self, row: int) -> Criterion:
        """Return the criterion of one row of the record."""
        return Criterion(
            name=self.name,
            value=float(self.value[row]),
            operator=self.operator,
            limit_low=float(self.limit_low[row]),
            limit_high=float(self.limit_high[row]),
            unit=self.unit,
            state=STATE_OF_CODE[int(self.state[row])],
            comment=str(self.comment[row]),
            life_hangs_on_it=self.life_hangs_on_it,
        )


def states(count: int, *, act: ArrayLike, watch: ArrayLike, unchecked: ArrayLike) -> IntArray:
    """Return state codes: what was not checked stays so, act outranks watch."""
    code = np.zeros(count, dtype=np.int64)
    code[np.asarray(watch, dtype=bool)] = STATE_CODE["watch"]
    code[np.asarray(act, dtype=bool)] = STATE_CODE["act"]
    code[np.asarray(unchecked, dtype=bool)] = STATE_CODE["not checked"]
    return code


def full(count: int, value: float) -> FloatArray:
    """Return a constant over the rows."""
    return np.full(count, value)


def words(count: int, *choices: tuple[ArrayLike, list[str] | str]) -> TextArray:
    """Return a comment per row: the first choice whose condition holds; empty where none does."""
    comment = np.full(count, "", dtype=object)
    for condition, text in reversed(choices):
        rows = np.flatnonzero(np.asarray(condition, dtype=bool))
        for row in rows:
            comment[row] = text if isinstance(text, str) else text[row]
    return comment.astype(np.str_)


def worst_codes(series: list[CriterionSeries], count: int) -> IntArray:
    """Return the state of every ring: act > not checked of a reading that life hangs on > watch > not checked > in order."""
    rank = np.zeros(count)
    code = np.zeros(count, dtype=np.int64)
    for one in series:
        own = np.select([one.state == 2, one.counts_unchecked(), one.state == 1], [4, 3 if one.life_hangs_on_it else 1, 2], 0)
        code = np.where(own > rank, one.state, code)
        rank = np.maximum(rank, own)
    return code
