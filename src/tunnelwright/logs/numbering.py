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
    count = len(keyed)
    if not np.isfinite(keyed).any():
        keyed = context.first_ring_number + np.arange(count, dtype=np.float64)
        keyed = _with_jumps(keyed, chainage_m, context.ring_length_m)
    cycles = np.arange(count)
    if np.isfinite(chainage_m).any():
        datum_m = _datum_m(keyed, chainage_m, context.ring_length_m)
        found = ring_number_chain(keyed_number=keyed, chainage_m=chainage_m, ring_length_m=context.ring_length_m, first_chainage_m=datum_m)
        seen_offset = np.round((chainage_m - datum_m) / context.ring_length_m) + 1 - cycles
    else:
        found = ring_number_chain(keyed_number=keyed)
        seen_offset = np.full(count, np.nan)
    numbers = np.asarray(found.ring_number, dtype=np.float64)
    accepted = numbers - cycles
    differs = np.isfinite(keyed) & (keyed != numbers)
    # Only a step that many keyed numbers, or the chainage, repeat is a conflict; a single one is a slip of a finger.
    conflict = _long_runs(differs, keyed - numbers) | _long_runs(np.isfinite(seen_offset) & (seen_offset != accepted), seen_offset - accepted)
    return Numbering(
        ring_number=numbers.astype(np.int64),
        corrected=differs & ~conflict,
        conflict=conflict,
        missing=[int(number) for number in np.asarray(found.rings_missing)],
    )


def _with_jumps(chain: FloatArray, chainage_m: FloatArray, ring_length_m: float) -> FloatArray:
    """Return a chain of numbers that nobody keyed, with the rings that the chainage says ran unseen left out."""
    known = np.flatnonzero(np.isfinite(chainage_m))
    if len(known) < 2:
        return chain
    steps = np.zeros(len(chain))
    rings = np.diff(chainage_m[known]) / ring_length_m
    steps[known[1:]] = np.maximum(0.0, np.round(rings) - np.diff(known))
    return chain + np.cumsum(steps)


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
