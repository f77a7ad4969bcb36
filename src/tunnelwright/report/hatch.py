"""Hatches of the ground by principal soil, after the common practice of geological sections.

Each is a small tile, pale and quiet: the hatch is read in the legend and stays behind the data.
"""

from dataclasses import dataclass
from typing import Final

from tunnelwright.report.ink import SoilKind
from tunnelwright.report.pen import Pen


@dataclass(frozen=True, slots=True)
class Hatch:
    """A tile: its size, strokes as path data, spots as (x, y, radius), rings likewise."""

    width: float
    height: float
    strokes: str = ""
    spots: tuple[tuple[float, float, float], ...] = ()
    rings: tuple[tuple[float, float, float], ...] = ()


HATCHES: Final[dict[str, Hatch]] = {
    "made-ground": Hatch(15, 15, strokes="M2 4h5M4.5 1.5v5M9.5 11h5M12 8.5v5"),
    "peat": Hatch(20, 16, strokes="M2 6q1.5-3.5 3-4M5 6v-5M8 6q-1.5-3.5-3-4M12 14q1.5-3.5 3-4M15 14v-5M18 14q-1.5-3.5-3-4"),
    "clay": Hatch(24, 14, strokes="M1.5 4h9M13.5 11h9"),
    "silt": Hatch(13, 14, strokes="M3 1.5v4.5M9.5 8.5v4.5"),
    "sand": Hatch(12, 12, spots=((2.5, 3, 0.95), (8.5, 5.5, 0.95), (4.5, 9.5, 0.95))),
    "gravel": Hatch(18, 16, rings=((4.5, 4.5, 2.3), (13.5, 11.5, 2.5), (13, 3.5, 1.3), (4, 12, 1.4))),
    "marl": Hatch(22, 14, strokes="M0 .5H22M0 7.5H22M5.5 .5v7M16.5 7.5v6.5"),
    "rock": Hatch(26, 13, strokes="M0 3l9-1M14 2.5l10-1.5M5 9.5l10-1M20 9l6-.5"),
    "mixed": Hatch(24, 14, strokes="M1.5 4h8", spots=((15, 4, 0.95), (20, 8, 0.95), (12, 11, 0.95), (4.5, 10, 0.95))),
}


def hatch_name(kind: SoilKind) -> str:
    """Return the name of the tile of a soil."""
    return kind.replace("_", "-")


def pattern(pen: Pen, name: str) -> str:
    """Return the definition of one hatch; unknown ground has none and stays blank."""
    tile = HATCHES[name]
    inside = f'<rect width="{tile.width:g}" height="{tile.height:g}"{pen.ink(f"ground-{name}")}/>'
    if tile.strokes:
        inside += f'<path d="{tile.strokes}"{pen.ink("hatch-line")}/>'
    inside += "".join(f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}"{pen.ink("hatch-dot")}/>' for x, y, radius in tile.spots)
    inside += "".join(f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}"{pen.ink("hatch-line")}/>' for x, y, radius in tile.rings)
    return f'<pattern id="{pen.key}-hatch-{name}" width="{tile.width:g}" height="{tile.height:g}" patternUnits="userSpaceOnUse">{inside}</pattern>'
