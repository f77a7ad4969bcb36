"""The strips below the section: one quantity each, planned, measured and limits, drawn where the push has its place."""

from typing import Final

import numpy as np

from tunnelwright.report.axes import Axis, FloatArray, Tick, number_ticks, value_range
from tunnelwright.report.figure import Band, Dots, Gap, Item, Label, Limit, Line, Mark, Panel, Spread, Upright
from tunnelwright.report.inputs import AHEAD, DriveSheet, PlaceName, Strip
from tunnelwright.report.states import departures_of, merged

TICK_PX: Final = 15.0
PLACE_WORDS: Final[dict[PlaceName, str]] = {"face": "face", "grout": "grout outlet", "ring": "last ring"}
LEAST_MARK_PX: Final = 10.0


def strip_panel(sheet: DriveSheet, strip: Strip, x: Axis, top_px: float, bottom_px: float) -> Panel:
    """Return one strip as a panel over the common chainage axis."""
    y = _axis(sheet, strip, x, top_px, bottom_px)
    at = sheet.places.at(strip.place)
    items = (
        *_window(sheet, strip, at),
        *_forecast(strip, at, x),
        *_planned(strip, at, x),
        *_measured(sheet, strip, at, x),
        *_points(strip),
        *_now(sheet, strip, x),
        *_events(sheet, strip, at, y),
    )
    if not any(_has_values(array) for array in (strip.planned, strip.measured, strip.window_low, strip.window_high, strip.point_value)):
        items = (
            *items,
            Label(x=(x.low + x.high) / 2, y=(y.low + y.high) / 2, words="nothing planned or recorded in this range", role="second", anchor="middle", dy=4.0),
        )
    return Panel(key=strip.key, x=x, y=y, items=items, title=strip.title, subtitle=strip.subtitle)


def _has_values(array: FloatArray | None) -> bool:
    return array is not None and bool(np.isfinite(array).any())


def _axis(sheet: DriveSheet, strip: Strip, x: Axis, top_px: float, bottom_px: float) -> Axis:
    low, high = _range(sheet, strip, x)
    ticks = number_ticks(low, high, max(int((bottom_px - top_px) / TICK_PX), 1), is_signed=strip.is_signed)
    start, end = (top_px, bottom_px) if strip.is_downward else (bottom_px, top_px)
    return Axis(low=low, high=high, start_px=start, end_px=end, ticks=ticks)


def _range(sheet: DriveSheet, strip: Strip, x: Axis) -> tuple[float, float]:
    at = sheet.places.at(strip.place)
    shown = (at >= x.low) & (at <= x.high)
    lines = [None if array is None else array[shown] for array in (strip.planned, strip.window_low, strip.window_high, strip.forecast, strip.second)]
    points = None
    if strip.point_value is not None and strip.point_chainage_m is not None:
        points = strip.point_value[(strip.point_chainage_m >= x.low) & (strip.point_chainage_m <= x.high)]
    # A mark needs its place inside the strip, and so do the words below or above it.
    events = np.array([event.value for event in strip.events if sheet.first_ring <= event.ring_number <= sheet.last_ring])
    low, high = value_range([*lines, _without_spikes(strip.measured, shown), points, events], share=0.12)
    return (strip.low if np.isfinite(strip.low) else low), (strip.high if np.isfinite(strip.high) else high)


def _without_spikes(measured: FloatArray | None, shown: np.ndarray) -> FloatArray | None:
    """Return what sets the axis: a single wild reading is marked at the strip's edge and does not flatten all others."""
    if measured is None:
        return None
    values = measured[shown & np.isfinite(measured)]
    if values.size < 20:
        return values
    low, middle, high = np.percentile(values, (2, 50, 98))
    return values[np.abs(values - middle) <= 6 * max(high - low, 1e-9)]


def _window(sheet: DriveSheet, strip: Strip, at: FloatArray) -> list[Item]:
    low, high = strip.window_low, strip.window_high
    if not strip.has_window_ahead:
        known = np.arange(at.size) <= sheet.places.last_index()
        low, high = (None if limit is None else np.where(known, limit, np.nan) for limit in (low, high))
    items: list[Item] = []
    if low is not None and high is not None:
        # Where the limits have crossed there is no window, and nothing may look like one.
        items.append(Band(x=at, low=np.where(low <= high, low, np.nan), high=high, role="window-area", is_step=True))
    if high is not None:
        items.append(Limit(x=at, y=high, words=strip.window_words_high, is_step=True, is_above=not strip.is_downward))
    if low is not None:
        items.append(Limit(x=at, y=low, words=strip.window_words_low, is_step=True, is_above=strip.is_downward))
    return items


def _forecast(strip: Strip, at: FloatArray, x: Axis) -> list[Item]:
    items: list[Item] = []
    if strip.forecast_low is not None and strip.forecast_high is not None:
        items.append(Band(x=at, low=strip.forecast_low, high=strip.forecast_high, role="unsure-area"))
    if strip.forecast is not None:
        items.append(Line(x=at, y=strip.forecast, role="forecast", words=strip.forecast_words or "forecast"))
        items += _words_at(at, strip.forecast, x, strip.forecast_words, "planned", share=0.35)
    return items


def _planned(strip: Strip, at: FloatArray, x: Axis) -> list[Item]:
    if strip.planned is None:
        return []
    return [
        Line(x=at, y=strip.planned, role="planned", is_step=strip.is_stepped, words="planned"),
        *_words_at(at, strip.planned, x, strip.planned_words, "planned", share=0.87),
    ]


