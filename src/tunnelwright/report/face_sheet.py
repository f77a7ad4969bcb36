"""The face sheet: the circle of the face to scale, and beside it the pressures over height."""

from typing import Final

import numpy as np

from tunnelwright.report.axes import Axis, FloatArray, number_ticks, value_range
from tunnelwright.report.figure import Boundary, Dimension, Figure, Ground, Item, Label, Line, LineRole, Mark, Outline, Oval, Panel, WaterTable, page_panel
from tunnelwright.report.inputs import FaceSensor, FaceSheet, FaceStratum
from tunnelwright.report.numbers import chainage_text, number_text

LEFT_PX: Final = 44.0
TOP_PX: Final = 22.0
FOOT_PX: Final = 26.0
PANEL_GAP_PX: Final = 46.0
REACH_LEFT: Final = 0.64
REACH_RIGHT: Final = 1.06
ABOVE: Final = 0.78


def face_sheet(sheet: FaceSheet, *, width_px: float = 700.0, height_px: float = 400.0) -> Figure:
    """Return the face seen in drive direction, at one scale in both directions, and pressures over the same levels."""
    low, high = _levels(sheet)
    bottom = height_px - FOOT_PX
    px_per_m = (bottom - TOP_PX) / (high - low)
    y = Axis(low=low, high=high, start_px=bottom, end_px=TOP_PX, ticks=number_ticks(low, high, max(int((bottom - TOP_PX) / 34), 2), is_signed=True))
    left_m, right_m = -sheet.diameter_m * REACH_LEFT, sheet.diameter_m * REACH_RIGHT
    right = LEFT_PX + (right_m - left_m) * px_per_m
    x = Axis(low=left_m, high=right_m, start_px=LEFT_PX, end_px=right)
    panels = [_ground_panel(sheet, x, y), _circle_panel(sheet, x, y, px_per_m)]
    if sheet.level_m is not None and right + PANEL_GAP_PX + 80 < width_px:
        panels.append(_pressure_panel(sheet, Axis(low=low, high=high, start_px=bottom, end_px=TOP_PX, ticks=y.ticks), right + PANEL_GAP_PX, width_px - 6))
    return Figure(
        key="face",
        width_px=width_px,
        height_px=height_px,
        title=f"Face of push {number_text(sheet.ring_number)} at {chainage_text(sheet.chainage_m, 1)}",
        description=_description(sheet),
        panels=(*panels, page_panel("notes", width_px, height_px, _heads(panels))),
    )


def _heads(panels: list[Panel]) -> tuple[Item, ...]:
    words = {"ground": "level, m; seen in drive direction", "pressures": "pressure, kPa"}
    return tuple(Label(x=panel.left_px, y=TOP_PX - 8, words=words[panel.key], role="second", has_halo=False) for panel in panels if panel.key in words)


def _levels(sheet: FaceSheet) -> tuple[float, float]:
    high = sheet.axis_level_m + sheet.diameter_m * ABOVE
    # A water level a little above the drawing raises it; one far above is told by its name at the upper edge.
    if np.isfinite(sheet.water_level_m) and high < sheet.water_level_m < high + 0.5 * sheet.diameter_m:
        high = sheet.water_level_m + 0.12 * sheet.diameter_m
    return sheet.axis_level_m - sheet.diameter_m * 0.64, high


def _ground_panel(sheet: FaceSheet, x: Axis, y: Axis) -> Panel:
    """Return the ground in and around the face."""
    items: list[Item] = [_stratum(stratum, x, y) for stratum in sheet.strata]
    items += [Boundary(x=np.array([x.low, x.high]), y=np.full(2, stratum.base_level_m)) for stratum in sheet.strata[:-1]]
    return Panel(key="ground", x=x, y=y, items=tuple(items), has_grid=False)


def _stratum(stratum: FaceStratum, x: Axis, y: Axis) -> Ground:
    top, base = min(stratum.top_level_m, y.high), max(stratum.base_level_m, y.low)
    return Ground(x=np.array([x.low, x.high, x.high, x.low]), y=np.array([top, top, base, base]), kind=stratum.kind, name=stratum.name)


