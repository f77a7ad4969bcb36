"""Ring numbers of cycles: the keyed number made whole by the chain of cycles and by the chainage."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.record.ring_number import ring_number_chain
from tunnelwright.logs.context import RecordContext

FloatArray = NDArray[np.float64]
FIRST_CYCLES = 5
LASTING = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Numbering:
    """Ring number of every cycle and what had to be decided for it."""

    ring_number: NDArray[np.int64]
    corrected: NDArray[np.bool_]
    conflict: NDArray[np.bool_]
    missing: list[int] = field(default_factory=list)


def numbered(keyed: FloatArray, chainage_m: FloatArray, context: RecordContext) -> Numbering:
    """Return the ring number of every cycle.

    Parameters
    ----------
    keyed : number keyed during each push, NaN where there was none.
    chainage_m : logged at the start of each push, NaN where there was none. It may be that of the face, the tail or the last ring: only its
        steps count.
    """
    jumps = _jumps(chainage_m, context.ring_length_m)
    if not np.isfinite(keyed).any():
        # Nobody keyed anything: rings are counted from the first, and what the chainage says ran unseen is left out.
        keyed = context.first_ring_number + np.arange(len(keyed), dtype=np.float64) + np.cumsum(jumps)
    unseen = _confirmed(jumps, keyed)
    place = np.arange(len(keyed)) + np.cumsum(unseen)
    whole_keyed, whole_chainage_m = _spread(keyed, place), _spread(chainage_m, place)
    numbers, seen = _chained(whole_keyed, whole_chainage_m, context.ring_length_m)
    differs = np.isfinite(keyed) & (keyed != numbers[place])
    # Only a step that many keyed numbers, or the chainage, repeat is a conflict; a single one is a slip of a finger.
    conflict = _long_runs(differs, keyed - numbers[place]) | _long_runs(
        np.isfinite(seen[place]) & (seen[place] != numbers[place]), seen[place] - numbers[place]
    )
    missing = np.setdiff1d(np.arange(numbers[0], numbers[-1] + 1), numbers[place]) if len(numbers) else np.empty(0)
    return Numbering(ring_number=numbers[place].astype(np.int64), corrected=differs & ~conflict, conflict=conflict, missing=[int(number) for number in missing])


def _chained(keyed: FloatArray, chainage_m: FloatArray, ring_length_m: float) -> tuple[FloatArray, FloatArray]:
    """Return the number of every cycle, and the number that its chainage alone would give."""
    if not np.isfinite(chainage_m).any():
        return np.asarray(ring_number_chain(keyed_number=keyed).ring_number, dtype=np.float64), np.full(len(keyed), np.nan)
    datum_m = _datum_m(keyed, chainage_m, ring_length_m)
    found = ring_number_chain(keyed_number=keyed, chainage_m=chainage_m, ring_length_m=ring_length_m, first_chainage_m=datum_m)
    return np.asarray(found.ring_number, dtype=np.float64), np.round((chainage_m - datum_m) / ring_length_m) + 1


def _jumps(chainage_m: FloatArray, ring_length_m: float) -> FloatArray:
    """Return how many rings the chainage says ran unseen before each cycle."""
    jumps = np.zeros(len(chainage_m))
    known = np.flatnonzero(np.isfinite(chainage_m))
    if len(known) > 1:
        jumps[known[1:]] = np.maximum(0.0, np.round(np.diff(chainage_m[known]) / ring_length_m) - np.diff(known))
    return jumps


def _confirmed(jumps: FloatArray, keyed: FloatArray) -> NDArray[np.int64]:
    """Return the jumps of the chainage that the keyed numbers make too."""
    offset = keyed - np.arange(len(keyed))
    unseen = np.zeros(len(jumps), dtype=np.int64)
    for at in np.flatnonzero(jumps):
        before, after = _usual(offset[max(0, at - LASTING) : at]), _usual(offset[at : at + LASTING])
        if after - before == jumps[at]:
            unseen[at] = int(jumps[at])
    return unseen


def _usual(offsets: FloatArray) -> float:
    valid = offsets[np.isfinite(offsets)]
    values, counts = np.unique(valid, return_counts=True)
    return float(values[np.argmax(counts)]) if len(valid) else float("nan")


def _spread(values: FloatArray, place: NDArray[np.int64]) -> FloatArray:
    """Return the values at their places in a chain that has room for the rings that ran unseen."""
    whole = np.full(int(place[-1]) + 1 if len(place) else 0, np.nan)
    whole[place] = values
    return whole


def _datum_m(keyed: FloatArray, chainage_m: FloatArray, ring_length_m: float) -> float:
    """Return the chainage at which ring 1 would have started, as the first keyed numbers say."""
    both = np.flatnonzero(np.isfinite(keyed) & np.isfinite(chainage_m))[:FIRST_CYCLES]
    if not len(both):
        return 0.0
    return float(np.median(chainage_m[both] - (keyed[both] - 1) * ring_length_m))


def _long_runs(flag: NDArray[np.bool_], offset: FloatArray) -> NDArray[np.bool_]:
    """Return where a flag holds with the same offset for several cycles in a row."""
    long = np.zeros(len(flag), dtype=bool)
    start = 0
    for at in range(1, len(flag) + 1):
        if at == len(flag) or not flag[at] or not flag[at - 1] or offset[at] != offset[at - 1]:
            if flag[start] and at - start >= LASTING:
                long[start:at] = True
            start = at
    return long
