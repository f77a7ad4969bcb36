"""Our printer: a figure record becomes SVG text, for the page with classes, for the drive book with print colours."""

from dataclasses import replace
from html import escape
from itertools import pairwise
from typing import Any, Final

import numpy as np

from tunnelwright.report.axes import Axis, spaced_ticks, without_touching_ends
from tunnelwright.report.figure import Band, Cursor, Figure, Ground, Mark, Panel, Reading, Shade
from tunnelwright.report.hatch import pattern
from tunnelwright.report.items import Easel
from tunnelwright.report.labels import text_width
from tunnelwright.report.numbers import chainage_text, number_text
from tunnelwright.report.pen import Pen, coordinate

READING_ROW_PX: Final = 16.0
UNIT_WIDTH_PX: Final = 50.0
NO_VALUE: Final = "–"
UNDER_GRID: Final = (Ground, Shade, Band)


def figure_svg(figure: Figure, *, for_print: bool = False) -> str:
    """Return a figure as one ``<svg>`` element.

    Parameters
    ----------
    figure : what to draw.
    for_print : write every colour out (paper is always light) and leave out links and hooks of the page script.
    """
    pen = Pen(figure.key, for_print=for_print)
    panels = _with_free_ticks(figure.panels)
    for panel in panels:
        _draw_panel(pen, panel)
    if figure.cursor is not None:
        _draw_cursor(pen, figure, figure.cursor)
        _draw_readings(pen, figure, figure.cursor)
    return _opening(figure, pen, for_print=for_print) + _definitions(pen, panels) + pen.markup() + "</svg>"


def _opening(figure: Figure, pen: Pen, *, for_print: bool) -> str:
    width, height = coordinate(figure.width_px), coordinate(figure.height_px)
    size = f'viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
    # A picture whose parts can be reached must not call itself one picture.
    has_links = any(part.startswith("<a ") for part in pen.parts)
    role = 'role="group" tabindex="0"' if figure.cursor is not None else 'role="group"' if has_links else 'role="img"'
    hooks = "" if for_print else f' class="figure" id="{escape(figure.key)}" {role} aria-labelledby="{escape(figure.key)}-title {escape(figure.key)}-desc"'
    title = f'<title id="{escape(figure.key)}-title">{escape(figure.title)}</title><desc id="{escape(figure.key)}-desc">{escape(figure.description)}</desc>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}{hooks}>{title}'


def _definitions(pen: Pen, panels: tuple[Panel, ...]) -> str:
    clips = "".join(f'<clipPath id="{_clip_id(pen, panel)}">{_clip_shape(panel)}</clipPath>' for panel in panels if panel.is_clipped)
    return f"<defs>{''.join(pattern(pen, name) for name in sorted(pen.hatches))}{clips}</defs>"


def _clip_id(pen: Pen, panel: Panel) -> str:
    return f"{pen.key}-clip-{panel.key}"


def _clip_shape(panel: Panel) -> str:
    if panel.clip_circle is not None:
        x, y, radius = panel.clip_circle
        return f'<circle cx="{coordinate(x)}" cy="{coordinate(y)}" r="{radius:.2f}"/>'
    # One pixel more on each side, so that a thick line or a mark on the frame is not cut in half.
    size = f'width="{coordinate(panel.right_px - panel.left_px + 2)}" height="{coordinate(panel.bottom_px - panel.top_px + 2)}"'
    return f'<rect x="{coordinate(panel.left_px - 1)}" y="{coordinate(panel.top_px - 1)}" {size}/>'


def _with_free_ticks(panels: tuple[Panel, ...]) -> tuple[Panel, ...]:
    """Return the panels with the tick labels dropped that would touch those of the strip below."""
    strips = [index for index, panel in enumerate(panels) if panel.y.ticks]
    freed = list(panels)
    for upper, lower in pairwise(strips):
        if freed[upper].left_px != freed[lower].left_px or freed[upper].bottom_px > freed[lower].top_px + 1:
            continue
        upper_axis, lower_axis = without_touching_ends((freed[upper].y, freed[lower].y))
        freed[upper], freed[lower] = replace(freed[upper], y=upper_axis), replace(freed[lower], y=lower_axis)
    return tuple(freed)


