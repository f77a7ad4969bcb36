"""The pen: writes SVG elements with a style that is a class on the page and literal properties in the drive book."""

from collections.abc import Callable, Mapping
from html import escape

import numpy as np

from tunnelwright.report.axes import FloatArray
from tunnelwright.report.decimate import runs
from tunnelwright.report.ink import FONT_STACK, INKS, LETTERS, PRINT, STATE_INKS
from tunnelwright.vocabulary.criterion import State


def coordinate(value: float) -> str:
    """Return a pixel coordinate with one decimal and nothing superfluous."""
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


def polyline(x_px: FloatArray, y_px: FloatArray, *, is_closed: bool = False) -> str:
    """Return path data through the points; NaN lifts the pen."""
    parts: list[str] = []
    for first, last in runs(np.isfinite(x_px) & np.isfinite(y_px)):
        points = [f"{a:.1f} {b:.1f}" for a, b in zip(x_px[first:last].tolist(), y_px[first:last].tolist(), strict=True)]
        if len(points) == 1:
            # A single reading between two gaps must not vanish: a stroke of one pixel stands for it.
            points.append(f"{x_px[first] + 1.0:.1f} {y_px[first]:.1f}")
        parts.append("M" + "L".join(points) + ("Z" if is_closed else ""))
    return "".join(parts)


def area(x_px: FloatArray, low_px: FloatArray, high_px: FloatArray) -> str:
    """Return path data of the area between two series, one closed piece per stretch without gap."""
    parts: list[str] = []
    for first, last in runs(np.isfinite(x_px) & np.isfinite(low_px) & np.isfinite(high_px)):
        across = np.r_[x_px[first:last], x_px[first:last][::-1]]
        parts.append(polyline(across, np.r_[high_px[first:last], low_px[first:last][::-1]], is_closed=True))
    return "".join(parts)


