"""The longitudinal sheet: ground section with aligned strips, every strip at the place its values have."""

from collections.abc import Mapping
from typing import Final

import numpy as np

from tunnelwright.report.axes import Axis, FloatArray, nice_step, nice_values
from tunnelwright.report.figure import Bars, Cursor, Figure, Hold, Item, Label, Panel, Reading, page_panel
from tunnelwright.report.inputs import STATE_CODES, DriveSheet, HoldPlace, PlaceName, StateRow
from tunnelwright.report.labels import shortened, text_width
from tunnelwright.report.numbers import chainage_text, number_text
from tunnelwright.report.section import section_panel
from tunnelwright.report.strips import state_panel, strip_panel
from tunnelwright.report.svg import READING_ROW_PX
from tunnelwright.vocabulary.criterion import State

LEFT_PX: Final = 132.0
READING_PX: Final = 236.0
READING_GAP_PX: Final = 22.0
SECTION_SHARE: Final = 0.335
AXIS_ROWS_PX: Final = 40.0
STRIP_GAP_PX: Final = 7.0
FOOT_PX: Final = 20.0
STATE_ROW_PX: Final = 11.0
LEAST_RING_TICK_PX: Final = 46.0


def drive_sheet(sheet: DriveSheet, *, width_px: float = 1432.0, height_px: float = 732.0) -> Figure:
    """Return the longitudinal sheet of a range of rings.

    Parameters
    ----------
    sheet : what to draw; strips stand in the order given.
    width_px, height_px : size on the page. On a smaller sheet give fewer strips: the type is never shrunk.
    """
    x = _chainage_axis(sheet, width_px)
    panels: list[Panel] = []
    section_bottom = 6.0
    if sheet.section is not None:
        section_bottom = 6.0 + height_px * SECTION_SHARE
        panels.append(section_panel(sheet, sheet.section, x, 6.0, section_bottom))
    top = section_bottom + AXIS_ROWS_PX
    panels += _strip_panels(sheet, x, top, height_px - FOOT_PX)
    notes = (
        *_axis_rows(sheet, x, section_bottom),
        *_foot_row(sheet, x, panels[-1].bottom_px if panels else top),
        *_hold_rows(sheet, width_px, section_bottom + AXIS_ROWS_PX),
    )
    if sheet.missing_words:
        notes = (*notes, Label(x=x.start_px + 20, y=top + 30, words=sheet.missing_words, role="second", size_px=15))
    return Figure(
        key="drive",
        width_px=width_px,
        height_px=height_px,
        title=f"{sheet.drive_name}: longitudinal sheet",
        description=_description(sheet),
        panels=(*panels, page_panel("notes", width_px, height_px, notes)),
        cursor=_cursor(sheet, x, panels),
        reading_left_px=width_px - READING_PX,
    )


def _chainage_axis(sheet: DriveSheet, width_px: float) -> Axis:
    places = sheet.places
    first, last = places.index_of(sheet.first_ring), places.index_of(sheet.last_ring)
    if first < 0 or last <= first:
        low, high = 0.0, 1.0
    else:
        low, high = float(places.ring_chainage_m[first]), float(places.ring_chainage_m[last])
    return Axis(low=low, high=high, start_px=LEFT_PX, end_px=width_px - READING_PX - READING_GAP_PX)


def _strip_panels(sheet: DriveSheet, x: Axis, top_px: float, bottom_px: float) -> list[Panel]:
    states_px = STATE_ROW_PX * len(sheet.state_rows) + 6 if sheet.state_rows else 0.0
    gaps_px = STRIP_GAP_PX * (len(sheet.strips) - (0 if sheet.state_rows else 1))
    shares = sum(strip.height_share for strip in sheet.strips)
    unit_px = (bottom_px - top_px - states_px - gaps_px) / shares if shares else 0.0
    panels = []
    for strip in sheet.strips:
        height = unit_px * strip.height_share
        panels.append(strip_panel(sheet, strip, x, top_px, top_px + height))
        top_px += height + STRIP_GAP_PX
    if sheet.state_rows:
        panels.append(state_panel(sheet, x, top_px, top_px + states_px))
    return panels


