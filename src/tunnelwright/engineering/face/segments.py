"""Exact dynamic programme that breaks a drive into runs of rings with one target each."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.vocabulary.types import FloatArray

# Multiples are taken as such when they miss a limit by no more than this share of the step.
_ROUNDING: Final = 1e-9
_FINE_STEPS: Final = 5


@dataclass(frozen=True, slots=True, eq=False)
class BestSegments:
    """Breaks and targets of the least cost; ring positions from 1."""

    cost: float
    first_ring: FloatArray
    last_ring: FloatArray
    segment_target_kpa: FloatArray
    target_kpa: FloatArray
    no_window_ring: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """Successive rings that all have a window, with prefix sums of what they prefer, measured from the first ring's."""

    low: FloatArray
    high: FloatArray
    fineness: FloatArray
    reference: float
    sums: FloatArray
    squares: FloatArray


def best_segments(
    low_kpa: FloatArray, high_kpa: FloatArray, preferred_kpa: FloatArray, penalty: float, step_kpa: float, scale_kpa: float, rings_max: int
) -> BestSegments:
    """Return the least costly way to break the drive; rings without a window get no target and break it anyway."""
    if np.isnan(penalty + step_kpa + scale_kpa):
        return BestSegments(np.nan, np.empty(0), np.empty(0), np.empty(0), np.full(len(low_kpa), np.nan), np.empty(0))
    usable = (low_kpa <= high_kpa) & ~np.isnan(preferred_kpa)
    target_kpa = np.full(len(low_kpa), np.nan)
    segments: list[tuple[int, int, float]] = []
    cost = 0.0
    for start, stop in _runs(usable):
        run = _run_of(low_kpa[start:stop], high_kpa[start:stop], preferred_kpa[start:stop], step_kpa)
        run_cost, found = _solve(run, penalty, step_kpa, scale_kpa, rings_max)
        cost += run_cost
        segments += [(start + first, start + last, target) for first, last, target in found]
    for first, last, target in segments:
        target_kpa[first : last + 1] = target
    table = np.array(segments, dtype=np.float64).reshape(-1, 3)
    return BestSegments(cost, table[:, 0] + 1, table[:, 1] + 1, table[:, 2], target_kpa, np.flatnonzero(~usable).astype(np.float64) + 1)


def _runs(usable: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], usable.astype(int), [0]])))
    return [(int(start), int(stop)) for start, stop in edges.reshape(-1, 2)]


def _run_of(low: FloatArray, high: FloatArray, preferred: FloatArray, step: float) -> _Run:
    reference = float(preferred[0])
    centred = preferred - reference
    fineness = np.where(_holds_multiple(low, high, step), 0.0, np.where(_holds_multiple(low, high, step / _FINE_STEPS), 1.0, 2.0))
    return _Run(low, high, fineness, reference, np.concatenate([[0.0], np.cumsum(centred)]), np.concatenate([[0.0], np.cumsum(np.square(centred))]))


def _holds_multiple(low: FloatArray, high: FloatArray, step: float) -> FloatArray:
    return np.asarray(np.ceil(low / step - _ROUNDING) <= np.floor(high / step + _ROUNDING))


def _solve(run: _Run, penalty: float, step: float, scale: float, rings_max: int) -> tuple[float, list[tuple[int, int, float]]]:
    """Return cost and segments (first, last, target), positions from 0 within the run."""
    count = len(run.low)
    low, high, fineness = np.full(count, -np.inf), np.full(count, np.inf), np.zeros(count)
    cost, changes, margin = np.zeros(count + 1), np.zeros(count + 1), np.full(count + 1, np.inf)
    begins, targets = np.zeros(count, dtype=int), np.zeros(count)
    for last in range(count):
        first = max(0, last + 1 - rings_max)
        window = slice(first, last + 1)
        low[window] = np.maximum(low[window], run.low[last])
        high[window] = np.minimum(high[window], run.high[last])
        fineness[window] = np.maximum(fineness[window], run.fineness[last])
        wanted = run.reference + (run.sums[last + 1] - run.sums[window]) / np.arange(last + 1 - first, 0, -1)
        target = _targets(low[window], high[window], fineness[window], wanted, step)
        total = cost[window] + _segment_cost(run, window, last, target, scale)
        changed = changes[window].copy()
        if first == 0:
            total[1:] += penalty
            changed[1:] += 1
        else:
            total += penalty
            changed += 1
        least_margin = np.minimum(margin[window], np.minimum(target - low[window], high[window] - target))
        best = _first_of_equals(total, changed, least_margin)
        begins[last], targets[last] = first + best, target[best]
        cost[last + 1], changes[last + 1], margin[last + 1] = total[best], changed[best], least_margin[best]
    return float(cost[count]), _traced(begins, targets)


def _segment_cost(run: _Run, window: slice, last: int, target: FloatArray, scale: float) -> FloatArray:
    """Return the cost of segments from each ring of the window to the last; infinite where no target fits."""
    count = np.arange(last + 1 - window.start, 0, -1)
    total = run.sums[last + 1] - run.sums[window]
    offset = np.where(np.isnan(target), 0.0, target - run.reference)
    squares = count * np.square(offset) - 2 * offset * total + (run.squares[last + 1] - run.squares[window])
    return np.where(np.isnan(target), np.inf, np.maximum(squares, 0.0) / scale**2)


def _targets(low: FloatArray, high: FloatArray, fineness: FloatArray, wanted: FloatArray, step: float) -> FloatArray:
    """Return the admissible target nearest to what is wanted, NaN where there is none; of two as near the one with more margin."""
    rounded = np.where(fineness == 1, step / _FINE_STEPS, step)
    least, most = np.ceil(low / rounded - _ROUNDING), np.floor(high / rounded + _ROUNDING)
    below = np.clip(np.floor(wanted / rounded), least, most) * rounded
    above = np.clip(np.floor(wanted / rounded) + 1, least, most) * rounded
    nearer = np.abs(above - wanted) - np.abs(below - wanted)
    more_margin = np.minimum(above - low, high - above) > np.minimum(below - low, high - below)
    take_above = (nearer < -_ROUNDING * rounded) | ((np.abs(nearer) <= _ROUNDING * rounded) & more_margin)
    target = np.where(least <= most, np.where(take_above, above, below), np.nan)
    return np.where((fineness == 2) & (low <= high), (low + high) / 2, target)


def _first_of_equals(total: FloatArray, changes: FloatArray, margin: FloatArray) -> int:
    least = np.min(total)
    near = np.flatnonzero(total <= least + _ROUNDING * (1 + abs(least)))
    if len(near) == 1:
        return int(near[0])
    order = np.lexsort((-np.nan_to_num(margin[near], nan=-np.inf), changes[near]))
    return int(near[order[0]])


def _traced(begins: FloatArray, targets: FloatArray) -> list[tuple[int, int, float]]:
    found = []
    last = len(begins) - 1
    while last >= 0:
        found.append((int(begins[last]), last, float(targets[last])))
        last = int(begins[last]) - 1
    return found[::-1]
