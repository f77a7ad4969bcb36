"""The ground section above the strips: ground with hatches, water, tunnel to scale, machine, assets, boreholes, hold points."""

from typing import Final

import numpy as np

from tunnelwright.report.axes import Axis, FloatArray, number_ticks
from tunnelwright.report.figure import (
    AreaRole,
    Bars,
    Borehole,
    Boundary,
    Ground,
    Hold,
    Item,
    Label,
    Leader,
    Line,
    Outline,
    Oval,
    Panel,
    WaterTable,
)
from tunnelwright.report.inputs import AssetOutline, DriveSheet, GroundSection
from tunnelwright.report.labels import text_width
from tunnelwright.report.numbers import chainage_text, number_text

USUAL_HEIGHT_M: Final = {"building": 9.0, "bridge": 8.0, "street": 0.0, "other": 3.0}
NAME_ROOM_PX: Final = 20.0
LEAST_JOINT_PX: Final = 2.5


def section_panel(sheet: DriveSheet, section: GroundSection, x: Axis, top_px: float, bottom_px: float) -> Panel:
    """Return the section as a panel over the common chainage axis."""
    y = _levels(section, x, top_px, bottom_px)
    exaggeration = abs(y.px_per_unit / x.px_per_unit)
    items = (
        *_ground(section, x),
        *_boreholes(section, x),
        *_tunnel(sheet, section, x),
        *_waters(section, x),
        *_surface(section),
        *_assets(section, x, y),
        *_holds(sheet, section, x),
        *_places(sheet, section, x, y),
    )
    return Panel(
        key="section",
        x=x,
        y=y,
        items=items,
        title="Ground section",
        subtitle="level, m",
        second_subtitle=f"heights × {number_text(exaggeration, 1)}",
        has_grid=False,
    )


def _levels(section: GroundSection, x: Axis, top_px: float, bottom_px: float) -> Axis:
    inside = (section.chainage_m >= x.low) & (section.chainage_m <= x.high)
    surface, axis = section.surface_level_m[inside], section.axis_level_m[inside]
    if not inside.any():
        surface, axis = section.surface_level_m, section.axis_level_m
    low = section.low_level_m if np.isfinite(section.low_level_m) else float(np.nanmin(axis)) - section.outer_diameter_m * 1.3
    high = section.high_level_m if np.isfinite(section.high_level_m) else float(np.nanmax(surface)) + 13.0
    return Axis(low=low, high=high, start_px=bottom_px, end_px=top_px, ticks=number_ticks(low, high, max(int((bottom_px - top_px) / 45), 2), is_signed=True))


def _ground(section: GroundSection, x: Axis) -> list[Item]:
    items: list[Item] = []
    for layer in section.layers:
        at, top = _part(layer.chainage_m, layer.top_level_m, x.low, x.high)
        _, base = _part(layer.chainage_m, layer.base_level_m, x.low, x.high)
        items.append(Ground(x=np.r_[at, at[::-1]], y=np.r_[top, base[::-1]], kind=layer.kind, name=layer.name))
    for lens in section.lenses:
        items.append(Ground(x=lens.chainage_m, y=lens.level_m, kind=lens.kind, name=lens.name, outline="doubtful"))
    for layer in section.layers[:-1]:
        items.append(Boundary(x=layer.chainage_m, y=layer.base_level_m, half_doubt=layer.base_doubt_m))
    return items


def _waters(section: GroundSection, x: Axis) -> list[Item]:
    items: list[Item] = []
    for number, water in enumerate(section.waters):
        sign = _sign_place(section, x, water.name, from_left=number % 2 == 0)
        items.append(WaterTable(x=water.chainage_m, y=water.level_m, sign_x=sign, words=water.name, is_second_head=water.is_second_head))
    return items


