"""The ring rail: the whole drive as a thin strip on top of every sheet."""

from typing import Final

import numpy as np

from tunnelwright.report.axes import Axis, nice_step
from tunnelwright.report.figure import Dimension, Figure, Hold, Item, Label, Mark, Outline, page_panel
from tunnelwright.report.inputs import RingRail
from tunnelwright.report.labels import text_width
from tunnelwright.report.numbers import count_text, number_text
from tunnelwright.report.states import Departure, merged

HEIGHT_PX: Final = 66.0
LEFT_PX: Final = 128.0
RIGHT_PX: Final = 14.0
TOP_PX: Final = 29.0
BASE_PX: Final = 37.0
MARK_PX: Final = 7.0
LEAST_MARK_PX: Final = 11.0
LEAST_CELL_PX: Final = 3.4
LABEL_STEP_PX: Final = 90.0


def ring_rail(rail: RingRail, *, width_px: float = 1280.0) -> Figure:
    """Return the rail; the number box at its right end belongs to the page.

    Built rings are solid ink, the open one a narrow cell, planned ones hollow in the colour of the plan. Above stand the marks where a ring
    needs a person; below the ring numbers and, as a dimension line, the range of this sheet. The caret is the chosen ring.
    """
    x = Axis(low=0.5, high=rail.ring_count + 0.5, start_px=LEFT_PX, end_px=width_px - RIGHT_PX)
    items = (
        Label(x=0.0, y=31.0, words=rail.drive_name, size_px=15, is_bold=True, has_halo=False),
        Label(x=0.0, y=50.0, words=count_text(rail.ring_count, "ring"), role="second", size_px=13, has_halo=False),
        *_strip(rail, x),
        *_holds(rail, x),
        *_marks(rail, x),
        *_numbers(rail, x),
        *_range(rail, x),
        *_caret(rail, x),
    )
    return Figure(
        key="rail",
        width_px=width_px,
        height_px=HEIGHT_PX,
        title=f"Ring rail, {rail.drive_name}",
        description=_description(rail),
        panels=(page_panel("rail", width_px, HEIGHT_PX, items),),
    )


def _strip(rail: RingRail, x: Axis) -> list[Item]:
    built = x.px(rail.built_ring_number + 0.5)
    items: list[Item] = [_cell(built, x.end_px, TOP_PX, BASE_PX, "planned-paper"), _cell(x.start_px, built, TOP_PX, BASE_PX, "built-area")]
    if rail.open_ring_number:
        items.append(_cell(built + 0.6, built + 0.6 + max(x.px_per_unit, LEAST_CELL_PX), TOP_PX - 2, BASE_PX + 2, "outline-paper"))
    return items


def _cell(left_px: float, right_px: float, top_px: float, base_px: float, role: str) -> Outline:
    return Outline(x=np.array([left_px, right_px, right_px, left_px]), y=np.array([top_px, top_px, base_px, base_px]), role=role)  # type: ignore[arg-type]


def _holds(rail: RingRail, x: Axis) -> list[Item]:
    return [
        Hold(x=x.px(hold.ring_number), low=BASE_PX + 3, high=TOP_PX - 3, number=hold.number, words=hold.words, href=rail.href.format(ring=hold.ring_number))
        for hold in rail.holds
        if 1 <= hold.ring_number <= rail.ring_count
    ]


def _marks(rail: RingRail, x: Axis) -> list[Item]:
    departures = [Departure(float(mark.ring_number), mark.state, mark.ring_number, mark.ring_number, mark.words) for mark in rail.marks]
    return [
        Mark(x=x.px(ring), y=MARK_PX, state=state, words=words, href=rail.href.format(ring=int(ring)))
        for ring, state, words in merged([one for one in departures if one.state != "in order"], x.px_per_unit, LEAST_MARK_PX)
    ]


def _numbers(rail: RingRail, x: Axis) -> list[Item]:
    step = max(int(nice_step(rail.ring_count, max(int((x.end_px - x.start_px) / LABEL_STEP_PX), 1))), 1)
    last_left = x.end_px - text_width(number_text(rail.ring_count)) - 14
    rings = [
        1,
        *(ring for ring in range(step, rail.ring_count, step) if ring > 1 and x.px(ring) < last_left),
        *([rail.ring_count] if rail.ring_count > 1 else []),
    ]
    return [Label(x=x.px(ring), y=60.0, words=number_text(ring), role="second", anchor="middle", has_halo=False) for ring in rings]


def _range(rail: RingRail, x: Axis) -> list[Item]:
    if not rail.shown_from or rail.shown_to < rail.shown_from:
        return []
    return [Dimension(x1=x.px(rail.shown_from - 0.5), y1=44.0, x2=x.px(rail.shown_to + 0.5), y2=44.0)]


def _caret(rail: RingRail, x: Axis) -> list[Item]:
    if not 1 <= rail.chosen_ring <= rail.ring_count:
        return []
    at, words = x.px(rail.chosen_ring), number_text(rail.chosen_ring)
    caret = Outline(x=np.array([at - 6, at + 6, at]), y=np.array([TOP_PX - 9, TOP_PX - 9, TOP_PX - 0.5]), role="built-area")
    fits_right = at + 12 + text_width(words, 13, is_bold=True) < x.end_px + RIGHT_PX
    return [
        caret,
        Label(x=at, y=TOP_PX - 5, words=words, size_px=13, is_bold=True, anchor="start" if fits_right else "end", dx=10.0 if fits_right else -10.0),
    ]


def _description(rail: RingRail) -> str:
    words = f"{number_text(rail.built_ring_number)} of {count_text(rail.ring_count, 'ring')} built."
    if rail.chosen_ring:
        words += f" Ring {number_text(rail.chosen_ring)} is chosen."
    return words + f" {count_text(len(rail.marks), 'ring needs', 'rings need')} a person; {count_text(len(rail.holds), 'hold point')}."
