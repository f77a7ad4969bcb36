"""The push chart: one ring over time or stroke, phases on top, standstill and ring build shaded through all panels."""

from typing import Final

import numpy as np

from tunnelwright.report.axes import Axis, FloatArray, Tick, nice_step, nice_values, number_ticks, spaced_ticks, value_range
from tunnelwright.report.figure import Band, Bars, Cursor, Figure, Gap, Item, Label, Limit, Line, Mark, Outline, Panel, Reading, Shade, Upright, page_panel
from tunnelwright.report.inputs import PhaseSpan, PushChart, PushLine, PushPanel, PushReading
from tunnelwright.report.labels import shortened, text_width
from tunnelwright.report.numbers import number_text

LEFT_PX: Final = 112.0
READING_PX: Final = 150.0
READING_GAP_PX: Final = 14.0
STROKE_BASE_PX: Final = 14.0
PHASE_TOP_PX: Final = 24.0
PHASE_BASE_PX: Final = 39.0
FIRST_PANEL_PX: Final = 47.0
PANEL_GAP_PX: Final = 8.0
FOOT_PX: Final = 22.0
PHASE_WORDS: Final = {"advance": "push", "stop": "standstill", "build": "ring build", "unknown": "not known"}
LETTER_OF_STATE: Final = {"act": "limit", "watch": "watch", "not checked": "second", "in order": "plain"}


def push_chart(chart: PushChart, *, width_px: float = 700.0, height_px: float = 500.0) -> Figure:
    """Return the chart of one push.

    Over time the whole cycle is drawn. Over stroke only the advance is: standing still has no width there, and each stop is an upright line.
    """
    along = _along(chart)
    x = _axis(chart, along, width_px)
    panels = _panels(chart, along, x, height_px) if along.size else []
    notes: tuple[Item, ...] = (*_phases(chart, x), *_foot(chart, x, panels[-1].bottom_px)) if panels else ()
    if not panels:
        words = chart.missing_words or f"No samples of push {number_text(chart.ring_number)} yet. Import the logger's files of this ring to see the chart."
        notes = (Label(x=0.0, y=40.0, words=words, role="second", size_px=15),)
    return Figure(
        key="push",
        width_px=width_px,
        height_px=height_px,
        title=f"Push {number_text(chart.ring_number)} over {chart.along}",
        description=_description(chart),
        panels=(*panels, page_panel("notes", width_px, height_px, notes)),
        cursor=_cursor(chart, along, x, panels),
        reading_left_px=width_px - READING_PX,
    )


def _along(chart: PushChart) -> FloatArray:
    if chart.along == "time":
        return chart.time_s
    advancing = np.zeros(chart.time_s.size, dtype=bool)
    for phase in chart.phases:
        if phase.kind == "advance":
            advancing |= (chart.time_s >= phase.start_s) & (chart.time_s < phase.end_s)
    return np.where(advancing, chart.stroke_m, np.nan)


def _axis(chart: PushChart, along: FloatArray, width_px: float) -> Axis:
    present = along[np.isfinite(along)]
    low, high = (float(present.min()), float(present.max())) if present.size else (0.0, 1.0)
    if not high > low:
        high = low + 1.0
    start, end = LEFT_PX, width_px - READING_PX - READING_GAP_PX
    ticks = _clock_ticks(low, high) if chart.along == "time" else number_ticks(low, high, 6)
    return Axis(low=low, high=high, start_px=start, end_px=end, ticks=ticks)


def _clock_ticks(low_s: float, high_s: float) -> tuple[Tick, ...]:
    span_min = (high_s - low_s) / 60
    step_min = next((step for step in (1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 360, 720) if span_min / step <= 8), 1440)
    return tuple(Tick(at * 60, clock_text(at * 60)) for at in nice_values(low_s / 60, high_s / 60, step_min).tolist())


