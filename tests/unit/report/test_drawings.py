import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest

from tunnelwright.report.drive_sheet import drive_sheet
from tunnelwright.report.face_sheet import face_share, face_sheet
from tunnelwright.report.figure import Band, Figure, Hold, Line, Mark
from tunnelwright.report.inputs import AHEAD, Event, HoldPlace, RingMark
from tunnelwright.report.push_chart import clock_text, push_chart
from tunnelwright.report.ring_rail import ring_rail
from tunnelwright.report.states import departures_of, merged
from tunnelwright.report.svg import figure_svg

SVG = "{http://www.w3.org/2000/svg}"


def words_of(figure: Figure) -> list[str]:
    return [found.text or "" for found in ET.fromstring(figure_svg(figure)).iter(SVG + "text")]


def panel_of(figure: Figure, key: str):
    return next(panel for panel in figure.panels if panel.key == key)


def test_each_strip_stands_where_its_values_were_made(brennholt: ModuleType) -> None:
    figure = drive_sheet(brennholt.drive_record())
    push = 846
    ring_front = push * brennholt.LENGTH_M
    places = {"face_pressure": ring_front + 9.0 - brennholt.LENGTH_M / 2, "grout_ratio": ring_front - 3.3, "deviation": ring_front}
    for key, chainage in places.items():
        line = next(item for item in panel_of(figure, key).items if isinstance(item, Line) and item.role == "measured")
        assert line.x[push - 1] == pytest.approx(chainage)
    assert figure.cursor is not None
    index = int(np.flatnonzero(figure.cursor.numbers == push)[0])
    x = figure.panels[0].x
    tracks = figure.cursor.tracks
    assert [x.value(tracks[name][index]) for name in ("face", "grout", "ring")] == pytest.approx(list(places.values()))


def test_nothing_measured_is_drawn_ahead_of_the_machine(brennholt: ModuleType) -> None:
    record = brennholt.drive_record()
    strip = record.strips[0]
    careless = replace(strip, measured=np.nan_to_num(strip.measured, nan=180.0))
    figure = drive_sheet(replace(record, strips=(careless,)))
    line = next(item for item in panel_of(figure, "face_pressure").items if isinstance(item, Line) and item.role == "measured")
    assert not np.isfinite(line.y[brennholt.BUILT + 1 :]).any()


def test_ring_and_chainage_are_both_readable_and_round(brennholt: ModuleType) -> None:
    words = words_of(drive_sheet(brennholt.drive_record()))
    assert {"720", "740", "1\u202f020", "1+080", "1+110", "1+530"} <= set(words)


def test_gap_corrected_values_and_events_are_named_at_their_place(brennholt: ModuleType) -> None:
    figure = drive_sheet(brennholt.drive_record())
    words = words_of(figure)
    assert {"no log, push 802 to 806", "846: 1.12", "raw", "push 846, 19 Nov, 02:40: 31 kPa low", "hold 1", "hold 3"} <= set(words)
    hollow = figure_svg(figure).count('class="ink-hollow"')
    assert hollow == 838 - 812 + 1


def test_sheet_reads_without_script(brennholt: ModuleType) -> None:
    words = words_of(drive_sheet(brennholt.drive_record()))
    assert "Reading at push 871" in words
    assert "1+314.0 to 1+315.5" in words


def test_labels_do_not_touch_each_other(brennholt: ModuleType) -> None:
    from tunnelwright.report.figure import Label
    from tunnelwright.report.labels import box_of

    for figure in (drive_sheet(brennholt.drive_record()), push_chart(brennholt.push_record()), face_sheet(brennholt.face_record())):
        boxes = []
        for found in ET.fromstring(figure_svg(figure)).iter(SVG + "text"):
            classes = found.get("class", "")
            size = int((re.search(r"size-(\d+)", classes) or [0, "12"])[1])
            label = Label(
                x=0, y=0, words=found.text or "", anchor=found.get("text-anchor", "start"), size_px=size, is_bold="bold" in classes,  # type: ignore[arg-type]
                turned="transform" in found.attrib,
            )  # fmt: skip
            boxes.append((found.text, box_of(label, float(found.get("x", 0)), float(found.get("y", 0)))))
        touching = [(a, b) for number, (a, first) in enumerate(boxes) for b, second in boxes[number + 1 :] if overlap(first, second) > 3.0]
        assert touching == []


