"""The inks of a drawing sheet: colours, line weights, dashes, letters.

Each style has a name that says what it means. On a page it is a class and its colour a variable of the style sheet, so that
light and dark need no second drawing; in the drive book the same style is written out with the print colours.
``stylesheet()`` is the part of ``web/static/sheet.css`` that belongs to drawings; a test holds both together.
"""

from dataclasses import dataclass
from typing import Final, Literal

from tunnelwright.vocabulary.criterion import State

SoilKind = Literal["made_ground", "peat", "clay", "silt", "sand", "gravel", "marl", "rock", "mixed", "unknown"]

LIGHT: Final[dict[str, str]] = {
    "paper": "#FDFDFB", "ink": "#1A1D21", "second": "#4E5761", "line": "#858D96", "hair": "#C9CED4", "wash": "#F3F4F2",
    "plan": "#2A6FBB", "plan-word": "#1E5591", "limit": "#B4421F", "limit-word": "#953419", "watch": "#8A5A00", "watch-word": "#754C00",
    "window": "#DCE8F5", "unsure": "#EDF3FA", "caution": "#FBF1EC", "hatch": "#9BA1A8", "water": "#2A6FBB", "lining": "#ECEDEB",
    "made-ground": "#EEE9E3", "peat": "#E7E1DA", "clay": "#E6ECEF", "silt": "#EEF0E8", "sand": "#F8F1D6", "gravel": "#F4EEDD", "marl": "#F0EBE6",
    "rock": "#E8E8EC", "mixed": "#F0EEE4",
}  # fmt: skip
DARK: Final[dict[str, str]] = {
    "paper": "#14171A", "ink": "#E8EAEC", "second": "#9BA5B0", "line": "#7B858F", "hair": "#3A4149", "wash": "#1B1F23",
    "plan": "#7DB3EC", "plan-word": "#86B9EE", "limit": "#F08A63", "limit-word": "#F5A07E", "watch": "#E3B34C", "watch-word": "#E3B34C",
    "window": "#1E3247", "unsure": "#19242F", "caution": "#2A1D18", "hatch": "#626B74", "water": "#7DB3EC", "lining": "#22272C",
    "made-ground": "#26231F", "peat": "#2B2520", "clay": "#1B2429", "silt": "#20251D", "sand": "#2F2A17", "gravel": "#2A2619", "marl": "#28231F",
    "rock": "#202228", "mixed": "#25241C",
}  # fmt: skip
PRINT: Final[dict[str, str]] = {**LIGHT, "paper": "#FFFFFF"}
FONT_STACK: Final = "'Segoe UI','Helvetica Neue','Liberation Sans',Arial,sans-serif"


@dataclass(frozen=True, slots=True)
class Ink:
    """How one style is drawn; colours are names of the palette, an empty one means none."""

    stroke: str = ""
    width: float = 0.0
    fill: str = ""
    dash: str = ""
    opacity: float = 1.0

    def properties(self, palette: dict[str, str] | None = None) -> dict[str, str]:
        """Return SVG properties; without a palette the colours are variables of the style sheet."""
        found = {"fill": _colour(self.fill, palette), "stroke": _colour(self.stroke, palette)}
        if self.stroke:
            found["stroke-width"] = f"{self.width:g}"
        if self.dash:
            found["stroke-dasharray"] = self.dash
        if self.opacity < 1:
            found["opacity"] = f"{self.opacity:g}"
        return found


def _colour(name: str, palette: dict[str, str] | None) -> str:
    if not name:
        return "none"
    return palette[name] if palette is not None else f"var(--{name})"


INKS: Final[dict[str, Ink]] = {
    "measured": Ink("ink", 1.5),
    "chosen": Ink("ink", 2.2),
    "planned": Ink("plan", 1.5),
    "forecast": Ink("plan", 1.5, dash="6 4"),
    "limit": Ink("limit", 1.0),
    "second-line": Ink("second", 1.0),
    "raw": Ink("line", 1.0),
    "spread": Ink("ink", 1.2, opacity=0.38),
    "spread-area": Ink(fill="ink", opacity=0.16),
    "window-area": Ink(fill="window"),
    "unsure-area": Ink(fill="unsure"),
    "still-area": Ink(fill="wash"),
    "paper-area": Ink(fill="paper"),
    "doubt-area": Ink(fill="paper", opacity=0.62),
    "water-area": Ink(fill="window"),
    "built-area": Ink(fill="ink"),
    "lining-area": Ink("ink", 1.2, fill="lining"),
    "outline": Ink("ink", 1.5),
    "outline-paper": Ink("ink", 1.2, fill="paper"),
    "planned-paper": Ink("plan", 1.2, fill="paper"),
    "surface": Ink("ink", 2.2),
    "thin": Ink("ink", 1.0),
    "joint": Ink("ink", 0.6, opacity=0.4),
    "tenth-joint": Ink("ink", 0.9),
    "boundary": Ink("second", 1.0),
    "doubtful": Ink("second", 1.0, dash="5 3"),
    "ghost": Ink("second", 1.0, dash="3 3"),
    "axis": Ink("plan", 1.0, dash="10 3 2 3"),
    "grid": Ink("hair", 1.0),
    "frame": Ink("line", 1.0),
    "tick": Ink("line", 1.0),
    "leader": Ink("second", 1.0),
    "dimension": Ink("ink", 1.0),
    "cursor": Ink("ink", 1.0),
    "event": Ink("limit", 0.8, opacity=0.55),
    "hold": Ink("limit", 2.0),
    "water": Ink("water", 1.2),
    "second-head": Ink("water", 1.2, dash="9 4 2 4"),
    "water-sign": Ink("water", 1.2, fill="paper"),
    "dot": Ink(fill="ink"),
    "plan-dot": Ink(fill="plan"),
    "hollow": Ink("ink", 1.2, fill="paper"),
    "mark-order": Ink("ink", 1.5),
    "mark-watch": Ink("watch", 1.5, fill="paper"),
    "mark-act": Ink(fill="limit"),
    "mark-unchecked": Ink("second", 1.2, fill="paper"),
    "hatch-line": Ink("hatch", 0.9),
    "hatch-dot": Ink(fill="hatch"),
    **{f"ground-{kind}": Ink(fill=kind) for kind in ("made-ground", "peat", "clay", "silt", "sand", "gravel", "marl", "rock", "mixed")},
}  # fmt: skip

LETTERS: Final[dict[str, str]] = {"plain": "ink", "second": "second", "planned": "plan-word", "limit": "limit-word", "watch": "watch-word"}
LETTER_SIZES: Final = (12, 13, 15, 19, 28)
STATE_INKS: Final[dict[State, str]] = {"in order": "mark-order", "watch": "mark-watch", "act": "mark-act", "not checked": "mark-unchecked"}
STATE_LETTERS: Final[dict[State, str]] = {"in order": "plain", "watch": "watch", "act": "limit", "not checked": "second"}


def stylesheet() -> str:
    """Return the rules of drawings as they stand in the page's style sheet."""
    rules = [f"svg .ink-{name}{{{';'.join(f'{key}:{value}' for key, value in ink.properties().items())}}}" for name, ink in INKS.items()]
    rules += [f"svg .words-{name}{{fill:var(--{colour})}}" for name, colour in LETTERS.items()]
    rules += [f"svg .size-{size}{{font-size:{size}px}}" for size in LETTER_SIZES[1:]]
    return "\n".join(rules)