def _circle_panel(sheet: FaceSheet, x: Axis, y: Axis, px_per_m: float) -> Panel:
    radius = sheet.diameter_m / 2
    items: list[Item] = [
        Oval(x=0.0, y=sheet.axis_level_m, radius_x=radius, radius_y=radius, role="chosen"),
        Line(x=np.array([-radius, radius]), y=np.full(2, sheet.axis_level_m), role="axis"),
        Line(x=np.zeros(2), y=sheet.axis_level_m + np.array([-radius, radius]), role="axis"),
        *_stratum_words(sheet, y),
        *_waters(sheet, x, y),
    ]
    for sensor in sheet.sensors:
        items += _sensor(sheet, sensor)
    items.append(Dimension(x1=-radius, y1=y.low + 8 / px_per_m, x2=radius, y2=y.low + 8 / px_per_m, words=f"{number_text(sheet.diameter_m, 2)} m"))
    return Panel(
        key="circle",
        x=x,
        y=Axis(low=y.low, high=y.high, start_px=y.start_px, end_px=y.end_px),
        items=tuple(items),
        is_framed=False,
        has_grid=False,
        is_clipped=False,
    )


def _stratum_words(sheet: FaceSheet, y: Axis) -> list[Item]:
    """Return the names of the strata with their share of the face, right of the circle."""
    items: list[Item] = []
    for stratum in sheet.strata:
        top, base = min(stratum.top_level_m, y.high), max(stratum.base_level_m, y.low)
        height_px = (top - base) * abs(y.px_per_unit)
        if height_px < 14:
            continue
        share, middle = face_share(sheet, stratum), (top + base) / 2
        part = f"{number_text(100 * share)} % of the face" if share > 0.005 else ""
        beside = sheet.diameter_m * 0.53
        if part and height_px < 32:
            items.append(Label(x=beside, y=middle, words=f"{stratum.name}, {part}", dy=4.0))
        else:
            items.append(Label(x=beside, y=middle, words=stratum.name, dy=-3.0 if part else 4.0))
            items.append(Label(x=beside, y=middle, words=part, role="second", dy=12.0))
    return items


def face_share(sheet: FaceSheet, stratum: FaceStratum) -> float:
    """Return the share of the face's area that a stratum takes, from the circle's segments."""
    radius = sheet.diameter_m / 2
    top, base = (np.clip((level - sheet.axis_level_m) / radius, -1.0, 1.0) for level in (stratum.top_level_m, stratum.base_level_m))
    return float(_area_below(top) - _area_below(base))


def _area_below(height: float) -> float:
    """Return the share of a unit circle below a height from its centre."""
    return float(1.0 - (np.arccos(height) - height * np.sqrt(1.0 - height * height)) / np.pi)


def _waters(sheet: FaceSheet, x: Axis, y: Axis) -> list[Item]:
    items: list[Item] = []
    for level, name, is_second in ((sheet.water_level_m, "water", False), (sheet.second_head_level_m, sheet.second_head_words or "second head", True)):
        if not np.isfinite(level):
            continue
        words = f"{name} {number_text(level, 1, is_signed=True)}"
        if level > y.high:
            items.append(Label(x=x.low, y=y.high, words=f"{words}, above", role="planned", dx=6.0, dy=14.0 + 15.0 * is_second))
        else:
            items.append(
                WaterTable(x=np.array([x.low, x.high]), y=np.full(2, level), sign_x=x.low + 0.88 * (x.high - x.low), words=words, is_second_head=is_second)
            )
    return items


def _sensor(sheet: FaceSheet, sensor: FaceSensor) -> list[Item]:
    angle = np.radians(sensor.clock_angle_deg)
    # Seen in drive direction: clock angles run from the crown clockwise, right is positive.
    x, y = sensor.radius_m * float(np.sin(angle)), sheet.axis_level_m + sensor.radius_m * float(np.cos(angle))
    value = number_text(sensor.pressure_kpa, missing="no reading")
    dot, kind = ("plan-dot", "target") if sheet.sensors_are_planned else ("dot", "measured")
    items: list[Item] = []
    if sensor.state == "in order":
        items.append(Oval(x=x, y=y, radius_x=0.075, radius_y=0.075, role=dot, words=f"sensor {sensor.name}, {kind}: {value} kPa"))  # type: ignore[arg-type]
    else:
        items.append(Mark(x=x, y=y, state=sensor.state, words=f"{sensor.name}: {sensor.remark or value}"))
    # Words point to the middle of the face, where there is room; those on the upright axis stand right of it.
    is_right = x > 1e-6
    lift = {1: 15.0, -1: -6.0}.get(round(float(np.cos(angle))) if abs(np.cos(angle)) > 0.9 else 0, 4.0)
    items.append(
        Label(
            x=x,
            y=y,
            words=f"{sensor.name}: {value}",
            role="planned" if sheet.sensors_are_planned else "plain",
            is_bold=not sheet.sensors_are_planned,
            anchor="end" if is_right else "start",
            dx=-9.0 if is_right else 9.0,
            dy=lift,
        )
    )
    return items


