import json
import re
import time
import xml.etree.ElementTree as ET
from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest

from tunnelwright.report.axes import Axis
from tunnelwright.report.drive_sheet import drive_sheet
from tunnelwright.report.face_sheet import face_sheet
from tunnelwright.report.figure import Cursor, Figure, Label, Line, Mark, Panel, Reading
from tunnelwright.report.legend import drive_legend, legend_svg
from tunnelwright.report.push_chart import push_chart
from tunnelwright.report.ring_rail import ring_rail
from tunnelwright.report.svg import cursor_data, cursor_path, figure_svg
from tunnelwright.vocabulary.criterion import STATES

SVG = "{http://www.w3.org/2000/svg}"


def one_panel(*items: object, **more: object) -> Figure:
    axis = Axis(low=0.0, high=100.0, start_px=0.0, end_px=100.0)
    panel = Panel(key="only", x=axis, y=Axis(low=0.0, high=10.0, start_px=50.0, end_px=0.0), items=items)  # type: ignore[arg-type]
    return Figure(key="test", width_px=200, height_px=60, title="a < b & c", description='"quoted"', panels=(panel,), **more)  # type: ignore[arg-type]


def elements(figure: Figure, name: str, *, for_print: bool = False) -> list[ET.Element]:
    return list(ET.fromstring(figure_svg(figure, for_print=for_print)).iter(SVG + name))


def test_words_from_outside_are_escaped() -> None:
    evil = '</text><script>alert("x")</script>&'
    figure = one_panel(
        Label(x=10, y=5, words=evil),
        Line(x=np.arange(3.0), y=np.arange(3.0), role="measured", words=evil),
        Mark(x=5, y=5, state="act", words=evil, href='"><script>'),
    )
    text = figure_svg(figure)
    assert "<script" not in text
    root = ET.fromstring(text)
    assert evil in [found.text for found in root.iter(SVG + "text")]
    assert root.find(SVG + "title").text == "a < b & c"  # type: ignore[union-attr]
    assert root.find(SVG + "desc").text == '"quoted"'  # type: ignore[union-attr]


def measured_path(figure: Figure) -> str:
    return next(found.get("d", "") for found in elements(figure, "path") if found.get("class") == "ink-measured")


def test_gap_lifts_the_pen() -> None:
    y = np.array([1.0, 2.0, np.nan, np.nan, 3.0, 4.0])
    assert measured_path(one_panel(Line(x=np.arange(6.0) * 10, y=y, role="measured"))) == "M0.0 45.0L10.0 40.0M40.0 35.0L50.0 30.0"


def test_single_reading_between_gaps_is_still_drawn() -> None:
    y = np.array([1.0, 2.0, np.nan, 5.0, np.nan, 4.0, 3.0])
    assert "M30.0 25.0L31.0 25.0" in measured_path(one_panel(Line(x=np.arange(7.0) * 10, y=y, role="measured")))


def test_line_without_any_value_is_not_drawn() -> None:
    figure = one_panel(Line(x=np.arange(5.0), y=np.full(5, np.nan), role="measured"))
    assert not [found for found in elements(figure, "path") if found.get("class") == "ink-measured"]


@pytest.mark.parametrize("state", STATES)
def test_every_state_has_its_mark_and_its_word(state: str) -> None:
    figure = one_panel(Mark(x=50, y=5, state=state, words="why"))  # type: ignore[arg-type]
    marks = [found for found in ET.fromstring(figure_svg(figure)).iter() if str(found.get("class", "")).startswith("ink-mark-")]
    assert len(marks) == 1
    assert marks[0].find(SVG + "title").text == f"{state}: why"  # type: ignore[union-attr]


def test_marks_of_the_states_have_four_shapes() -> None:
    shapes = set()
    for state in STATES:
        text = figure_svg(one_panel(Mark(x=50, y=5, state=state, words="")))
        found = re.search(r'<(\w+) ([^>]*)class="ink-mark-', text)
        assert found is not None
        shapes.add((found[1], "Z" in found[2]))
    assert shapes == {("path", False), ("path", True), ("rect", False), ("circle", False)}


def test_value_beyond_the_strip_keeps_its_mark_at_the_edge() -> None:
    (mark,) = (found for found in elements(one_panel(Mark(x=50, y=99, state="watch", words="")), "path") if found.get("class") == "ink-mark-watch")
    places = [float(number) for number in re.findall(r" (-?[\d.]+)", mark.get("d", ""))]
    assert min(places) >= 0.0


@pytest.fixture(scope="module")
def figures(brennholt: ModuleType) -> dict[str, Figure]:
    return {
        "drive": drive_sheet(brennholt.drive_record()),
        "push": push_chart(brennholt.push_record()),
        "stroke": push_chart(brennholt.push_record("stroke")),
        "face": face_sheet(brennholt.face_record()),
        "rail": ring_rail(brennholt.rail_record()),
    }