def _sign_place(section: GroundSection, x: Axis, words: str, *, from_left: bool) -> float:
    """Return where the sign of a water level and the words left of it keep off boreholes; the signs of two levels start from opposite ends."""
    width = (text_width(words) + 24) / x.px_per_unit
    places = x.low + (x.high - x.low) * np.arange(0.14, 0.98, 0.03)
    holes = np.array([hole.chainage_m for hole in section.boreholes])
    for place in places if from_left else places[::-1]:
        if not np.any((holes > place - width) & (holes < place + 12 / x.px_per_unit)):
            return float(place)
    return float(places[0 if from_left else -1])


def _surface(section: GroundSection) -> list[Item]:
    return [Line(x=section.chainage_m, y=section.surface_level_m, role="surface", words="street level")]


def _tunnel(sheet: DriveSheet, section: GroundSection, x: Axis) -> list[Item]:
    places, radius = sheet.places, section.outer_diameter_m / 2
    chainage, axis = section.chainage_m, section.axis_level_m
    tail, last = sheet.face_chainage_m - section.shield_length_m, places.last_index()
    start = float(places.ring_chainage_m[0]) if places.ring_chainage_m.size else x.low
    built_to = float(places.ring_chainage_m[last]) if last >= 0 else start
    whole, built, ahead = (
        part for part in (_part(chainage, axis, start, x.high), _part(chainage, axis, start, built_to), _part(chainage, axis, built_to, x.high))
    )
    items: list[Item] = [Outline(x=np.r_[whole[0], whole[0][::-1]], y=np.r_[whole[1] + radius, whole[1][::-1] - radius], role="paper-area")]
    items += _joints(sheet, section, x, last)
    for side in (radius, -radius):
        items.append(Line(x=built[0], y=built[1] + side, role="chosen" if side > 0 else "measured"))
        items.append(Line(x=ahead[0], y=ahead[1] + side, role="planned"))
    items.append(Line(x=ahead[0], y=ahead[1], role="axis"))
    shield = _part(chainage, axis, tail, sheet.face_chainage_m)
    half = section.shield_diameter_m / 2
    if last >= 0 or sheet.face_chainage_m > start:
        items.append(Outline(x=np.r_[shield[0], shield[0][::-1]], y=np.r_[shield[1] + half, shield[1][::-1] - half], role="lining-area"))
        items.append(Bars(x=np.array([sheet.face_chainage_m]), low=shield[1][-1:] - half, high=shield[1][-1:] + half, role="outline"))
    return [*items, *_tunnel_words(sheet, x, built, ahead, last)]


def _part(chainage: FloatArray, level: FloatArray, start: float, end: float) -> tuple[FloatArray, FloatArray]:
    """Return the piece of a line between two chainages, its ends interpolated."""
    between = chainage[(chainage > start) & (chainage < end)]
    x = np.r_[start, between, max(end, start)]
    return x, np.asarray(np.interp(x, chainage, level), dtype=np.float64)


def _joints(sheet: DriveSheet, section: GroundSection, x: Axis, last: int) -> list[Item]:
    if last < 0:
        return []
    chainage, rings = sheet.places.ring_chainage_m[: last + 1], sheet.places.ring_number[: last + 1]
    length = float(np.median(np.diff(chainage))) if chainage.size > 1 else 1.5
    items: list[Item] = []
    for step, role in ((1, "joint"), (10, "tenth-joint"), (100, "tenth-joint")):
        if step * length * abs(x.px_per_unit) < LEAST_JOINT_PX:
            continue
        at = chainage[rings % step == 0]
        axis = np.interp(at, section.chainage_m, section.axis_level_m)
        items.append(Bars(x=at, low=axis - section.outer_diameter_m / 2, high=axis + section.outer_diameter_m / 2, role=role))  # type: ignore[arg-type]
    return items


