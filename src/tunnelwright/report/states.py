"""States along a drive: runs of equal state become one mark, marks that would touch become one."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from tunnelwright.report.axes import FloatArray
from tunnelwright.report.inputs import STATE_CODES
from tunnelwright.report.numbers import number_text
from tunnelwright.vocabulary.criterion import State

# Which of several states a common mark shows; the words name all of them.
SHOWN_FIRST: Final[dict[State, int]] = {"act": 3, "not checked": 1, "watch": 2, "in order": 0}


@dataclass(frozen=True, slots=True)
class Departure:
    """A run of rings in one state that is not in order: where its mark stands, its first and last ring, its words."""

    x: float
    state: State
    first_ring: int
    last_ring: int
    words: str

    def sentence(self) -> str:
        """Return state, rings and reason as one line."""
        rings = (
            f"ring {number_text(self.first_ring)}"
            if self.first_ring == self.last_ring
            else f"rings {number_text(self.first_ring)} to {number_text(self.last_ring)}"
        )
        return f"{self.state}: {rings}" + (f", {self.words}" if self.words else "")


def departures_of(x: FloatArray, codes: npt.NDArray[np.int64], rings: npt.NDArray[np.int64], words: Mapping[int, str]) -> list[Departure]:
    """Return the runs of rings that are on watch, to be acted on or not checked; the mark of a run stands in its middle."""
    edges = np.flatnonzero(np.diff(codes)) + 1
    found = []
    for part in np.split(np.arange(codes.size), edges):
        state = STATE_CODES.get(int(codes[part[0]])) if part.size else None
        if state is None or state == "in order":
            continue
        middle = float(np.nanmean(x[part])) if np.isfinite(x[part]).any() else np.nan
        reason = next((words[int(ring)] for ring in rings[part] if int(ring) in words), "")
        found.append(Departure(middle, state, int(rings[part[0]]), int(rings[part[-1]]), reason))
    return found


def merged(departures: list[Departure], px_per_unit: float, least_px: float) -> list[tuple[float, State, str]]:
    """Return marks as place, state, words, at least so many pixels apart; a common mark shows the worst and names all."""
    groups: list[list[Departure]] = []
    for one in sorted((one for one in departures if np.isfinite(one.x)), key=lambda each: each.x):
        if groups and abs(one.x - groups[-1][0].x) * abs(px_per_unit) < least_px:
            groups[-1].append(one)
        else:
            groups.append([one])
    marks = []
    for group in groups:
        worst = max(group, key=lambda one: SHOWN_FIRST[one.state])
        ordered = [worst, *(one for one in group if one is not worst)]
        marks.append((worst.x, worst.state, "; ".join(one.sentence() for one in ordered)))
    return marks