def _axis_rows(sheet: DriveSheet, x: Axis, line_px: float) -> list[Item]:
    """Return ring and chainage between section and strips; a chainage stands under its ring where it is round there."""
    places = sheet.places
    step = _ring_step(sheet, x)
    at = (places.ring_number % step == 0) & (places.ring_chainage_m >= x.low - 1e-6) & (places.ring_chainage_m <= x.high + 1e-6)
    rings, chainages = places.ring_number[at], places.ring_chainage_m[at]
    items: list[Item] = [
        Label(x=x.start_px - 14, y=line_px + 15, words="ring", anchor="end", is_bold=True, has_halo=False),
        Label(x=x.start_px - 14, y=line_px + 30, words="chainage", role="second", anchor="end", has_halo=False),
        _ticks(x.pixels(chainages), line_px),
    ]
    for ring, chainage in zip(rings.tolist(), chainages.tolist(), strict=True):
        items.append(
            Label(x=_held(x, chainage, number_text(ring), is_bold=True), y=line_px + 15, words=number_text(ring), anchor="middle", is_bold=True, has_halo=False)
        )
    return [*items, *_chainage_words(x, _round_chainages(x, chainages), line_px + 30)]


def _ring_step(sheet: DriveSheet, x: Axis) -> int:
    rings_shown = max(sheet.last_ring - sheet.first_ring, 1)
    most = max(int((x.end_px - x.start_px) / LEAST_RING_TICK_PX), 1)
    return max(int(nice_step(rings_shown, most)), 1)


def _round_chainages(x: Axis, at_rings: FloatArray) -> FloatArray:
    if at_rings.size and np.all(np.abs(at_rings - np.round(at_rings)) < 0.05):
        return at_rings
    return nice_values(x.low, x.high, nice_step(x.high - x.low, max(int((x.end_px - x.start_px) / 56.0), 1)))


def _chainage_words(x: Axis, chainages: FloatArray, base_px: float) -> list[Item]:
    return [
        Label(x=_held(x, chainage, chainage_text(chainage)), y=base_px, words=chainage_text(chainage), role="second", anchor="middle", has_halo=False)
        for chainage in chainages.tolist()
    ]


def _held(x: Axis, chainage: float, words: str, *, is_bold: bool = False) -> float:
    """Return the middle of an axis label, held inside the width of the strips so that it keeps off the neighbours' words."""
    half = text_width(words, is_bold=is_bold) / 2
    return float(np.clip(x.px(chainage), x.start_px + half - 4, x.end_px - half + 4))


def _ticks(places_px: FloatArray, line_px: float) -> Bars:
    return Bars(x=places_px, low=np.full(places_px.size, line_px), high=np.full(places_px.size, line_px + 4), role="tick")


def _foot_row(sheet: DriveSheet, x: Axis, line_px: float) -> list[Item]:
    places = sheet.places
    at = (places.ring_number % _ring_step(sheet, x) == 0) & (places.ring_chainage_m >= x.low - 1e-6) & (places.ring_chainage_m <= x.high + 1e-6)
    chainages = _round_chainages(x, places.ring_chainage_m[at])
    label = Label(x=x.start_px - 14, y=line_px + 16, words="chainage", role="second", anchor="end", has_halo=False)
    return [label, _ticks(x.pixels(chainages), line_px), *_chainage_words(x, chainages, line_px + 16)]