def _tunnel_words(sheet: DriveSheet, x: Axis, built: tuple[FloatArray, FloatArray], ahead: tuple[FloatArray, FloatArray], last: int) -> list[Item]:
    items: list[Item] = []
    if last >= 0 and built[0][-1] > x.low:
        middle = (max(x.low, float(built[0][0])) + min(float(built[0][-1]), x.high)) / 2
        words = f"built, ring {number_text(int(sheet.places.ring_number[last]))} last"
        items.append(Label(x=middle, y=float(np.interp(middle, *built)), words=words, anchor="middle", dy=4.0))
    if ahead[0][0] < x.high:
        far = x.low + 0.93 * (x.high - x.low)
        if far > max(float(ahead[0][0]), sheet.face_chainage_m):
            items.append(Label(x=far, y=float(np.interp(far, *ahead)), words="planned", role="planned", anchor="middle", dy=-6.0))
    return items


def _assets(section: GroundSection, x: Axis, y: Axis) -> list[Item]:
    items: list[Item] = []
    shown = [asset for asset in section.assets if asset.end_chainage_m > x.low and asset.start_chainage_m < x.high]
    for asset in shown:
        items += _asset_shape(asset, section, x, y)
    return [*items, *_asset_names(shown, section, x, y)]


def _asset_shape(asset: AssetOutline, section: GroundSection, x: Axis, y: Axis) -> list[Item]:
    middle = (asset.start_chainage_m + asset.end_chainage_m) / 2
    if asset.kind in ("pipe", "sewer"):
        radius = max(asset.diameter_m / 2, 0.35)
        wide = radius if asset.end_chainage_m - asset.start_chainage_m < 4 * radius else (asset.end_chainage_m - asset.start_chainage_m) / 2
        # Across the drive a pipe is seen end on; it is drawn round on paper, else a water main would look like a plank.
        return [Oval(x=middle, y=asset.foundation_level_m, radius_x=max(wide, 3.5 / x.px_per_unit), radius_y=radius, role="outline-paper", words=asset.name)]
    surface = float(np.interp(middle, section.chainage_m, section.surface_level_m))
    top = asset.top_level_m if np.isfinite(asset.top_level_m) else surface + USUAL_HEIGHT_M[asset.kind]
    top = min(top, y.value(y.end_px + NAME_ROOM_PX))
    if asset.kind == "bridge":
        return _bridge(asset, top, surface)
    box = _box(asset.start_chainage_m, asset.end_chainage_m, asset.foundation_level_m, max(top, asset.foundation_level_m), "outline-paper")
    bays = np.linspace(asset.start_chainage_m, asset.end_chainage_m, max(int((asset.end_chainage_m - asset.start_chainage_m) / 6.0), 1) + 1)[1:-1]
    walls = Bars(x=bays, low=np.full(bays.size, asset.foundation_level_m), high=np.full(bays.size, top), role="joint")
    return [box, walls, *_piles(asset, bays if bays.size else np.array([middle]))]


def _bridge(asset: AssetOutline, top: float, surface: float) -> list[Item]:
    span = asset.end_chainage_m - asset.start_chainage_m
    piers = np.linspace(asset.start_chainage_m + span * 0.12, asset.end_chainage_m - span * 0.12, max(int(span / 18.0), 1) + 1)
    items: list[Item] = [_box(asset.start_chainage_m, asset.end_chainage_m, top - 1.2, top, "outline-paper")]
    for pier in piers:
        items.append(_box(pier - 0.9, pier + 0.9, surface, top - 1.2, "outline-paper"))
        items.append(_box(pier - 2.4, pier + 2.4, asset.foundation_level_m, min(surface, asset.foundation_level_m + 1.5), "outline-paper"))
        items += _piles(asset, np.array([pier - 1.6, pier + 1.6]))
    return items


def _piles(asset: AssetOutline, at: FloatArray) -> list[Item]:
    if not np.isfinite(asset.pile_toe_level_m):
        return []
    return [Bars(x=at, low=np.full(at.size, asset.pile_toe_level_m), high=np.full(at.size, asset.foundation_level_m), role="outline")]


