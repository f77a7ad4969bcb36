"""The log rows of one cycle, on their way from the sensors to the file."""

from dataclasses import dataclass, field

import numpy as np
from examples.brennholt.simulator.cycle import Cycle
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rows = NDArray[np.int64]


@dataclass(slots=True, kw_only=True)
class Block:
    """Rows of one cycle in the order in which the logger writes them.

    Parameters
    ----------
    push_start_s : UTC second of the start of the push.
    end_s : of the cycle, counted from there.
    time_s : of the rows, counted from there; the truth.
    stamp_s : UTC second as the logger's clock has it.
    texts : row, channel and the words that stand there instead of a number.
    """

    cycle: Cycle
    push_start_s: int
    end_s: float
    time_s: Array
    stamp_s: NDArray[np.int64]
    channels: dict[str, Array]
    texts: list[tuple[int, str, str]] = field(default_factory=list)

    def keep(self, rows: Rows | NDArray[np.bool_]) -> None:
        """Keep rows, in the order given."""
        self.time_s, self.stamp_s = self.time_s[rows], self.stamp_s[rows]
        self.channels = {name: values[rows] for name, values in self.channels.items()}

    def row_at(self, push_share: float) -> int:
        """Return the first row after a share of the push's duration."""
        return min(int(np.searchsorted(self.time_s, push_share * self.cycle.push_end_s)), len(self.time_s) - 1)

    def span_s(self, first_row: int, last_row: int) -> tuple[float, float]:
        """Return the true times of two rows."""
        return float(self.time_s[first_row]), float(self.time_s[last_row])