def _pressure_panel(sheet: FaceSheet, y: Axis, left_px: float, right_px: float) -> Panel:
    assert sheet.level_m is not None
    arrays = [one for one in (sheet.water_kpa, sheet.ground_kpa, sheet.support_kpa, sheet.lower_kpa, sheet.upper_kpa) if one is not None]
    inside = (sheet.level_m >= y.low) & (sheet.level_m <= y.high)
    _, high = value_range([array[inside] for array in arrays])
    x = Axis(low=0.0, high=high, start_px=left_px, end_px=right_px, ticks=number_ticks(0.0, high, max(int((right_px - left_px) / 60), 2)))
    items: list[Item] = [*_pressure_areas(sheet), *_face_levels(sheet, x)]
    lines: tuple[tuple[FloatArray | None, LineRole, str, float], ...] = (
        (sheet.water_kpa, "second-line", "water", 0.10),
        (sheet.ground_kpa, "thin", "ground and water", 0.35),
        (sheet.support_kpa, "planned", "support, planned", 0.62),
    )
    for values, role, words, share in lines:
        if values is not None:
            items.append(Line(x=values, y=sheet.level_m, role=role, words=words))
            items.append(_line_words(sheet, values, words, "planned" if role == "planned" else "plain", share, y))
    for values, words in ((sheet.lower_kpa, "lower"), (sheet.upper_kpa, "upper")):
        if values is not None:
            items += [Line(x=values, y=sheet.level_m, role="limit", words=words), _line_words(sheet, values, words, "limit", 0.9, y)]
    for sensor in sheet.sensors:
        level = sheet.axis_level_m + sensor.radius_m * float(np.cos(np.radians(sensor.clock_angle_deg)))
        if np.isfinite(sensor.pressure_kpa):
            items.append(
                Oval(
                    x=sensor.pressure_kpa,
                    y=level,
                    radius_x=3.2 / x.px_per_unit,
                    radius_y=3.2 / abs(y.px_per_unit),
                    role="plan-dot" if sheet.sensors_are_planned else "dot",
                    words=f"sensor {sensor.name}, {'target' if sheet.sensors_are_planned else 'measured'}",
                )
            )
    return Panel(key="pressures", x=x, y=y, items=tuple(items), shows_x_ticks=True, has_grid=False)


def _line_words(sheet: FaceSheet, values: FloatArray, words: str, role: str, share: float, y: Axis) -> Label:
    assert sheet.level_m is not None
    # Words stand at their line, also where the line ends inside the drawing.
    level = float(np.clip(y.low + (1 - share) * (y.high - y.low), np.min(sheet.level_m), np.max(sheet.level_m)))
    order = np.argsort(sheet.level_m)
    return Label(x=float(np.interp(level, sheet.level_m[order], values[order])), y=level, words=words, role=role, dx=8.0, dy=4.0, may_move=True)  # type: ignore[arg-type]


def _pressure_areas(sheet: FaceSheet) -> list[Item]:
    assert sheet.level_m is not None
    items: list[Item] = []
    for low, high, role in ((np.zeros(sheet.level_m.size), sheet.water_kpa, "unsure-area"), (sheet.lower_kpa, sheet.upper_kpa, "window-area")):
        if low is not None and high is not None:
            outline_x, outline_y = np.r_[low, high[::-1]], np.r_[sheet.level_m, sheet.level_m[::-1]]
            items.append(Outline(x=outline_x, y=outline_y, role=role))  # type: ignore[arg-type]
    return items


def _face_levels(sheet: FaceSheet, x: Axis) -> list[Item]:
    radius = sheet.diameter_m / 2
    items: list[Item] = []
    for level, words in ((sheet.axis_level_m + radius, "crown"), (sheet.axis_level_m, "axis"), (sheet.axis_level_m - radius, "invert")):
        items.append(Line(x=np.array([x.low, x.high]), y=np.full(2, level), role="grid"))
        items.append(Label(x=x.high, y=level, words=words, role="second", anchor="end", dx=-5.0, dy=-4.0))
    return items


def _description(sheet: FaceSheet) -> str:
    shares = ", ".join(f"{stratum.name} {number_text(100 * face_share(sheet, stratum))} %" for stratum in sheet.strata if face_share(sheet, stratum) > 0.005)
    sensors = ", ".join(f"{sensor.name} {number_text(sensor.pressure_kpa, missing='no reading')} kPa" for sensor in sheet.sensors)
    return f"Seen in drive direction. {shares}. Sensors: {sensors or 'none'}."