def clock_text(seconds: float) -> str:
    """Return seconds from midnight as a clock time; the day is not shown."""
    minutes = round(seconds / 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _panels(chart: PushChart, along: FloatArray, x: Axis, height_px: float) -> list[Panel]:
    shares = sum(panel.height_share for panel in chart.panels)
    room = height_px - FOOT_PX - FIRST_PANEL_PX - PANEL_GAP_PX * (len(chart.panels) - 1)
    top, panels = FIRST_PANEL_PX, []
    for panel in chart.panels:
        height = room * panel.height_share / shares
        panels.append(_panel(chart, panel, along, x, top, top + height))
        top += height + PANEL_GAP_PX
    return panels


def _panel(chart: PushChart, panel: PushPanel, along: FloatArray, x: Axis, top_px: float, bottom_px: float) -> Panel:
    low, high = value_range([*(line.values for line in panel.lines), np.array([panel.window_low, panel.window_high])])
    low, high = (panel.low if np.isfinite(panel.low) else low), (panel.high if np.isfinite(panel.high) else high)
    y = Axis(low=low, high=high, start_px=bottom_px, end_px=top_px, ticks=number_ticks(low, high, max(int((bottom_px - top_px) / 19), 1)))
    items = (
        *_shades(chart, is_first=panel is chart.panels[0]),
        *_window(panel, x),
        *(_series(line, along) for line in panel.lines),
        *_gaps(chart, panel),
        *_notes(chart, panel, along),
    )
    if not any(np.isfinite(line.values).any() for line in panel.lines):
        items = (*items, Label(x=(x.low + x.high) / 2, y=(low + high) / 2, words="no readings in this push", role="second", anchor="middle", dy=4.0))
    return Panel(key=panel.key, x=x, y=y, items=items, title=panel.title, subtitle=panel.subtitle, second_subtitle=panel.second_subtitle)


def _series(line: PushLine, along: FloatArray) -> Line:
    return Line(x=along, y=line.values, role=line.role, words=line.name)


def _shades(chart: PushChart, *, is_first: bool) -> list[Item]:
    if chart.along == "stroke":
        stops = [phase for phase in chart.phases if phase.kind == "stop"]
        return [Upright(x=_stroke_at(chart, stop.start_s), role="ghost", words=(stop.name or PHASE_WORDS["stop"]) if is_first else "") for stop in stops]
    return [Shade(start=phase.start_s, end=phase.end_s, words=phase.name or PHASE_WORDS[phase.kind]) for phase in chart.phases if phase.kind != "advance"]


def _stroke_at(chart: PushChart, time_s: float) -> float:
    present = np.isfinite(chart.stroke_m)
    return float(np.interp(time_s, chart.time_s[present], chart.stroke_m[present])) if present.any() else 0.0


def _window(panel: PushPanel, x: Axis) -> list[Item]:
    ends = np.array([x.low, x.high])
    items: list[Item] = []
    has_low, has_high = np.isfinite(panel.window_low), np.isfinite(panel.window_high)
    if has_low and has_high:
        items.append(Band(x=ends, low=np.full(2, panel.window_low), high=np.full(2, panel.window_high), role="window-area"))
    if has_high:
        items.append(Limit(x=ends, y=np.full(2, panel.window_high), words="" if has_low else panel.window_words))
    if has_low:
        items.append(Limit(x=ends, y=np.full(2, panel.window_low), words=panel.window_words, is_above=True))
    return items


def _gaps(chart: PushChart, panel: PushPanel) -> list[Item]:
    """Return the names of the gaps in a panel whose lines do break there."""
    if chart.along != "time":
        return []
    items: list[Item] = []
    for start, end, words in chart.gaps:
        inside = (chart.time_s >= start) & (chart.time_s <= end)
        if any(line.role != "planned" and not np.isfinite(line.values[inside]).all() for line in panel.lines):
            items.append(Gap(start=start, end=end, words=words))
    return items


def _notes(chart: PushChart, panel: PushPanel, along: FloatArray) -> list[Item]:
    items: list[Item] = []
    for note in panel.notes:
        index = int(np.argmin(np.abs(chart.time_s - note.time_s)))
        if not np.isfinite(along[index]):
            continue
        at = float(along[index])
        if note.state is not None:
            items.append(Mark(x=at, y=note.value, state=note.state, words=note.words))
        role = LETTER_OF_STATE[note.state] if note.state else "second"
        items.append(Label(x=at, y=note.value, words=note.words, role=role, dx=8.0, dy=15.0, may_move=True))  # type: ignore[arg-type]
    return items


def _phases(chart: PushChart, x: Axis) -> list[Item]:
    """Return the strip of phases with its stroke ticks; over stroke the phases that have no width are left to the description."""
    items: list[Item] = [
        Label(x=0.0, y=PHASE_BASE_PX - 3, words="Phases", size_px=13, is_bold=True, has_halo=False),
    ]
    if chart.along == "time":
        items.append(Label(x=0.0, y=STROKE_BASE_PX, words="stroke, m", role="second", has_halo=False))
        items += _stroke_ticks(chart, x)
        shown = [(x.px(phase.start_s), x.px(phase.end_s), phase) for phase in chart.phases]
    else:
        shown = [(*_stroke_ends(chart, phase, x), phase) for phase in chart.phases if phase.kind == "advance"]
    for left, right, phase in shown:
        items += _phase(phase, max(left, x.start_px), min(right, x.end_px))
    return items


def _stroke_ends(chart: PushChart, phase: PhaseSpan, x: Axis) -> tuple[float, float]:
    inside = chart.stroke_m[(chart.time_s >= phase.start_s) & (chart.time_s <= phase.end_s)]
    inside = inside[np.isfinite(inside)]
    return (x.px(float(inside.min())), x.px(float(inside.max()))) if inside.size else (x.start_px, x.start_px)


def _phase(phase: PhaseSpan, left: float, right: float) -> list[Item]:
    role = "paper-area" if phase.kind == "advance" else "still-area"
    corners = {"x": np.array([left, right, right, left]), "y": np.array([PHASE_TOP_PX, PHASE_TOP_PX, PHASE_BASE_PX, PHASE_BASE_PX])}
    words = phase.name or PHASE_WORDS[phase.kind]
    fitting = shortened(words, right - left - 6)
    items: list[Item] = [Outline(**corners, role=role), Line(x=np.r_[corners["x"], left], y=np.r_[corners["y"], PHASE_TOP_PX], role="grid", words=words)]  # type: ignore[arg-type]
    if phase.kind == "advance":
        items.append(Line(x=np.array([left, right]), y=np.full(2, PHASE_BASE_PX), role="chosen"))
    if text_width(fitting) <= right - left:
        items.append(Label(x=(left + right) / 2, y=PHASE_BASE_PX - 4, words=fitting, anchor="middle", has_halo=False))
    return items


def _stroke_ticks(chart: PushChart, x: Axis) -> list[Item]:
    """Return ticks where the stroke reaches round values for the first time while advancing."""
    present = np.isfinite(chart.stroke_m)
    if present.sum() < 2:
        return []
    time, reached = chart.time_s[present], np.maximum.accumulate(chart.stroke_m[present])
    step = nice_step(float(reached[-1] - reached[0]), 6, (1.0, 2.0, 3.0, 5.0))
    values = nice_values(float(reached[0]), float(reached[-1]), step)
    at = np.array([time[np.searchsorted(reached, value - 1e-9)] for value in values.tolist()])
    ticks = Axis(
        low=x.low,
        high=x.high,
        start_px=x.start_px,
        end_px=x.end_px,
        ticks=tuple(Tick(a, number_text(v, 1)) for a, v in zip(at.tolist(), values.tolist(), strict=True)),
    )
    items: list[Item] = [Bars(x=x.pixels(at), low=np.full(at.size, PHASE_TOP_PX), high=np.full(at.size, PHASE_TOP_PX - 5), role="tick")]
    for tick in spaced_ticks(ticks, [text_width(tick.words) for tick in ticks.ticks], 4.0):
        items.append(Label(x=x.px(tick.value), y=STROKE_BASE_PX, words=tick.words, role="second", anchor="middle", has_halo=False))
    return items


def _foot(chart: PushChart, x: Axis, line_px: float) -> list[Item]:
    items: list[Item] = [
        Label(x=0.0, y=line_px + 16, words="time" if chart.along == "time" else "stroke, m", role="second", has_halo=False),
        Bars(x=x.pixels([tick.value for tick in x.ticks]), low=np.full(len(x.ticks), line_px), high=np.full(len(x.ticks), line_px + 4), role="tick"),
    ]
    for tick in spaced_ticks(x, [text_width(tick.words) for tick in x.ticks]):
        half = text_width(tick.words) / 2
        place = float(np.clip(x.px(tick.value), x.start_px + half - 4, x.end_px - half + 4))
        items.append(Label(x=place, y=line_px + 16, words=tick.words, role="second", anchor="middle", has_halo=False))
    return items


def _cursor(chart: PushChart, along: FloatArray, x: Axis, panels: list[Panel]) -> Cursor | None:
    if not panels:
        return None
    readings = {panel.key: tuple(_reading(panel, row) for row in panel.readings) for panel in chart.panels if panel.readings}
    return Cursor(
        numbers=np.arange(along.size),
        chosen=-1,
        tracks={"sample": x.pixels(along)},
        panels={panel.key: "sample" for panel in panels},
        readings=readings,
        heading="",
        is_link=False,
    )


def _reading(panel: PushPanel, row: PushReading) -> Reading:
    values = next((line.values for line in panel.lines if line.name == row.line), np.empty(0))
    return Reading(label=row.label, values=values, at_rest=row.value, unit=row.unit, decimals=row.decimals, role=row.role, is_bold=row.is_bold)


def _description(chart: PushChart) -> str:
    phases = ", ".join(f"{phase.name or PHASE_WORDS[phase.kind]} {clock_text(phase.start_s)} to {clock_text(phase.end_s)}" for phase in chart.phases)
    return f"Phases: {phases}." if phases else "No phases known."
