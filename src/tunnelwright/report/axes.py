"""Axes: places in pixels, ticks at round numbers, and which tick labels must go so that none touch."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from tunnelwright.report.numbers import number_text

FloatArray = npt.NDArray[np.float64]
LABEL_HEIGHT_PX: Final = 13.0


@dataclass(frozen=True, slots=True)
class Tick:
    """One tick: its value, its words (empty for a tick without label), and whether the words are bold."""

    value: float
    words: str
    is_bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """A straight scale between two values and two places on the sheet.

    Parameters
    ----------
    low, high : values at the two ends.
    start_px, end_px : places of the two ends on the sheet; an upward axis has its start below its end.
    ticks : round values with their words.
    """

    low: float
    high: float
    start_px: float
    end_px: float
    ticks: tuple[Tick, ...] = ()

    @property
    def px_per_unit(self) -> float:
        """Return pixels per unit, negative on an upward axis."""
        return (self.end_px - self.start_px) / (self.high - self.low)

    def px(self, value: float) -> float:
        """Return the place of one value."""
        return self.start_px + (value - self.low) * self.px_per_unit

    def pixels(self, values: npt.ArrayLike) -> FloatArray:
        """Return the places of many values; NaN stays NaN."""
        return self.start_px + (np.asarray(values, dtype=np.float64) - self.low) * self.px_per_unit

    def value(self, place_px: float) -> float:
        """Return the value at a place."""
        return self.low + (place_px - self.start_px) / self.px_per_unit


def nice_step(span: float, most_steps: int, multiples: Sequence[float] = (1.0, 2.0, 5.0)) -> float:
    """Return the smallest round step with which a span has at most so many steps."""
    if not span > 0:
        return 1.0
    least = span / max(most_steps, 1)
    decade = 10.0 ** math.floor(math.log10(least))
    for factor in (1.0, 10.0):
        for multiple in multiples:
            if multiple * decade * factor >= least * (1 - 1e-9):
                return multiple * decade * factor
    return 10.0 * decade * multiples[-1]


def decimals_of_step(step: float) -> int:
    """Return the decimals needed to tell the multiples of a step apart."""
    for decimals in range(7):
        if abs(round(step, decimals) - step) < 1e-9 * max(step, 1e-9):
            return decimals
    return 7


def nice_values(low: float, high: float, step: float) -> FloatArray:
    """Return the multiples of a step from low to high, both ends included when they are multiples."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return np.arange(first, last + 1, dtype=np.float64) * step


def number_ticks(low: float, high: float, most_steps: int, *, is_signed: bool = False) -> tuple[Tick, ...]:
    """Return ticks at round numbers between two values, whichever is the larger."""
    below, above = min(low, high), max(low, high)
    step = nice_step(above - below, most_steps, (1.0, 2.0, 2.5, 5.0))
    decimals = decimals_of_step(step)
    return tuple(Tick(float(value), number_text(float(value), decimals, is_signed=is_signed)) for value in nice_values(below, above, step))


def value_range(arrays: Sequence[npt.ArrayLike | None], *, share: float = 0.08, least: float = 1e-9) -> tuple[float, float]:
    """Return a range that holds all values with a little air; 0 to 1 when there is nothing."""
    found = [array[np.isfinite(array)] for array in (np.asarray(one, dtype=np.float64).ravel() for one in arrays if one is not None)]
    found = [array for array in found if array.size]
    if not found:
        return 0.0, 1.0
    low, high = min(float(array.min()) for array in found), max(float(array.max()) for array in found)
    air = max((high - low) * share, least, abs(high) * 1e-3)
    return low - air, high + air


def without_touching_ends(axes: Sequence[Axis], least_px: float = LABEL_HEIGHT_PX) -> tuple[Axis, ...]:
    """Return upright axes of strips that stand one below the other without tick labels that touch those of the neighbour.

    The end ticks go first: of two that touch, the lower one of the upper strip loses its words, unless it is the last that strip has.
    """
    done = list(axes)
    for index in range(len(done) - 1):
        upper, lower = done[index], done[index + 1]
        if not upper.ticks or not lower.ticks:
            continue
        bottom, top = max(upper.ticks, key=lambda tick: upper.px(tick.value)), min(lower.ticks, key=lambda tick: lower.px(tick.value))
        if lower.px(top.value) - upper.px(bottom.value) >= least_px:
            continue
        if len(upper.ticks) > 1:
            done[index] = _without(upper, bottom)
        else:
            done[index + 1] = _without(lower, top)
    return tuple(done)


def _without(axis: Axis, dropped: Tick) -> Axis:
    return Axis(low=axis.low, high=axis.high, start_px=axis.start_px, end_px=axis.end_px, ticks=tuple(tick for tick in axis.ticks if tick is not dropped))


def spaced_ticks(axis: Axis, widths_px: Sequence[float], gap_px: float = 10.0) -> tuple[Tick, ...]:
    """Return the ticks of a lying axis whose words keep a gap, the first and last before those between."""
    order = sorted(range(len(axis.ticks)), key=lambda index: (index not in (0, len(axis.ticks) - 1), index))
    taken: list[tuple[float, float]] = []
    kept: set[int] = set()
    for index in order:
        middle, half = axis.px(axis.ticks[index].value), widths_px[index] / 2
        if all(middle + half + gap_px <= low or middle - half - gap_px >= high for low, high in taken):
            taken.append((middle - half, middle + half))
            kept.add(index)
    return tuple(tick if index in kept else Tick(tick.value, "") for index, tick in enumerate(axis.ticks))