def _box(left: float, right: float, low: float, high: float, role: AreaRole) -> Outline:
    return Outline(x=np.array([left, right, right, left]), y=np.array([low, low, high, high]), role=role)


def _asset_names(shown: list[AssetOutline], section: GroundSection, x: Axis, y: Axis) -> list[Item]:
    """Return the names, lying where there is room, turned at crowded places; one that still finds no room stays in the title of its shape."""
    items: list[Item] = []
    taken: list[tuple[float, float]] = []
    for asset in sorted(shown, key=lambda one: one.start_chainage_m - one.end_chainage_m):
        left, right = max(asset.start_chainage_m, x.low), min(asset.end_chainage_m, x.high)
        middle, half = x.px((left + right) / 2), text_width(asset.name) / 2
        middle = float(np.clip(middle, x.start_px + half + 2, x.end_px - half - 2))
        surface = float(np.interp(x.value(middle), section.chainage_m, section.surface_level_m))
        room_px = y.px(surface) - y.end_px - 8
        for turned, reach in ((False, half + 4), (True, 6.6)):
            if any(middle - reach < high and middle + reach > low for low, high in taken) or (turned and 2 * half > room_px):
                continue
            taken.append((middle - reach, middle + reach))
            at = x.value(middle)
            if turned:
                items.append(Label(x=at, y=surface, words=asset.name, turned=True, dx=4.0, dy=-6.0))
            else:
                items.append(Label(x=at, y=y.value(y.end_px + 13), words=asset.name, anchor="middle"))
            break
    return items


def _holds(sheet: DriveSheet, section: GroundSection, x: Axis) -> list[Item]:
    items: list[Item] = []
    for hold in sheet.holds:
        if not x.low <= hold.chainage_m <= x.high:
            continue
        axis = float(np.interp(hold.chainage_m, section.chainage_m, section.axis_level_m))
        reach = section.outer_diameter_m * 0.62
        items.append(Hold(x=hold.chainage_m, low=axis - reach, high=axis + reach, number=hold.number, words=hold.words, href=hold.href))
        items.append(
            Label(
                x=hold.chainage_m,
                y=axis + section.outer_diameter_m * 0.36,
                words=f"hold {hold.number}",
                role="limit",
                is_bold=True,
                dx=6.0,
                dy=4.0,
                may_move=True,
            )
        )
    return items


def _boreholes(section: GroundSection, x: Axis) -> list[Item]:
    shown = (hole for hole in section.boreholes if x.low <= hole.chainage_m <= x.high)
    return [
        Borehole(x=hole.chainage_m, top=hole.top_level_m, base=hole.base_level_m, words=f"{hole.name}, {hole.remark}" if hole.remark else hole.name)
        for hole in shown
    ]


def _places(sheet: DriveSheet, section: GroundSection, x: Axis, y: Axis) -> list[Item]:
    """Return the three places of the last push as leaders below the tunnel."""
    last = sheet.places.last_index()
    if last < 0 or not x.low <= sheet.face_chainage_m <= x.high:
        return []
    rows = (
        (float(sheet.places.grout_chainage_m[last]), "grout outlet"),
        (float(sheet.places.ring_chainage_m[last]), f"ring {number_text(int(sheet.places.ring_number[last]))}"),
        (sheet.face_chainage_m, "face"),
    )
    left = x.px(rows[0][0]) - 8
    words_end = x.value(max(left, x.start_px + 150))
    items: list[Item] = []
    for number, (chainage, name) in enumerate(rows):
        if not np.isfinite(chainage):
            continue
        invert = float(np.interp(chainage, section.chainage_m, section.axis_level_m)) - section.outer_diameter_m / 2
        base = y.value(min(y.px(invert) + 16 + 14 * number, y.start_px - 4 - 13 * (len(rows) - 1 - number)))
        items.append(Leader(x=chainage, y=invert, to_x=words_end, to_y=base, words=f"{name} {chainage_text(chainage, 1)}"))
    return items
