"""The legend: small samples of grounds, lines and states with their names, in the same inks as the drawing."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final, get_args

from tunnelwright.report.hatch import hatch_name, pattern
from tunnelwright.report.ink import SoilKind
from tunnelwright.report.inputs import DriveSheet
from tunnelwright.report.labels import text_width
from tunnelwright.report.pen import Pen, coordinate
from tunnelwright.vocabulary.criterion import STATES

SAMPLE_PX: Final = 30.0
SAMPLE_HEIGHT_PX: Final = 13.0
ROW_PX: Final = 18.0
COLUMN_GAP_PX: Final = 20.0


@dataclass(frozen=True, slots=True)
class Key:
    """One entry: the sample (a soil, a state, or one of the names in ``SAMPLES``) and its words."""

    sample: str
    words: str


def legend_svg(keys: Sequence[Key], *, key: str = "legend", rows: int = 4, for_print: bool = False) -> str:
    """Return the legend as one ``<svg>``, its entries in columns of so many rows."""
    pen = Pen(key, for_print=for_print)
    left, widest = 0.0, 0.0
    for index, entry in enumerate(keys):
        row = index % rows
        if row == 0 and index:
            left, widest = left + SAMPLE_PX + 7 + widest + COLUMN_GAP_PX, 0.0
        _sample(pen, entry.sample, left, 2.0 + row * ROW_PX)
        pen.words(left + SAMPLE_PX + 7, 13.0 + row * ROW_PX, entry.words)
        widest = max(widest, text_width(entry.words))
    width, height = left + SAMPLE_PX + 7 + widest, min(rows, len(keys)) * ROW_PX + 2
    hooks = "" if for_print else ' class="figure" role="img" aria-label="Legend"'
    size = f'viewBox="0 0 {coordinate(width)} {coordinate(height)}" width="{coordinate(width)}" height="{coordinate(height)}"'
    definitions = f"<defs>{''.join(pattern(pen, name) for name in sorted(pen.hatches))}</defs>" if pen.hatches else ""
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}{hooks}><title>{escape("Legend")}</title>{definitions}{pen.markup()}</svg>'


def drive_legend(sheet: DriveSheet, plan_words: str = "planned") -> tuple[Key, ...]:
    """Return the entries of what a longitudinal sheet holds: grounds first, then lines, then states."""
    keys: list[Key] = []
    section = sheet.section
    if section is not None:
        named = [(layer.kind, layer.name) for layer in section.layers] + [(lens.kind, lens.name) for lens in section.lenses if lens.kind != "unknown"]
        keys += [Key(kind, name) for kind, name in dict.fromkeys(named)]
        if any(lens.kind == "unknown" for lens in section.lenses):
            keys.append(Key("unknown", "not bored"))
        if any(layer.base_doubt_m is not None for layer in section.layers):
            keys.append(Key("boundary", "boundary, with its doubt"))
        keys += [Key("second-head" if water.is_second_head else "water", water.name) for water in section.waters]
    strips = sheet.strips
    if any(strip.measured is not None for strip in strips):
        keys.append(Key("measured", "recorded"))
    if any(strip.measured_low is not None for strip in strips):
        keys.append(Key("spread", "its spread in the push"))
    keys.append(Key("planned", plan_words))
    if any(strip.forecast is not None for strip in strips):
        keys.append(Key("forecast", "forecast"))
    keys.append(Key("window", "window between limits"))
    if any(strip.corrected is not None for strip in strips):
        keys.append(Key("corrected", "corrected value"))
    if sheet.holds:
        keys.append(Key("hold", "hold point"))
    return (*keys, Key("watch", "watch"), Key("act", "act"), Key("not checked", "not checked"))


def _sample(pen: Pen, sample: str, left: float, top: float) -> None:
    if sample in get_args(SoilKind) and sample != "unknown":
        box = f"M{coordinate(left)} {coordinate(top)}h{SAMPLE_PX:g}v{SAMPLE_HEIGHT_PX:g}h-{SAMPLE_PX:g}Z"
        pen.hatched(box, hatch_name(sample))  # type: ignore[arg-type]
        pen.path(box, "frame")
    elif sample in STATES:
        pen.state(left + SAMPLE_PX / 2, top + 7, sample)
    else:
        SAMPLES[sample](pen, left, top)


def _stroke(ink: str) -> Callable[[Pen, float, float], None]:
    return lambda pen, left, top: pen.line(left, top + 7, left + SAMPLE_PX, top + 7, ink)


def _window(pen: Pen, left: float, top: float) -> None:
    pen.rectangle(left, top, SAMPLE_PX, SAMPLE_HEIGHT_PX, "window-area")
    for edge in (top, top + SAMPLE_HEIGHT_PX):
        pen.path(f"M{coordinate(left)} {coordinate(edge - 2)}v4m0-2h{SAMPLE_PX:g}m0-2v4", "limit")


def _forecast(pen: Pen, left: float, top: float) -> None:
    pen.rectangle(left, top + 1, SAMPLE_PX, 12, "unsure-area")
    pen.line(left, top + 7, left + SAMPLE_PX, top + 7, "forecast")


def _spread(pen: Pen, left: float, top: float) -> None:
    pen.path("".join(f"M{coordinate(left + shift)} {coordinate(top + 1)}v12" for shift in (8, 15, 22)), "spread")


def _boundary(pen: Pen, left: float, top: float) -> None:
    pen.rectangle(left, top + 2, SAMPLE_PX, 10, "still-area")
    pen.line(left, top + 7, left + SAMPLE_PX, top + 7, "boundary")


def _unknown(pen: Pen, left: float, top: float) -> None:
    pen.rectangle(left, top, SAMPLE_PX, SAMPLE_HEIGHT_PX, "frame")
    pen.words(left + SAMPLE_PX / 2, top + 11, "?", role="second", anchor="middle")


def _corrected(pen: Pen, left: float, top: float) -> None:
    for shift in (8, 15, 22):
        pen.circle(left + shift, top + 7, 2.4, "hollow")


def _hold(pen: Pen, left: float, top: float) -> None:
    pen.path(f"M{coordinate(left + 13)} {coordinate(top + 1)}v12m4 0v-12", "hold")


def _still(pen: Pen, left: float, top: float) -> None:
    pen.rectangle(left, top, SAMPLE_PX, SAMPLE_HEIGHT_PX, "still-area")
    pen.rectangle(left, top, SAMPLE_PX, SAMPLE_HEIGHT_PX, "frame")


def _sensor(pen: Pen, left: float, top: float) -> None:
    pen.circle(left + SAMPLE_PX / 2, top + 7, 3.2, "dot")


SAMPLES: Final[dict[str, Callable[[Pen, float, float], None]]] = {
    **{ink: _stroke(ink) for ink in ("measured", "chosen", "planned", "limit", "second-line", "raw", "thin", "ghost", "axis", "water", "second-head")},
    "window": _window,
    "forecast": _forecast,
    "spread": _spread,
    "boundary": _boundary,
    "unknown": _unknown,
    "corrected": _corrected,
    "hold": _hold,
    "standstill": _still,
    "sensor": _sensor,
}
