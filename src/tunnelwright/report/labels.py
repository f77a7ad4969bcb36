"""Where words may stand: their size, and a free position round their place."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from tunnelwright.report.axes import FloatArray
from tunnelwright.report.figure import Label

_NARROW: Final = set("iljtfrI.,:;|!'()[]/ -\u202f")
_WIDE: Final = set("mwMW%@")
_LINE_COST: Final = 1.0
_AREA_COST: Final = 0.02


def text_width(words: str, size_px: float = 12, *, is_bold: bool = False) -> float:
    """Return the width of words in a usual sans serif letter, a little too large rather than too small."""
    units = sum(0.31 if letter in _NARROW else 0.87 if letter in _WIDE else 0.68 if letter.isupper() else 0.555 for letter in words)
    return units * size_px * (1.07 if is_bold else 1.0)


def shortened(words: str, width_px: float, size_px: float = 12, *, is_bold: bool = False) -> str:
    """Return words cut after a whole word so that they fit, with an ellipsis where something was cut."""
    if text_width(words, size_px, is_bold=is_bold) <= width_px:
        return words
    kept = words
    while " " in kept:
        kept = kept.rsplit(" ", 1)[0].rstrip(",;:")
        if text_width(kept + "…", size_px, is_bold=is_bold) <= width_px:
            return kept + "…"
    return kept


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet."""

    left: float
    top: float
    right: float
    bottom: float

    def touches(self, other: "Box") -> bool:
        """Return whether two rectangles have a common area."""
        return self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom

    def is_inside(self, outer: "Box") -> bool:
        """Return whether this rectangle lies wholly in another."""
        return self.left >= outer.left and self.right <= outer.right and self.top >= outer.top and self.bottom <= outer.bottom


@dataclass(slots=True)
class Occupied:
    """What a panel already holds while its words are set: boxes that exclude each other, and lines by pixel column."""

    bounds: Box
    boxes: list[Box] = field(default_factory=list)
    columns: list[tuple[FloatArray, FloatArray, float]] = field(default_factory=list)

    def add_line(self, x_px: FloatArray, y_px: FloatArray, weight: float = 1.0) -> None:
        """Remember a data line so that words keep off it, the more the weightier it is."""
        width = max(int(self.bounds.right - self.bounds.left) + 1, 1)
        present = np.isfinite(x_px) & np.isfinite(y_px)
        if present.sum() < 1:
            return
        grid = np.arange(width) + self.bounds.left
        line_x, line_y = x_px[present], y_px[present]
        if line_x[0] > line_x[-1]:
            line_x, line_y = line_x[::-1], line_y[::-1]
        places = np.interp(grid, line_x, line_y, left=np.nan, right=np.nan)
        low, high = places.copy(), places.copy()
        column = np.clip((line_x - self.bounds.left).astype(np.int64), 0, width - 1)
        np.fmin.at(low, column, line_y)
        np.fmax.at(high, column, line_y)
        self.columns.append((low, high, weight))

    def add_bars(self, x_px: FloatArray, top_px: FloatArray, base_px: FloatArray, weight: float = 1.0) -> None:
        """Remember upright bars so that words keep off them."""
        if x_px.size:
            grid = np.arange(max(int(self.bounds.right - self.bounds.left) + 1, 1)) + self.bounds.left
            top, base = (np.interp(grid, x_px, part, left=np.nan, right=np.nan) for part in (top_px, base_px))
            self.columns.append((top, base, weight))

    def line_cost(self, box: Box) -> float:
        """Return how much words would stand on data lines: the share of their columns that is hit, and a quarter for hitting at all, summed over lines."""
        first, last = max(int(box.left - self.bounds.left), 0), int(box.right - self.bounds.left) + 1
        total = 0.0
        for low, high, weight in self.columns:
            part_low, part_high = low[first:last], high[first:last]
            hits = int(np.count_nonzero((part_low < box.bottom) & (part_high > box.top)))
            if hits:
                total += weight * (0.25 + hits / part_low.size)
        return total


def box_of(label: Label, x_px: float, y_px: float) -> Box:
    """Return the rectangle of a label whose base line starts (or ends, or is centred) at a place."""
    width = text_width(label.words, label.size_px, is_bold=label.is_bold)
    if label.turned:
        start = {"start": y_px - width, "middle": y_px - width / 2, "end": y_px}[label.anchor]
        return Box(x_px - label.size_px * 0.8, start, x_px + label.size_px * 0.25, start + width)
    left = {"start": x_px, "middle": x_px - width / 2, "end": x_px - width}[label.anchor]
    return Box(left, y_px - label.size_px * 0.82, left + width, y_px + label.size_px * 0.24)


def positions(label: Label, x_px: float, y_px: float) -> list[tuple[float, float, str]]:
    """Return the positions tried for a label round its place, the liked ones first: as asked, right, left, above, below, further off."""
    asked = (x_px + label.dx, y_px + label.dy, label.anchor)
    found: list[tuple[float, float, str]] = [asked, *((x_px + dx, y_px + dy, anchor) for dx, dy, anchor in label.options)]
    if not label.may_move:
        return found
    for far in (0.0, 10.0, 20.0, 32.0):
        found += [
            (x_px + 8, y_px + 4 - far, "start"),
            (x_px - 8, y_px + 4 - far, "end"),
            (x_px + 8, y_px + 4 + far, "start"),
            (x_px - 8, y_px + 4 + far, "end"),
            (x_px, y_px - 9 - far, "middle"),
            (x_px, y_px + 18 + far, "middle"),
        ]
    return found


def place(label: Label, x_px: float, y_px: float, occupied: Occupied) -> tuple[float, float, str] | None:
    """Return where a label stands, and reserve it; None when no position is free.

    A position that touches other words or leaves the panel is out; of the rest the one least on data lines and nearest wins.
    """
    best: tuple[float, tuple[float, float, str], Box] | None = None
    for rank, (left, base, anchor) in enumerate(positions(label, x_px, y_px)):
        box = box_of(_anchored(label, anchor), left, base)
        is_free = label.may_move or label.options
        if is_free and (not box.is_inside(occupied.bounds) or any(box.touches(other) for other in occupied.boxes)):
            continue
        cost = _LINE_COST * occupied.line_cost(box) + _AREA_COST * rank if is_free else 0.0
        if best is None or cost < best[0]:
            best = (cost, (left, base, anchor), box)
    if best is None:
        return None
    occupied.boxes.append(best[2])
    return best[1]


def _anchored(label: Label, anchor: str) -> Label:
    if anchor == label.anchor:
        return label
    return Label(x=label.x, y=label.y, words=label.words, anchor=anchor, size_px=label.size_px, is_bold=label.is_bold)  # type: ignore[arg-type]