class Pen:
    """Collects the elements of one drawing.

    Parameters
    ----------
    key : prefix of all identifiers, so that several drawings can stand on one page.
    for_print : write colours out instead of naming classes.
    """

    def __init__(self, key: str, *, for_print: bool = False) -> None:
        self.key = key
        self.for_print = for_print
        self.parts: list[str] = []
        self.hatches: set[str] = set()
        self._attributes: dict[str, str] = {}

    def ink(self, name: str) -> str:
        """Return the attributes of a style."""
        if name not in self._attributes:
            if self.for_print:
                self._attributes[name] = "".join(f' {key}="{value}"' for key, value in INKS[name].properties(PRINT).items())
            else:
                self._attributes[name] = f' class="ink-{name}"'
        return self._attributes[name]

    def raw(self, markup: str) -> None:
        """Add ready markup."""
        self.parts.append(markup)

    def path(self, data: str, ink: str, title: str = "", extra: str = "") -> None:
        """Add a path; an empty one is left out."""
        if data:
            self._element(f'path d="{data}"{self.ink(ink)}{extra}', "path", title)

    def line(self, x1: float, y1: float, x2: float, y2: float, ink: str) -> None:
        """Add a straight stroke."""
        self.path(f"M{coordinate(x1)} {coordinate(y1)}L{coordinate(x2)} {coordinate(y2)}", ink)

    def rectangle(self, left: float, top: float, width: float, height: float, ink: str, title: str = "", extra: str = "") -> None:
        """Add a rectangle."""
        place = f'x="{coordinate(left)}" y="{coordinate(top)}" width="{coordinate(max(width, 0.0))}" height="{coordinate(max(height, 0.0))}"'
        self._element(f"rect {place}{self.ink(ink)}{extra}", "rect", title)

    def circle(self, x: float, y: float, radius: float, ink: str, title: str = "") -> None:
        """Add a circle."""
        self._element(f'circle cx="{coordinate(x)}" cy="{coordinate(y)}" r="{radius:.2f}"{self.ink(ink)}', "circle", title)

    def ellipse(self, x: float, y: float, radius_x: float, radius_y: float, ink: str, title: str = "") -> None:
        """Add an ellipse."""
        self._element(f'ellipse cx="{coordinate(x)}" cy="{coordinate(y)}" rx="{radius_x:.2f}" ry="{radius_y:.2f}"{self.ink(ink)}', "ellipse", title)

    def hatched(self, data: str, kind: str, title: str = "") -> None:
        """Add an area with the hatch of a soil."""
        name = kind.replace("_", "-")
        self.hatches.add(name)
        if data:
            self._element(f'path d="{data}" fill="url(#{self.key}-hatch-{name})"', "path", title)

    def words(
        self,
        x: float,
        y: float,
        text: str,
        *,
        role: str = "plain",
        anchor: str = "start",
        size_px: int = 12,
        is_bold: bool = False,
        has_halo: bool = False,
        turned: bool = False,
        key: str = "",
    ) -> None:
        """Add one line of words, escaped."""
        if not text and not key:
            return
        place = f'x="{coordinate(x)}" y="{coordinate(y)}"' + (f' transform="rotate(-90 {coordinate(x)} {coordinate(y)})"' if turned else "")
        anchored = "" if anchor == "start" else f' text-anchor="{anchor}"'
        hook = f' data-read="{escape(key)}"' if key else ""
        self.parts.append(f"<text {place}{anchored}{self._letters(role, size_px, is_bold=is_bold, has_halo=has_halo)}{hook}>{escape(text)}</text>")

    def _letters(self, role: str, size_px: int, *, is_bold: bool, has_halo: bool) -> str:
        if not self.for_print:
            names = [f"words-{role}", *([f"size-{size_px}"] if size_px != 12 else []), *(["bold"] if is_bold else []), *(["halo"] if has_halo else [])]
            return f' class="{" ".join(names)}"'
        attributes = f' fill="{PRINT[LETTERS[role]]}" font-size="{size_px}" font-family="{FONT_STACK}"' + (' font-weight="700"' if is_bold else "")
        if has_halo:
            attributes += f' paint-order="stroke" stroke="{PRINT["paper"]}" stroke-width="5" stroke-linejoin="round"'
        return attributes

    def state(self, x: float, y: float, state: State, size_px: float = 9.0, title: str = "") -> None:
        """Add the mark of a state, centred on a place."""
        self._element(f"{state_shape(x, y, state, size_px)}{self.ink(STATE_INKS[state])}", state_shape(x, y, state, size_px).split(" ", 1)[0], title)

    def linked(self, href: str, words: str, draw: Callable[[], None]) -> None:
        """Draw something inside a link; without an address it is drawn plainly."""
        if href and not self.for_print:
            self.parts.append(f'<a href="{escape(href)}" aria-label="{escape(words)}">')
            draw()
            self.parts.append("</a>")
        else:
            draw()

    def group(self, attributes: Mapping[str, str], draw: Callable[[], None]) -> None:
        """Draw something inside a group."""
        self.parts.append("<g" + "".join(f' {name}="{escape(value)}"' for name, value in attributes.items()) + ">")
        draw()
        self.parts.append("</g>")

    def markup(self) -> str:
        """Return everything drawn so far."""
        return "".join(self.parts)

    def _element(self, start: str, name: str, title: str) -> None:
        self.parts.append(f"<{start}><title>{escape(title)}</title></{name}>" if title else f"<{start}/>")


def state_shape(x: float, y: float, state: State, size_px: float) -> str:
    """Return the opening of the element that marks a state: a tick, an open triangle, a filled square, an open circle."""
    half = size_px / 2
    if state == "act":
        side = size_px * 0.86
        return f'rect x="{coordinate(x - side / 2)}" y="{coordinate(y - side / 2)}" width="{coordinate(side)}" height="{coordinate(side)}"'
    if state == "watch":
        points = ((x - half, y + half * 0.78), (x + half, y + half * 0.78), (x, y - half * 0.95))
        return f'path d="M{"L".join(f"{coordinate(a)} {coordinate(b)}" for a, b in points)}Z"'
    if state == "not checked":
        return f'circle cx="{coordinate(x)}" cy="{coordinate(y)}" r="{half * 0.88:.2f}"'
    points = ((x - half * 0.9, y), (x - half * 0.25, y + half * 0.7), (x + half * 0.95, y - half * 0.85))
    return f'path d="M{"L".join(f"{coordinate(a)} {coordinate(b)}" for a, b in points)}"'