def overlap(first, second) -> float:
    """Return the smaller side of what two boxes share; the estimate of a letter's width is generous, so two or three pixels are no collision."""
    return min(min(first.right, second.right) - max(first.left, second.left), min(first.bottom, second.bottom) - max(first.top, second.top))


def test_drive_without_anything_says_what_is_missing(brennholt: ModuleType) -> None:
    record = brennholt.drive_record()
    empty = replace(record.strips[0], planned=None, measured=None, measured_low=None, measured_high=None, window_low=None, window_high=None, events=(), gaps=())
    words = words_of(
        drive_sheet(replace(record, section=None, strips=(empty,), state_rows=(), holds=(), missing_words="No plan yet: run plan for this drive."))
    )
    assert "nothing planned or recorded in this range" in words
    assert "No plan yet: run plan for this drive." in words


def test_drive_before_its_first_ring_has_no_machine_places(brennholt: ModuleType) -> None:
    record = brennholt.drive_record(1, 60)
    fresh = replace(record, places=replace(record.places, built_ring_number=0), state_rows=(), chosen_ring=0, face_chainage_m=0.0)
    words = words_of(drive_sheet(fresh))
    assert not [word for word in words if word.startswith(("built,", "grout outlet 0", "ring 0"))]


def test_unchecked_breaks_the_line_and_equal_states_share_a_mark() -> None:
    codes = np.array([0, 0, 3, 3, 3, 0, 1, 2, 0, AHEAD])
    rings = np.arange(1, 11)
    found = departures_of(rings * 1.0, codes, rings, {3: "no log", 8: "ratio 1.12"})
    assert [(one.state, one.first_ring, one.last_ring, one.words) for one in found] == [
        ("not checked", 3, 5, "no log"), ("watch", 7, 7, ""), ("act", 8, 8, "ratio 1.12"),
    ]  # fmt: skip
    marks = merged(found, px_per_unit=4.0, least_px=10.0)
    assert [state for _, state, _ in marks] == ["not checked", "act"]
    assert marks[1][2] == "act: ring 8, ratio 1.12; watch: ring 7"


def test_push_chart_names_phases_and_gap_and_shades_what_is_not_advance(brennholt: ModuleType) -> None:
    figure = push_chart(brennholt.push_record())
    words = words_of(figure)
    assert words.count("push") == 2
    assert {"stop", "ring build", "no log, 2 min", "13:10", "0.6"} <= set(words)
    assert words.count("no log, 2 min") == 1
    shaded = figure_svg(figure).count("<rect") - 6
    assert shaded >= 6 * 4


def test_push_over_stroke_has_no_width_for_standing_still(brennholt: ModuleType) -> None:
    figure = push_chart(brennholt.push_record("stroke"))
    line = next(item for item in panel_of(figure, "thrust").items if isinstance(item, Line) and item.role == "measured")
    assert np.isnan(line.x).sum() > 200
    words = words_of(figure)
    assert "stroke, m" in words
    assert "stop" in words


def test_push_without_samples_says_how_to_supply_them(brennholt: ModuleType) -> None:
    record = brennholt.push_record()
    empty = replace(record, time_s=np.empty(0), stroke_m=np.empty(0), phases=(), panels=())
    assert any("Import the logger's files" in word for word in words_of(push_chart(empty)))


@pytest.mark.parametrize(("seconds", "text"), [(0, "00:00"), (46800, "13:00"), (86400 + 61, "00:01"), (50519, "14:02")])
def test_clock(seconds: float, text: str) -> None:
    assert clock_text(seconds) == text


def test_shares_of_the_face_are_those_of_circle_segments(brennholt: ModuleType) -> None:
    record = brennholt.face_record()
    shares = [face_share(record, stratum) for stratum in record.strata]
    assert sum(shares) == pytest.approx(1.0)
    draw = np.random.default_rng(3).uniform(-1, 1, size=(400_000, 2)) * record.diameter_m / 2
    inside = draw[np.hypot(draw[:, 0], draw[:, 1]) <= record.diameter_m / 2, 1] + record.axis_level_m
    for stratum, share in zip(record.strata, shares, strict=True):
        assert share == pytest.approx(np.mean((inside < stratum.top_level_m) & (inside >= stratum.base_level_m)), abs=0.004)