NAMES = ("drive", "push", "stroke", "face", "rail")


@pytest.mark.parametrize("name", NAMES)
def test_page_drawing_names_classes_and_no_colours(figures: dict[str, Figure], name: str) -> None:
    text = figure_svg(figures[name])
    assert not re.search(r"#[0-9A-Fa-f]{6}\b", text)
    assert "nan" not in text.lower().replace("tenance", "")
    ET.fromstring(text)


@pytest.mark.parametrize("name", NAMES)
def test_print_drawing_writes_colours_out_and_no_hooks(figures: dict[str, Figure], name: str) -> None:
    text = figure_svg(figures[name], for_print=True)
    assert "var(" not in text
    assert "class=" not in text
    assert "data-" not in text
    assert "<a " not in text
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', text)) <= {"none", *re.findall(r"#[0-9A-F]{6}", text), *re.findall(r"url\(#[\w-]+\)", text)}


@pytest.mark.parametrize("name", NAMES)
def test_every_reference_has_its_definition(figures: dict[str, Figure], name: str) -> None:
    text = figure_svg(figures[name])
    identifiers = re.findall(r' id="([^"]+)"', text)
    assert len(identifiers) == len(set(identifiers))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(identifiers)


@pytest.mark.parametrize("name", NAMES)
def test_letters_are_never_smaller_than_twelve(figures: dict[str, Figure], name: str) -> None:
    assert all(int(size) >= 12 for size in re.findall(r'font-size="(\d+)"', figure_svg(figures[name], for_print=True)))


def test_print_and_page_draw_the_same(figures: dict[str, Figure]) -> None:
    figure = figures["face"]
    page, book = ([found.get("d") for found in elements(figure, "path", for_print=for_print)] for for_print in (False, True))
    assert page == book


def test_cursor_steps_between_strips_and_leaves_out_a_strip_without_place() -> None:
    spans = [(0.0, 10.0), (20.0, 30.0), (40.0, 50.0)]
    assert cursor_path(spans, [5.0, 7.0, 7.0]) == "M5.0 0.0V10.0V15.0H7.0V30.0V35.0H7.0V50.0"
    assert cursor_path(spans, [5.0, float("nan"), 7.0]) == "M5.0 0.0V10.0M7.0 40.0V50.0"


def test_reading_column_and_script_say_the_same() -> None:
    rows = (
        Reading(label="recorded", values=np.array([1.25, np.nan]), decimals=1, is_signed=True),
        Reading(label="window", values=np.array([1.0, 2.0]), values_to=np.array([3.0, 4.0])),
    )
    cursor = Cursor(numbers=np.array([7, 8]), chosen=1, tracks={"face": np.array([10.0, 20.0])}, panels={"only": "face"}, readings={"only": rows})
    figure = one_panel(cursor=cursor, reading_left_px=120.0)
    shown = {found.get("data-read"): found.text for found in elements(figure, "text") if found.get("data-read")}
    assert shown == {"heading": "Reading at push 8", "only.0": "–", "only.1": "2 to 4"}
    data = cursor_data(figure)
    assert data["readings"]["only.0"] == {"form": "number", "decimals": 1, "values": [1.2, None], "signed": True}
    assert data["panels"] == [{"track": "face", "top": 0.0, "bottom": 50.0}]
    json.dumps(data, allow_nan=False)


def test_whole_drive_prints_in_time(brennholt: ModuleType) -> None:
    record = brennholt.drive_record(1, 1453)
    assert len(record.strips) + 1 == 7
    spent = []
    for _ in range(3):
        start = time.process_time()
        text = figure_svg(drive_sheet(record))
        spent.append(time.process_time() - start)
    assert min(spent) < 0.150
    assert len(text) < 600_000


def test_long_drive_keeps_its_drawing_small(brennholt: ModuleType) -> None:
    record = brennholt.rail_record(3000)
    many = replace(record, marks=tuple(replace(record.marks[0], ring_number=ring) for ring in range(1, 3001)))
    marks = figure_svg(ring_rail(many)).count("ink-mark-watch")
    assert 0 < marks <= 1140 / 11 + 1


def test_legend_has_a_sample_and_a_word_for_every_entry(brennholt: ModuleType) -> None:
    keys = drive_legend(brennholt.drive_record(), "planned, revision C")
    root = ET.fromstring(legend_svg(keys))
    words = [found.text for found in root.iter(SVG + "text")]
    assert [key.words for key in keys if key.words not in words] == []
    assert {"made ground", "river gravel", "stiff clay", "dense sand", "watch", "act", "not checked", "planned, revision C"} <= set(words)
