"""The shell of every page: templates, and how numbers, states and drawings stand in them.

No calculation is done here. Numbers are printed by the quantity dictionary: shown unit, fixed decimals, true minus, thin spaces.
"""

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from html import escape
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from tunnelwright.report.figure import Figure
from tunnelwright.report.ink import STATE_INKS
from tunnelwright.report.legend import Key, legend_svg
from tunnelwright.report.numbers import chainage_text, count_text, number_text
from tunnelwright.report.pen import state_shape
from tunnelwright.report.svg import cursor_data, figure_svg
from tunnelwright.vocabulary.criterion import STATES, State
from tunnelwright.vocabulary.printing import symbol_as_mathml
from tunnelwright.vocabulary.quantity import Quantity, quantity

CAUTION: Final = "Screening aid: a person decides at the face. To be checked by a licensed engineer."
NOT_KNOWN: Final = "–"
UNIT_WORDS: Final = {
    "m3": "m³",
    "m2": "m²",
    "m3/m": "m³/m",
    "m2/m": "m²/m",
    "kN/m3": "kN/m³",
    "t/m3": "t/m³",
    "kg/m3": "kg/m³",
    "kN/m2": "kN/m²",
    "sd": "st. dev.",
    "deg": "°",
    "degC": "°C",
}


@dataclass(frozen=True, slots=True)
class SheetLink:
    """One entry of the sheet index: a page that does not exist yet has no address and is not a link."""

    name: str
    href: str = ""
    is_open: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TitleBlock:
    """What stands in the title block: who and what this sheet is, how old its data are, and what it must not be taken for."""

    programme: str
    drive: str
    sheet: str
    shows: str = ""
    plan_revision: str = ""
    checked_by: str = ""
    data_age: str = ""
    scale: str = ""
    caution: str = CAUTION

    def cells(self) -> tuple[tuple[str, str], ...]:
        """Return the cells in reading order; an empty one says so with a dash, since an unsigned sheet must look unsigned."""
        cells = (
            ("Programme", self.programme), ("Drive", self.drive), ("Sheet", self.sheet), ("Shows", self.shows),
            ("Plan revision", self.plan_revision), ("Checked by", self.checked_by), ("Data", self.data_age), ("Scale", self.scale),
        )  # fmt: skip
        return tuple((name, value or NOT_KNOWN) for name, value in cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """What the frame of every page needs; the body of a page brings its own view record beside it.

    Parameters
    ----------
    verdict : one sentence, worst open thing first.
    verdict_more : watches and the nearest hold point, smaller.
    rail : the ring rail, None where there is no drive.
    ring : the chosen ring, in the number box and the address.
    carried : other parameters of the address that the number box must not lose.
    is_long : the sheet runs over several printed pages.
    is_one_screen : on a desktop the sheet keeps to the height of the screen and an opened calculation scrolls inside it.
    is_for_gloves : targets of 44 px throughout.
    events_href : address of the event stream, empty for pages that are not live.
    """

    title_block: TitleBlock
    index: Sequence[SheetLink]
    verdict: str
    verdict_more: str = ""
    rail: Figure | None = None
    ring: int = 0
    ring_count: int = 0
    carried: dict[str, str] = field(default_factory=dict)
    legend: Sequence[Key] = ()
    is_long: bool = False
    is_one_screen: bool = False
    is_for_gloves: bool = False
    events_href: str = ""
    static_href: str = "/static"


def shown_value(value: float | None, name: str, *, is_signed: bool = False) -> str:
    """Return a value of the dictionary as shown, without its unit; blank when it is absent."""
    entry = quantity(name)
    return number_text(None if value is None else entry.shown(value), entry.decimals, is_signed=is_signed)


def shown_unit(name: str) -> str:
    """Return the unit in which a quantity is shown, with raised figures."""
    return unit_words(quantity(name).shown_unit)


def unit_words(unit: str) -> str:
    """Return a unit as printed."""
    return UNIT_WORDS.get(unit, unit)


def heading(name: str) -> str:
    """Return the plain name of a quantity, as it heads a column; its unit is printed beside it."""
    entry: Quantity = quantity(name)
    return entry.meaning[:1].upper() + entry.meaning[1:]


def true_minus(printed: str) -> str:
    """Return a printed number with the true minus in front."""
    return f"−{printed[1:]}" if printed.startswith("-") else printed


def math_words(printed: str) -> Markup:
    """Return MathML of our own printers for the page, its negative numbers with the true minus."""
    return Markup(re.sub(r">-(?=[\d.])", ">−", printed))


def symbol_words(symbol: str) -> Markup:
    """Return the symbol of a result without a formula as mathematics; one that is only a word says nothing more than the name beside it."""
    letter = symbol.split("_", 1)[0]
    return Markup(f"<math>{symbol_as_mathml(symbol)}</math>") if len(letter) <= 2 else Markup("")


def state_class(state: State) -> str:
    """Return the class of a state."""
    return state.replace(" ", "-")


def state_mark(state: State) -> Markup:
    """Return mark and word of a state: never a colour alone."""
    if state not in STATES:
        raise ValueError(f"no state is called {state!r}")
    shape = f'<{state_shape(6.5, 6.5, state, 10.0)} class="ink-{STATE_INKS[state]}"/>'
    return Markup(f'<span class="state {state_class(state)}"><svg viewBox="0 0 13 13" aria-hidden="true">{shape}</svg>{escape(state)}</span>')


def drawing(figure: Figure) -> Markup:
    """Return a figure with the numbers that its cursor reads; without script the drawing is complete as it is."""
    data = cursor_data(figure)
    script = ""
    if data:
        # "<" must not stand in a script element, whatever a name or a remark contains.
        text = json.dumps(data, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")
        script = f'<script type="application/json" data-cursor-of="{escape(figure.key)}">{text}</script>'
    return Markup(f'<div class="draw">{figure_svg(figure)}{script}</div>')


def rail_drawing(figure: Figure) -> Markup:
    """Return the ring rail without the wrapper of a drawing."""
    return Markup(figure_svg(figure))


def legend(keys: Sequence[Key]) -> Markup:
    """Return the legend, or nothing."""
    return Markup(legend_svg(keys)) if keys else Markup("")


@cache
def environment() -> Environment:
    """Return the template environment: everything is escaped, an unknown name is a fault of ours and not a blank."""
    made = Environment(
        loader=PackageLoader("tunnelwright.web", "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    filters: dict[str, Callable[..., Any]] = {
        "shown": shown_value,
        "number": number_text,
        "minus": true_minus,
        "math": math_words,
        "symbol": symbol_words,
        "chainage": chainage_text,
        "count": count_text,
        "state": state_mark,
        "unit": unit_words,
        "heading": heading,
        "state_class": state_class,
    }
    made.filters.update(filters)
    made.globals.update(drawing=drawing, rail_drawing=rail_drawing, legend=legend, shown_unit=shown_unit)
    return made


def render(template: str, page: Page, **values: Any) -> str:
    """Return a page as text."""
    return environment().get_template(template).render(page=page, **values)
