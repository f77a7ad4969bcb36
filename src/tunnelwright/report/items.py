"""How each item of a figure is drawn: values become pixels, meanings become inks."""

from collections.abc import Callable
from typing import Any, Final

import numpy as np

from tunnelwright.report import figure as record
from tunnelwright.report.axes import FloatArray
from tunnelwright.report.decimate import column_extremes, stepped, thinned, wanted, without_absent_places
from tunnelwright.report.figure import Label, Panel
from tunnelwright.report.labels import Box, Occupied, place, text_width
from tunnelwright.report.pen import Pen, area, coordinate, polyline

LINE_WEIGHTS: Final = {"measured": 2.0, "chosen": 2.0, "planned": 0.6, "limit": 0.3}


class Easel:
    """What is needed to draw the items of one panel: pen, panel, and what its words must keep off."""

    def __init__(self, pen: Pen, panel: Panel) -> None:
        self.pen = pen
        self.panel = panel
        self.occupied = Occupied(Box(panel.left_px + 2, panel.top_px - 3, panel.right_px - 2, panel.bottom_px + 4))
        self.labels: list[Label] = []

    def px(self, x: float, y: float) -> tuple[float, float]:
        """Return the place of a pair of values on the sheet."""
        return self.panel.x.px(x), self.panel.y.px(y)

    def points(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the places of many values; those far outside the panel are left out, one neighbour on each side kept."""
        x_px, y_px = without_absent_places(self.panel.x.pixels(x), self.panel.y.pixels(y))
        inside = np.flatnonzero((x_px >= self.panel.left_px) & (x_px <= self.panel.right_px))
        if inside.size == 0:
            return x_px[:0], y_px[:0]
        part = slice(max(int(inside[0]) - 1, 0), int(inside[-1]) + 2)
        return x_px[part], y_px[part]

    def draw(self, item: Any) -> None:
        """Draw one item."""
        _DRAW[type(item)](self, item)

    def write_labels(self) -> None:
        """Write all words of the panel, those that must stand at their place before those that may move."""
        for label in sorted(self.labels, key=lambda one: (one.may_move, bool(one.options))):
            found = place(label, *self.px(label.x, label.y), self.occupied)
            if found is not None:
                x, y, anchor = found
                self.pen.words(
                    x,
                    y,
                    label.words,
                    role=label.role,
                    anchor=anchor,
                    size_px=label.size_px,
                    is_bold=label.is_bold,
                    has_halo=label.has_halo,
                    turned=label.turned,
                    key=label.key,
                )


def _line(easel: Easel, item: record.Line) -> None:
    x, y = stepped(item.x, item.y) if item.is_step else (item.x, item.y)
    x_px, y_px = thinned(*easel.points(x, y))
    easel.pen.path(polyline(x_px, y_px), item.role, item.words)
    if item.role != "grid":
        easel.occupied.add_line(x_px, y_px, LINE_WEIGHTS.get(item.role, 1.0))


def _band(easel: Easel, item: record.Band) -> None:
    x, low = stepped(item.x, item.low) if item.is_step else (item.x, item.low)
    _, high = stepped(item.x, item.high) if item.is_step else (item.x, item.high)
    x_px, low_px = easel.points(x, low)
    _, high_px = easel.points(x, high)
    bounds = easel.panel.top_px, easel.panel.bottom_px
    low_px, high_px = np.clip(low_px, *bounds), np.clip(high_px, *bounds)
    keep = wanted(x_px, low_px) | wanted(x_px, high_px)
    easel.pen.path(area(x_px[keep], low_px[keep], high_px[keep]), item.role)


def _spread(easel: Easel, item: record.Spread) -> None:
    x_px, low_px = easel.points(item.x, item.low)
    _, high_px = easel.points(item.x, item.high)
    x_px, top_px, base_px = column_extremes(x_px, np.minimum(low_px, high_px), np.maximum(low_px, high_px))
    easel.pen.path(_strokes(x_px, top_px, base_px), "spread")
    easel.occupied.add_bars(x_px, top_px, base_px)


def _strokes(x_px: FloatArray, top_px: FloatArray, base_px: FloatArray) -> str:
    return "".join(f"M{x:.1f} {top:.1f}V{base:.1f}" for x, top, base in zip(x_px.tolist(), top_px.tolist(), base_px.tolist(), strict=True))


def _bars(easel: Easel, item: record.Bars) -> None:
    x_px, low_px = easel.points(item.x, item.low)
    _, high_px = easel.points(item.x, item.high)
    easel.pen.path(_strokes(x_px, high_px, low_px), item.role)


def _dots(easel: Easel, item: record.Dots) -> None:
    x_px, y_px = easel.points(item.x, item.y)
    for x, y in zip(x_px.tolist(), y_px.tolist(), strict=True):
        if np.isfinite(x) and np.isfinite(y):
            easel.pen.circle(x, y, item.radius_px, "hollow" if item.is_hollow else "dot")
    easel.occupied.add_line(x_px, y_px)


def _ground(easel: Easel, item: record.Ground) -> None:
    data = polyline(easel.panel.x.pixels(item.x), easel.panel.y.pixels(item.y), is_closed=True)
    if item.kind == "unknown":
        easel.pen.path(data, "paper-area", item.name)
        _query_marks(easel, item)
    else:
        easel.pen.hatched(data, item.kind, item.name)
    if item.outline:
        easel.pen.path(data, item.outline)


def _query_marks(easel: Easel, item: record.Ground) -> None:
    left, right = float(np.nanmin(item.x)), float(np.nanmax(item.x))
    count = max(1, int((easel.panel.x.px(right) - easel.panel.x.px(left)) // 60))
    middle = float(np.nanmean(item.y))
    for place_x in np.linspace(left, right, count + 2)[1:-1]:
        easel.labels.append(Label(x=float(place_x), y=middle, words="?", role="second", anchor="middle", size_px=15, dy=5.0))


def _boundary(easel: Easel, item: record.Boundary) -> None:
    x_px, y_px = easel.points(item.x, item.y)
    if item.half_doubt is not None:
        _, low = easel.points(item.x, item.y - item.half_doubt)
        _, high = easel.points(item.x, item.y + item.half_doubt)
        easel.pen.path(area(x_px, low, high), "doubt-area")
    easel.pen.path(polyline(x_px, y_px), "boundary")


def _outline(easel: Easel, item: record.Outline) -> None:
    easel.pen.path(polyline(easel.panel.x.pixels(item.x), easel.panel.y.pixels(item.y), is_closed=True), item.role)


def _water_table(easel: Easel, item: record.WaterTable) -> None:
    x_px, y_px = easel.points(item.x, item.y)
    easel.pen.path(polyline(x_px, y_px), "second-head" if item.is_second_head else "water", item.words)
    present = np.isfinite(y_px)
    if not present.any():
        return
    easel.occupied.add_line(x_px, y_px)
    sign_px = easel.panel.x.px(item.sign_x)
    level_px = float(np.interp(sign_px, x_px[present], y_px[present]))
    easel.pen.path(f"M{coordinate(sign_px - 6)} {coordinate(level_px - 9)}h12l-6 9z", "water-sign")
    easel.pen.path(f"M{coordinate(sign_px - 5)} {coordinate(level_px + 3)}h10M{coordinate(sign_px - 3)} {coordinate(level_px + 5.5)}h6", "water")
    easel.occupied.boxes.append(Box(sign_px - 7, level_px - 10, sign_px + 7, level_px + 7))
    level = easel.panel.y.value(level_px)
    easel.labels.append(Label(x=item.sign_x, y=level, words=item.words, role="planned", anchor="end", dx=-12.0, dy=-3.0, may_move=True))


def _borehole(easel: Easel, item: record.Borehole) -> None:
    x, top = easel.px(item.x, item.top)
    base = easel.panel.y.px(item.base)
    shown_base = min(base, easel.panel.bottom_px - 4)
    foot = f"M{coordinate(x - 4)} {coordinate(shown_base)}h8" if base <= easel.panel.bottom_px else ""
    easel.pen.path(f"M{coordinate(x)} {coordinate(top)}V{coordinate(shown_base)}{foot}", "thin", item.words)
    easel.occupied.boxes.append(Box(x - 1.5, top, x + 1.5, shown_base))
    y = easel.panel.y.value(shown_base)
    ends_right = x + 5 + text_width(item.words) > easel.panel.right_px - 2
    easel.labels.append(Label(x=item.x, y=y, words=item.words, anchor="end" if ends_right else "start", dx=-5.0 if ends_right else 5.0, dy=0.0, may_move=True))


def _hold(easel: Easel, item: record.Hold) -> None:
    x, base = easel.px(item.x, item.low)
    top = easel.panel.y.px(item.high)
    data = f"M{coordinate(x - 2)} {coordinate(top)}V{coordinate(base)}M{coordinate(x + 2)} {coordinate(top)}V{coordinate(base)}"
    title = f"hold point {item.number}: {item.words}"
    easel.pen.linked(item.href, title, lambda: easel.pen.path(data, "hold", title))
    easel.occupied.boxes.append(Box(x - 4, top, x + 4, base))


def _mark(easel: Easel, item: record.Mark) -> None:
    x, y = easel.px(item.x, item.y)
    half = item.size_px / 2
    # A value beyond the strip keeps its mark at the strip's edge, where it can still be seen.
    y = float(np.clip(y, easel.panel.top_px + half, easel.panel.bottom_px - half)) - item.lift_px
    if not easel.panel.left_px - 1 <= x <= easel.panel.right_px + 1:
        return
    title = item.words if item.words.startswith(item.state) else f"{item.state}: {item.words}"
    easel.pen.linked(item.href, title, lambda: easel.pen.state(x, y, item.state, item.size_px, title))
    easel.occupied.boxes.append(Box(x - half - 1, y - half - 1, x + half + 1, y + half + 1))


def _label(easel: Easel, item: record.Label) -> None:
    easel.labels.append(item)


def _leader(easel: Easel, item: record.Leader) -> None:
    x, y = easel.px(item.x, item.y)
    to_x, to_y = easel.px(item.to_x, item.to_y)
    easel.pen.path(f"M{coordinate(x)} {coordinate(y)}V{coordinate(to_y)}H{coordinate(to_x)}", "leader")
    shift = -4.0 if item.anchor == "end" else 4.0
    easel.labels.append(Label(x=item.to_x, y=item.to_y, words=item.words, role=item.role, anchor=item.anchor, dx=shift, dy=4.0))


def _dimension(easel: Easel, item: record.Dimension) -> None:
    (x1, y1), (x2, y2) = easel.px(item.x1, item.y1), easel.px(item.x2, item.y2)
    is_lying = abs(x2 - x1) >= abs(y2 - y1)
    ends = "".join(f"M{coordinate(x)} {coordinate(y - 3.5)}v7" if is_lying else f"M{coordinate(x - 3.5)} {coordinate(y)}h7" for x, y in ((x1, y1), (x2, y2)))
    easel.pen.path(f"M{coordinate(x1)} {coordinate(y1)}L{coordinate(x2)} {coordinate(y2)}{ends}", item.role)
    where = {"anchor": "middle", "dy": -5.0} if is_lying else {"anchor": "start", "dx": 6.0, "dy": 4.0}
    easel.labels.append(Label(x=(item.x1 + item.x2) / 2, y=(item.y1 + item.y2) / 2, words=item.words, role=item.word_role, **where))  # type: ignore[arg-type]


def _limit(easel: Easel, item: record.Limit) -> None:
    x, y = stepped(item.x, item.y) if item.is_step else (item.x, item.y)
    x_px, y_px = thinned(*easel.points(x, y))
    present = np.flatnonzero(np.isfinite(y_px))
    if present.size == 0:
        return
    x_px = np.clip(x_px, easel.panel.left_px, easel.panel.right_px)
    ends = "".join(f"M{coordinate(x_px[at])} {coordinate(y_px[at] - 3)}v6" for at in (present[0], present[-1]))
    easel.pen.path(polyline(x_px, y_px) + ends, "limit", item.words)
    easel.occupied.add_line(x_px, y_px, LINE_WEIGHTS["limit"])
    if item.words:
        easel.labels.append(_limit_words(easel, item, x_px[present], y_px[present]))


def _limit_words(easel: Easel, item: record.Limit, x_px: FloatArray, y_px: FloatArray) -> Label:
    """Return the name of a limit: at its right end inside the strip, on the inner side if that is free, else outside, else at the left end."""
    width = text_width(item.words) + 8
    right, left = y_px[x_px > x_px[-1] - width], y_px[x_px < x_px[0] + width]
    end = float(y_px[-1])
    # Below a step line its lowest piece counts, above it the highest.
    below, above = (float(right.max()) - end + 12, "end"), (float(right.min()) - end - 4, "end")
    first, second = (below, above) if item.is_above else (above, below)
    back = float(x_px[0] - x_px[-1]) + 6
    at_left = ((back, float(left.max()) - end + 12, "start"), (back, float(left.min()) - end - 4, "start"))
    options = ((-6.0, second[0], "end"), *at_left)
    place_x, place_y = easel.panel.x.value(float(x_px[-1])), easel.panel.y.value(end)
    return Label(x=place_x, y=place_y, words=item.words, role="limit", anchor="end", dx=-6.0, dy=first[0], options=options)  # type: ignore[arg-type]


def _gap(easel: Easel, item: record.Gap) -> None:
    middle = (max(item.start, easel.panel.x.low) + min(item.end, easel.panel.x.high)) / 2
    y = easel.panel.y.value(easel.panel.top_px + 12)
    easel.labels.append(Label(x=middle, y=y, words=item.words, role="second", anchor="middle", may_move=True))


def _shade(easel: Easel, item: record.Shade) -> None:
    left, right = (float(np.clip(easel.panel.x.px(end), easel.panel.left_px, easel.panel.right_px)) for end in (item.start, item.end))
    easel.pen.rectangle(left, easel.panel.top_px, right - left, easel.panel.bottom_px - easel.panel.top_px, "still-area", item.words)


def _upright(easel: Easel, item: record.Upright) -> None:
    x = easel.panel.x.px(item.x)
    easel.pen.line(x, easel.panel.top_px, x, easel.panel.bottom_px, item.role)
    if item.words:
        easel.labels.append(Label(x=item.x, y=easel.panel.y.value(easel.panel.bottom_px - 5), words=item.words, role="second", dx=5.0, may_move=True))


def _oval(easel: Easel, item: record.Oval) -> None:
    x, y = easel.px(item.x, item.y)
    radius_x, radius_y = abs(item.radius_x * easel.panel.x.px_per_unit), abs(item.radius_y * easel.panel.y.px_per_unit)
    easel.pen.ellipse(x, y, radius_x, radius_y, item.role, item.words)


_DRAW: Final[dict[type, Callable[[Easel, Any], None]]] = {
    record.Line: _line,
    record.Band: _band,
    record.Spread: _spread,
    record.Bars: _bars,
    record.Dots: _dots,
    record.Ground: _ground,
    record.Boundary: _boundary,
    record.Outline: _outline,
    record.WaterTable: _water_table,
    record.Borehole: _borehole,
    record.Hold: _hold,
    record.Mark: _mark,
    record.Label: _label,
    record.Leader: _leader,
    record.Dimension: _dimension,
    record.Limit: _limit,
    record.Gap: _gap,
    record.Shade: _shade,
    record.Upright: _upright,
    record.Oval: _oval,
}