def _measured(sheet: DriveSheet, strip: Strip, at: FloatArray, x: Axis) -> list[Item]:
    # Right of its place nothing can have been measured: whatever an input says there is not drawn.
    known = np.arange(at.size) <= sheet.places.last_index() + 1
    items: list[Item] = []
    if strip.measured_low is not None and strip.measured_high is not None:
        items.append(Spread(x=at, low=np.where(known, strip.measured_low, np.nan), high=np.where(known, strip.measured_high, np.nan)))
    if strip.raw is not None:
        items += [
            Line(x=at, y=np.where(known, strip.raw, np.nan), role="raw", words=strip.raw_words or "as recorded"),
            *_words_at(at, strip.raw, x, strip.raw_words, "second", share=0.5),
        ]
    if strip.second is not None:
        second = np.where(known, strip.second, np.nan)
        items += [Line(x=at, y=second, role="second-line", words=strip.second_words), *_words_at(at, second, x, strip.second_words, "second", share=0.02)]
    if strip.measured is not None:
        measured = np.where(known, strip.measured, np.nan)
        items.append(Line(x=at, y=measured, role="measured", is_step=strip.is_stepped, words=strip.measured_words or "recorded"))
        items += _words_at(at, measured, x, strip.measured_words, "plain", share=0.02)
        if strip.corrected is not None and strip.corrected.any():
            items.append(Dots(x=at[strip.corrected], y=measured[strip.corrected], is_hollow=True))
    items += [_gap(sheet, gap.first_ring, gap.last_ring, gap.words, at) for gap in strip.gaps]
    return items


def _gap(sheet: DriveSheet, first_ring: int, last_ring: int, words: str, at: FloatArray) -> Gap:
    first, last = sheet.places.index_of(first_ring), sheet.places.index_of(last_ring)
    return Gap(start=float(at[first]), end=float(at[last]), words=words)


def _words_at(at: FloatArray, values: FloatArray, x: Axis, words: str, role: str, *, share: float) -> list[Item]:
    """Return the name of a line near a share of its length in view."""
    present = np.flatnonzero(np.isfinite(values) & (at >= x.low) & (at <= x.high))
    if not words or present.size == 0:
        return []
    index = int(present[min(int(share * present.size), present.size - 1)])
    return [Label(x=float(at[index]), y=float(values[index]), words=words, role=role, dx=4.0, dy=-6.0, may_move=True)]  # type: ignore[arg-type]


def _points(strip: Strip) -> list[Item]:
    if strip.point_chainage_m is None or strip.point_value is None:
        return []
    return [
        Line(x=strip.point_chainage_m, y=strip.point_value, role="thin", words="measured"),
        Dots(x=strip.point_chainage_m, y=strip.point_value),
    ]


def _now(sheet: DriveSheet, strip: Strip, x: Axis) -> list[Item]:
    last = sheet.places.last_index()
    if last < 0:
        return []
    now = sheet.face_chainage_m if strip.place == "face" else float(sheet.places.at(strip.place)[last])
    if not x.low <= now <= x.high:
        return []
    # Named once for each place, in the first strip that has it.
    is_first = next(other for other in sheet.strips if other.place == strip.place) is strip
    return [Upright(x=now, role="ghost", words=PLACE_WORDS[strip.place] if is_first else "")]


def _events(sheet: DriveSheet, strip: Strip, at: FloatArray, y: Axis) -> list[Item]:
    """Return marks and words of what is named; one whose value lies outside the axis stands at the edge of the strip."""
    items: list[Item] = []
    roles = {"act": "limit", "watch": "watch", "not checked": "second", "in order": "plain"}
    for event in strip.events:
        index = sheet.places.index_of(event.ring_number)
        if index < 0 or not np.isfinite(at[index]):
            continue
        place, value = float(at[index]), float(np.clip(event.value, y.low, y.high))
        items.append(Mark(x=place, y=value, state=event.state, words=event.words, href=event.href))
        if event.words:
            items.append(Label(x=place, y=value, words=event.words, role=roles[event.state], dx=8.0, dy=4.0, may_move=True))  # type: ignore[arg-type]
    return items


def state_panel(sheet: DriveSheet, x: Axis, top_px: float, bottom_px: float) -> Panel:
    """Return the states strip: a plain line is in order, only exceptions get a mark, not checked breaks the line."""
    rows = sheet.state_rows
    y = Axis(low=-0.5, high=len(rows) - 0.5, start_px=top_px, end_px=bottom_px, ticks=tuple(Tick(float(number), row.name) for number, row in enumerate(rows)))
    items: list[Item] = []
    for number, row in enumerate(rows):
        at = sheet.places.at(row.place)
        drawn = np.where((row.codes == AHEAD) | (row.codes == 3), np.nan, float(number))
        items.append(Line(x=at, y=drawn, role="thin", words=f"{row.name}: in order"))
        found = departures_of(at, row.codes, sheet.places.ring_number, row.words)
        items += [Mark(x=place, y=float(number), state=state, words=words, size_px=8.5) for place, state, words in merged(found, x.px_per_unit, LEAST_MARK_PX)]
    if sheet.face_chainage_m < x.low + 0.75 * (x.high - x.low):
        words = "ahead of its place each line is planned, not checked"
        items.append(Label(x=max(sheet.face_chainage_m, x.low), y=(len(rows) - 1) / 2, words=words, role="second", dx=14.0, dy=4.0))
    return Panel(key="states", x=x, y=y, items=tuple(items), title="States", subtitle="exceptions", has_grid=False)