def _hold_rows(sheet: DriveSheet, width_px: float, bottom_px: float) -> list[Item]:
    """Return the nearest holds ahead in the reading column, below the readings of the section."""
    ahead = sorted((hold for hold in sheet.holds if hold.chainage_m >= sheet.face_chainage_m), key=lambda hold: hold.chainage_m)
    if sheet.section is None:
        return []
    left, base = width_px - READING_PX, 6.0 + 34 + READING_ROW_PX * (len(_place_readings(sheet)) + len(sheet.section.readings)) + 8
    room = int((bottom_px - base) // 34)
    return [item for number, hold in enumerate(ahead[: max(min(room, 2), 0)]) for item in _hold_words(sheet, hold, left, base + 34 * number)]


def _hold_words(sheet: DriveSheet, hold: HoldPlace, left_px: float, base_px: float) -> list[Item]:
    far = number_text(hold.chainage_m - sheet.face_chainage_m, 1)
    needs = f"release before push {number_text(hold.ring_number)}, in {far} m"
    words = shortened(f"hold {hold.number}: {hold.words}", READING_PX - 16)
    return [
        Hold(x=left_px + 3, low=base_px + 1, high=base_px - 10, number=hold.number, words=hold.words, href=hold.href),
        Label(x=left_px + 16, y=base_px, words=words, role="limit", has_halo=False),
        Label(x=left_px + 16, y=base_px + 15, words=needs, role="second", has_halo=False),
    ]


def _cursor(sheet: DriveSheet, x: Axis, panels: list[Panel]) -> Cursor | None:
    if sheet.places.ring_number.size == 0:
        return None
    shown = _shown(sheet)
    numbers = sheet.places.ring_number[shown]
    chosen = np.flatnonzero(numbers == sheet.chosen_ring)
    place_of: dict[str, PlaceName] = {strip.key: strip.place for strip in sheet.strips}
    names: tuple[PlaceName, ...] = ("face", "grout", "ring")
    tracks: dict[str, FloatArray] = {name: _inside(x.pixels(sheet.places.at(name)[shown]), x) for name in names}
    crossed = {panel.key: place_of.get(panel.key, "face") for panel in panels if panel.key != "section"}
    readings = {key: tuple(_cut(row, shown) for row in rows) for key, rows in _readings(sheet).items()}
    return Cursor(numbers=numbers, chosen=int(chosen[0]) if chosen.size else -1, tracks=tracks, panels=crossed, readings=readings)


def _shown(sheet: DriveSheet) -> slice:
    first, last = sheet.places.index_of(sheet.first_ring), sheet.places.index_of(sheet.last_ring)
    return slice(max(first, 0), last + 1)


def _inside(pixels: FloatArray, x: Axis) -> FloatArray:
    return np.where((pixels >= x.start_px) & (pixels <= x.end_px), pixels, np.nan)


def _cut(row: Reading, shown: slice) -> Reading:
    return Reading(
        label=row.label,
        values=np.asarray(row.values, dtype=np.float64)[shown],
        unit=row.unit,
        decimals=row.decimals,
        values_to=None if row.values_to is None else np.asarray(row.values_to, dtype=np.float64)[shown],
        role=row.role,
        is_bold=row.is_bold,
        is_signed=row.is_signed,
        form=row.form,
        state=row.state,
    )


def _place_readings(sheet: DriveSheet) -> tuple[Reading, ...]:
    places = sheet.places
    return (
        Reading(label="face", values=places.face_start_chainage_m, values_to=places.face_end_chainage_m, form="chainage", decimals=1),
        Reading(label="grout outlet", values=places.grout_chainage_m, form="chainage", decimals=1),
        Reading(label="round ring", values=places.grout_ring_number.astype(np.float64)),
        Reading(label="its own ring, front edge", values=places.ring_chainage_m, form="chainage", decimals=1),
    )


def _readings(sheet: DriveSheet) -> dict[str, tuple[Reading, ...]]:
    found: dict[str, tuple[Reading, ...]] = {}
    if sheet.section is not None:
        found["section"] = (*_place_readings(sheet), *sheet.section.readings)
    found |= {strip.key: strip.readings for strip in sheet.strips if strip.readings}
    if sheet.state_rows:
        found["states"] = _state_readings(sheet.state_counts or _counts_of_rows(sheet.state_rows))
    return found


def _counts_of_rows(rows: tuple[StateRow, ...]) -> dict[State, FloatArray]:
    codes = np.stack([row.codes for row in rows])
    is_ahead = (codes < 0).all(axis=0)
    return {state: np.where(is_ahead, np.nan, (codes == code).sum(axis=0)) for code, state in STATE_CODES.items()}


def _state_readings(counts: Mapping[State, FloatArray]) -> tuple[Reading, ...]:
    return tuple(Reading(label=state, values=values, state=state, is_bold=state == "act") for state, values in counts.items())


def _description(sheet: DriveSheet) -> str:
    names = ", ".join(strip.title.lower() for strip in sheet.strips)
    built = number_text(sheet.places.built_ring_number)
    return f"Rings {number_text(sheet.first_ring)} to {number_text(sheet.last_ring)} along the drive, ring {built} built last. Strips: {names}."