def _draw_panel(pen: Pen, panel: Panel) -> None:
    """Draw ground, then shades and bands, then the grid, then the data, then the frame; marks and words come last and are not cut."""
    easel = Easel(pen, panel)
    under = sorted((item for item in panel.items if isinstance(item, UNDER_GRID)), key=lambda item: not isinstance(item, Ground))
    marks = [item for item in panel.items if isinstance(item, Mark)]
    data = [item for item in panel.items if not isinstance(item, (*UNDER_GRID, Mark))]

    def draw_inside() -> None:
        for area in under:
            easel.draw(area)
        _draw_grid(pen, panel)
        for item in data:
            easel.draw(item)

    if panel.is_clipped:
        pen.group({"clip-path": f"url(#{_clip_id(pen, panel)})"}, draw_inside)
    else:
        draw_inside()
    _draw_frame(pen, panel)
    for item in marks:
        easel.draw(item)
    easel.write_labels()


def _draw_grid(pen: Pen, panel: Panel) -> None:
    if not panel.has_grid:
        return
    for tick in panel.y.ticks:
        y = panel.y.px(tick.value)
        if panel.top_px + 1 < y < panel.bottom_px - 1:
            pen.line(panel.left_px, y, panel.right_px, y, "grid")


def _draw_frame(pen: Pen, panel: Panel) -> None:
    if panel.is_framed:
        pen.rectangle(panel.left_px, panel.top_px, panel.right_px - panel.left_px, panel.bottom_px - panel.top_px, "grid")
    for tick in panel.y.ticks:
        y = panel.y.px(tick.value)
        if tick.words:
            pen.line(panel.left_px - 4, y, panel.left_px, y, "tick")
            pen.words(panel.left_px - 6, y + 4, tick.words, role="second", anchor="end", is_bold=tick.is_bold)
    if panel.title:
        top = panel.top_px + 11
        pen.words(panel.title_x_px, top, panel.title, size_px=13, is_bold=True)
        pen.words(panel.title_x_px, top + 15, panel.subtitle, role="second")
        pen.words(panel.title_x_px, top + 30, panel.second_subtitle, role="second")
    if panel.shows_x_ticks:
        draw_lying_ticks(pen, panel.x, panel.bottom_px)


def draw_lying_ticks(pen: Pen, axis: Axis, line_px: float, base_px: float | None = None) -> None:
    """Write the ticks of a lying axis below a line, leaving out words that would touch."""
    base = line_px + 15 if base_px is None else base_px
    for tick in spaced_ticks(axis, [text_width(tick.words, is_bold=tick.is_bold) for tick in axis.ticks]):
        x = axis.px(tick.value)
        pen.line(x, line_px, x, line_px + 4, "tick")
        pen.words(x, base, tick.words, role="plain" if tick.is_bold else "second", anchor="middle", is_bold=tick.is_bold)


def _crossed(figure: Figure, cursor: Cursor) -> list[Panel]:
    by_key = {panel.key: panel for panel in figure.panels}
    return [by_key[key] for key in cursor.panels if key in by_key]


def _draw_cursor(pen: Pen, figure: Figure, cursor: Cursor) -> None:
    panels = _crossed(figure, cursor)
    data = ""
    if 0 <= cursor.chosen < cursor.numbers.size:
        places = [float(cursor.tracks[cursor.panels[panel.key]][cursor.chosen]) for panel in panels]
        data = cursor_path([(panel.top_px, panel.bottom_px) for panel in panels], places)
    if data or not pen.for_print:
        pen.raw(f'<path d="{data}"{pen.ink("cursor")}' + ("" if pen.for_print else ' data-cursor-line=""') + "/>")


