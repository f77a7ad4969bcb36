"""What the log says of every ring, as the reconciliation reads it: numpy columns by name, one entry per closed cycle."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from tunnelwright.vocabulary.types import FloatArray, IntArray, TextArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordedRings:
    """Rows of the record table in order of ring number.

    Parameters
    ----------
    ring_number : of every closed cycle, without those that the log did not see.
    numbers, words : further columns by name; a name that is absent reads as NaN or an empty word.
    """

    ring_number: FloatArray
    numbers: Mapping[str, FloatArray] = field(default_factory=dict)
    words: Mapping[str, TextArray] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """Return the number of rows."""
        return len(self.ring_number)

    def number(self, name: str) -> FloatArray:
        """Return a column of numbers, NaN where there is none."""
        return np.asarray(self.numbers[name], dtype=np.float64) if name in self.numbers else np.full(self.count, np.nan)

    def word(self, name: str) -> TextArray:
        """Return a column of words, empty where there is none."""
        return np.asarray(self.words[name], dtype=np.str_) if name in self.words else np.full(self.count, "", dtype="U1")

    def family(self, pattern: str, members: tuple[str, ...]) -> FloatArray:
        """Return the columns of a family such as ``grout_volume_{}_m3``, shape (rings, members)."""
        return np.stack([self.number(pattern.format(member)) for member in members], axis=1) if members else np.empty((self.count, 0))

    @property
    def plan_index(self) -> IntArray:
        """Return the place of every row in the arrays of a plan."""
        return (self.ring_number - 1).astype(np.int64)

    def over_plan(self, values: FloatArray, push_count: int) -> FloatArray:
        """Return values of the rows spread over all pushes of the plan, NaN where nothing was recorded."""
        spread = np.full((push_count, *np.shape(values)[1:]), np.nan)
        known = self.plan_index < push_count
        spread[self.plan_index[known]] = np.asarray(values)[known]
        return spread