def test_face_is_to_scale_and_sensors_stand_at_their_clock_angle(brennholt: ModuleType) -> None:
    root = ET.fromstring(figure_svg(face_sheet(brennholt.face_record())))
    circle = next(found for found in root.iter(SVG + "ellipse") if found.get("class") == "ink-chosen")
    assert circle.get("rx") == circle.get("ry")
    sensor = next(
        found for found in root.iter(SVG + "ellipse") if (found.find(SVG + "title") is not None and str(found.find(SVG + "title").text).startswith("sensor 2,"))
    )
    # 60 degrees clockwise from the crown, seen in drive direction: right of and above the centre.
    assert float(sensor.get("cx", 0)) > float(circle.get("cx", 0))
    assert float(sensor.get("cy", 0)) < float(circle.get("cy", 0))


def test_unread_sensor_shows_no_number(brennholt: ModuleType) -> None:
    assert "5: no reading" in words_of(face_sheet(brennholt.face_record()))


def test_rail_names_its_rings_and_links_what_needs_a_person(brennholt: ModuleType) -> None:
    record = brennholt.rail_record()
    text = figure_svg(ring_rail(record))
    assert 'href="?ring=846"' in text
    assert text.count('class="ink-hold"') == 3
    words = words_of(ring_rail(record))
    assert {"East drive", "1\u202f453 rings", "871", "1", "1\u202f453"} <= set(words)


def test_rail_of_a_drive_not_yet_begun(brennholt: ModuleType) -> None:
    record = replace(brennholt.rail_record(), built_ring_number=0, open_ring_number=0, chosen_ring=0, shown_from=0, shown_to=0, marks=(), holds=())
    assert "0 of 1\u202f453 rings built" in figure_svg(ring_rail(record))


def test_ring_in_order_gets_no_mark_on_the_rail(brennholt: ModuleType) -> None:
    record = replace(brennholt.rail_record(), marks=(RingMark(ring_number=5, state="in order", words=""),), holds=())
    assert "ink-mark" not in figure_svg(ring_rail(record))


def test_crossed_limits_are_no_window(brennholt: ModuleType) -> None:
    record = brennholt.drive_record()
    strip = record.strips[0]
    low = strip.window_low.copy()
    low[900:910] = strip.window_high[900:910] + 5.0
    figure = drive_sheet(replace(record, strips=(replace(strip, window_low=low),)))
    band = next(item for item in panel_of(figure, strip.key).items if isinstance(item, Band))
    assert np.flatnonzero(np.isnan(band.low)).tolist() == list(range(900, 910))


def test_event_far_outside_its_strip_stands_at_the_edge(brennholt: ModuleType) -> None:
    record = brennholt.drive_record()
    strip = replace(record.strips[1], low=0.9, high=1.1, events=(Event(ring_number=846, state="act", words="846: 3.93", value=3.93),))
    figure = drive_sheet(replace(record, strips=(strip,)))
    mark = next(item for item in panel_of(figure, strip.key).items if isinstance(item, Mark))
    assert mark.y == 1.1
    assert "846: 3.93" in words_of(figure)


def test_hold_beyond_the_sheet_is_not_drawn(brennholt: ModuleType) -> None:
    record = brennholt.drive_record()
    far = HoldPlace(number=9, chainage_m=9000.0, ring_number=1400, words="far", href="?ring=1400")
    section = panel_of(drive_sheet(replace(record, holds=(*record.holds, far))), "section")
    assert 9 not in {item.number for item in section.items if isinstance(item, Hold)}


def test_counts_beside_the_states_are_those_given(brennholt: ModuleType) -> None:
    record = brennholt.drive_record()
    counts = {
        state: np.full(record.places.ring_number.size, float(number)) for number, state in enumerate(("in order", "watch", "act", "not checked"), start=11)
    }
    figure = drive_sheet(replace(record, state_counts=counts))
    assert figure.cursor is not None
    assert [row.values[0] for row in figure.cursor.readings["states"]] == [11.0, 12.0, 13.0, 14.0]