def cursor_path(spans_px: list[tuple[float, float]], places_px: list[float]) -> str:
    """Return the path of a cursor that goes down through strips and steps between them; a strip where the push has no place is left out."""
    data, last = "", None
    for (top, bottom), x in zip(spans_px, places_px, strict=True):
        if not np.isfinite(x):
            last = None
            continue
        data += f"M{x:.1f} {top:.1f}" if last is None else f"V{(last + top) / 2:.1f}H{x:.1f}"
        data += f"V{bottom:.1f}"
        last = bottom
    return data


def _draw_readings(pen: Pen, figure: Figure, cursor: Cursor) -> None:
    if not cursor.readings or figure.reading_left_px <= 0:
        return
    by_key = {panel.key: panel for panel in figure.panels}
    left, right = figure.reading_left_px, figure.width_px
    chosen = number_text(int(cursor.numbers[cursor.chosen])) if 0 <= cursor.chosen < cursor.numbers.size else ""
    free_from = 0.0
    for position, (key, rows) in enumerate(cursor.readings.items()):
        panel = by_key[key]
        top = max(panel.top_px, free_from)
        if position == 0 and cursor.heading:
            pen.words(left, top + 12, f"{cursor.heading} {chosen}", size_px=15, is_bold=True, key="" if pen.for_print else "heading")
            top += 22
        elif position:
            pen.line(left, top - 4, right, top - 4, "grid")
        for index, row in enumerate(rows):
            base = top + 12 + index * READING_ROW_PX
            if row.state is not None:
                pen.state(left + 5, base - 4, row.state)
            pen.words(left + (16 if row.state is not None else 0), base, row.label, role="second")
            value_x = right - UNIT_WIDTH_PX if row.form == "number" else right
            pen.words(
                value_x, base, reading_text(row, cursor.chosen), role=row.role, anchor="end", is_bold=row.is_bold, key="" if pen.for_print else f"{key}.{index}"
            )
            pen.words(right - UNIT_WIDTH_PX + 5, base, row.unit, role="second")
        free_from = top + 12 + len(rows) * READING_ROW_PX - 3


def reading_text(row: Reading, index: int) -> str:
    """Return what a row of the reading column says for one push."""
    if not 0 <= index < row.values.size:
        return _one_reading(row, row.at_rest)
    first = _one_reading(row, float(row.values[index]))
    if row.values_to is None or first == NO_VALUE:
        return first
    last = _one_reading(row, float(row.values_to[index]))
    return f"{first} to {last}" if last != NO_VALUE else first


def _one_reading(row: Reading, value: float) -> str:
    if row.form == "chainage":
        return chainage_text(value, row.decimals) or NO_VALUE
    return number_text(value, row.decimals, is_signed=row.is_signed, missing=NO_VALUE)


def cursor_data(figure: Figure) -> dict[str, Any]:
    """Return what the page script needs to move the cursor: plain numbers, absent ones as null."""
    cursor = figure.cursor
    if cursor is None:
        return {}
    return {
        "figure": figure.key,
        "heading": cursor.heading,
        "isLink": cursor.is_link,
        "chosen": int(cursor.chosen),
        "numbers": cursor.numbers.tolist(),
        "tracks": {name: _plain(values, 1) for name, values in cursor.tracks.items()},
        "panels": [
            {"track": cursor.panels[panel.key], "top": round(panel.top_px, 1), "bottom": round(panel.bottom_px, 1)} for panel in _crossed(figure, cursor)
        ],
        "readings": {f"{key}.{index}": _reading_data(row) for key, rows in cursor.readings.items() for index, row in enumerate(rows) if row.values.size},
    }


def _reading_data(row: Reading) -> dict[str, Any]:
    data: dict[str, Any] = {"form": row.form, "decimals": row.decimals, "values": _plain(row.values, row.decimals)}
    if row.is_signed:
        data["signed"] = True
    if np.isfinite(row.at_rest):
        data["rest"] = round(row.at_rest, row.decimals)
    if row.values_to is not None:
        data["to"] = _plain(row.values_to, row.decimals)
    return data


def _plain(values: np.ndarray, decimals: int) -> list[float | None]:
    return [round(value, decimals) if value == value and abs(value) != np.inf else None for value in np.asarray(values, dtype=np.float64).tolist()]
