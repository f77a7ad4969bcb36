import json
import re
from importlib import resources

import numpy as np
import pytest
from jinja2 import UndefinedError

from tunnelwright.app.views.push import CriterionLine
from tunnelwright.report.axes import Axis
from tunnelwright.report.figure import Cursor, Figure, Line, Panel, Reading
from tunnelwright.report.inputs import RingMark, RingRail
from tunnelwright.report.ring_rail import ring_rail
from tunnelwright.vocabulary.criterion import STATES, Criterion
from tunnelwright.vocabulary.remark import Fault
from tunnelwright.vocabulary.sheet import SheetLine
from tunnelwright.web.shell import Page, SheetLink, TitleBlock, drawing, environment, math_words, render, shown_value, state_mark, symbol_words, unit_words

STATIC = resources.files("tunnelwright.web").joinpath("static")


def page(**more: object) -> Page:
    rail = ring_rail(
        RingRail(
            drive_name="East drive", ring_count=1453, built_ring_number=871, chosen_ring=871, marks=(RingMark(ring_number=846, state="act", words="1.12"),)
        )
    )
    given = {
        "title_block": TitleBlock(programme="Crosstown, Brennholt", drive="East", sheet="Drive"),
        "index": [SheetLink("Home", "/"), SheetLink("Drive", "/east/drive", True), SheetLink("Live")],
        "verdict": "No log yet for <East>.",
        "rail": rail,
        "ring": 871,
        "ring_count": 1453,
        "carried": {"from": "720"},
    } | more
    return Page(**given)  # type: ignore[arg-type]


def test_frame_has_its_parts_in_reading_order() -> None:
    text = render("base.html", page())
    places = [
        text.index(part) for part in ('aria-label="Sheets"', 'data-part="rail"', "<h1>", 'data-part="main"', 'class="legend"', "title-block", "Screening aid")
    ]
    assert places == sorted(places)
    assert text.count("<h1>") == 1
    assert '<html lang="en">' in text


def test_words_of_a_person_are_escaped() -> None:
    text = render("base.html", page())
    assert "No log yet for &lt;East&gt;." in text
    assert "<East>" not in text


def test_only_pages_that_exist_are_links() -> None:
    text = render("base.html", page())
    assert '<a href="/east/drive" aria-current="page">Drive</a>' in text
    assert '<span class="missing">Live</span>' in text


def test_ring_can_be_chosen_without_script() -> None:
    text = render("base.html", page())
    form = re.search(r'<form class="goto".*?</form>', text, re.DOTALL)
    assert form is not None
    assert 'method="get"' in form[0]
    assert 'name="ring" type="number"' in form[0]
    assert 'max="1453" value="871"' in form[0]
    assert '<input type="hidden" name="from" value="720">' in form[0]
    assert "<button" in form[0]


def test_unsigned_sheet_looks_unsigned() -> None:
    assert re.search(r"<dt>Checked by</dt><dd>–</dd>", render("base.html", page()))


def test_unknown_name_in_a_template_is_our_fault() -> None:
    with pytest.raises(UndefinedError):
        environment().from_string("{{ nothing_here }}").render()


@pytest.mark.parametrize("state", STATES)
def test_state_is_mark_and_word(state: str) -> None:
    text = str(state_mark(state))  # type: ignore[arg-type]
    assert text.endswith(f"</svg>{state}</span>")
    assert "ink-mark-" in text


def test_state_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="fine"):
        state_mark("fine")  # type: ignore[arg-type]


def test_values_print_by_their_suffix() -> None:
    assert shown_value(None, "made_up_name_kpa") == ""
    assert shown_value(float("nan"), "made_up_name_kpa") == ""
    assert shown_value(-1234.5, "made_up_name_kpa") == "\u22121\u202f234.50"
    assert unit_words("m3") == "m³"
    assert unit_words("kPa") == "kPa"


def figure_with(words: str) -> Figure:
    x = Axis(low=0, high=10, start_px=0, end_px=100)
    panel = Panel(key="one", x=x, y=x, items=(Line(x=np.arange(3.0), y=np.array([1.0, np.nan, 2.0]), role="measured"),))
    cursor = Cursor(
        numbers=np.array([1, 2, 3]), chosen=0, tracks={"face": np.array([0.0, 5.0, np.nan])}, panels={"one": "face"},
        readings={"one": (Reading(label=words, values=np.array([1.0, np.nan, 3.0])),)}, heading=words,
    )  # fmt: skip
    return Figure(key="fig", width_px=100, height_px=100, title=words, description="", panels=(panel,), cursor=cursor, reading_left_px=50)


def test_numbers_of_the_cursor_cannot_leave_their_script() -> None:
    text = str(drawing(figure_with("</script><script>alert(1)</script>")))
    assert text.count("<script") == 1
    body = re.search(r"<script[^>]*>(.*)</script>", text, re.DOTALL)
    assert body is not None
    data = json.loads(body[1])
    assert data["tracks"]["face"] == [0.0, 5.0, None]
    assert data["readings"]["one.0"]["values"] == [1.0, None, 3.0]


def test_criteria_table_shows_value_limits_state_and_reason() -> None:
    muck = Criterion(name="Muck", value=1.12, operator="within", limit_low=0.95, limit_high=1.05, unit="", state="act", comment="ring 846")
    gas = Criterion(
        name="Methane", value=float("nan"), operator="<=", limit_low=float("nan"), limit_high=0.5, unit="%", state="not checked", comment="none since 06:40"
    )
    grade = Criterion(name="Data", value=2.0, operator="<=", limit_low=float("nan"), limit_high=1.0, unit="", state="watch", comment="gaps")
    rows = (
        CriterionLine(key="muck", criterion=muck, decimals=2, sheet="muck"),
        CriterionLine(key="gas", criterion=gas, decimals=2, sheet=""),
        CriterionLine(key="data", criterion=grade, decimals=0, sheet="", words=("A", "B", "C")),
    )
    source = '{% import "parts.html" as parts with context %}{{ parts.criteria_table(rows, "?open=") }}'
    text = environment().from_string(source).render(rows=rows)
    assert re.search(r'<a class="opens" href="\?open=muck" data-open aria-label="[^"]*Muck[^"]*">1.12</a>', text)
    assert text.count('class="opens"') == 1
    assert "0.95 to 1.05" in text
    assert "≤ 0.50" in text
    assert '<td class="n">B' in text
    assert '<span class="remark">none since 06:40</span>' in text
    assert ">not checked</span>" in text
    assert "nan" not in text


@pytest.mark.parametrize(
    ("printed", "shown"),
    [("<mn>-0.61</mn>", "<mn>−0.61</mn>"), ("<mo>-></mo>", "<mo>-></mo>"), ("<mn>3e-5</mn>", "<mn>3e-5</mn>"), ("<mn>-.5</mn>", "<mn>−.5</mn>")],
)
def test_numbers_in_formulas_have_the_true_minus(printed: str, shown: str) -> None:
    assert str(math_words(printed)) == shown


def test_symbol_that_is_a_word_is_not_repeated() -> None:
    assert str(symbol_words("governing")) == ""
    assert "<mi>N</mi>" in str(symbol_words("N_c"))


def test_long_formula_stands_under_its_result() -> None:
    lines = [
        sheet_line(formula="a + b", numbers="1 + 2"),
        sheet_line(formula="a" * 60, numbers="1" * 60),
        sheet_line(formula="a if b > 0, else c", numbers="4"),
    ]
    text = environment().from_string('{% import "parts.html" as parts with context %}{{ parts.calculation_lines(lines) }}').render(lines=lines)
    rows = re.findall(r"<tr.*?</tr>", text, re.DOTALL)[1:]
    assert len(rows) == 4
    assert 'class="parted"' in rows[1]
    assert 'colspan="4"' in rows[2]
    assert "a if b &gt; 0, else c" in rows[3]


def sheet_line(*, formula: str, numbers: str) -> SheetLine:
    mathml, mathml_numbers = f"<math><mi>{formula[:1]}</mi></math>", f"<math><mn>{numbers[:1]}</mn></math>"
    return SheetLine(
        name="p", meaning="pressure", symbol="p", formula=formula, numbers=numbers, value=3.0, unit="kPa", printed="-3.00", shown_unit="kPa", source="",
        mathml=mathml, mathml_numbers=mathml_numbers, symbol_mathml="<math><mi>p</mi></math>",
    )  # fmt: skip


def test_faults_come_all_at_once_and_escaped() -> None:
    found = [
        Fault(where="machines.toml:14", field="thrust_max_kn", given="<60 MPa>", required="a force", hint="60 MN"),
        Fault(where="a", field="b", given="c", required="d"),
    ]
    text = environment().from_string('{% import "parts.html" as parts with context %}{{ parts.faults(found) }}').render(found=found)
    assert "2 faults; nothing was written." in text
    assert "&lt;60 MPa&gt;" in text


@pytest.mark.parametrize("name", ["sheet.css", "page.js", "favicon.svg"])
def test_nothing_is_asked_of_another_host(name: str) -> None:
    text = STATIC.joinpath(name).read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"https?:|//[a-z0-9-]+\.[a-z]|@import|url\((?!#)", text.replace("// ", ""))


def test_templates_ask_nothing_of_another_host() -> None:
    for template in resources.files("tunnelwright.web").joinpath("templates").iterdir():
        assert not re.search(r"https?://|src=\"//", template.read_text(encoding="utf-8"))


def test_script_stays_small_and_never_runs_text() -> None:
    script = STATIC.joinpath("page.js").read_text(encoding="utf-8")
    assert len(script.splitlines()) <= 300
    assert not re.search(r"\beval\(|new Function|innerHTML|document\.write", script)


def test_style_sheet_keeps_its_manners() -> None:
    sheet = STATIC.joinpath("sheet.css").read_text(encoding="utf-8")
    assert not re.search(r"box-shadow|gradient|text-transform: uppercase|@keyframes|animation", sheet)
    assert set(re.findall(r"border-radius: ([^;]+);", sheet)) == {"0"}
    assert min(float(size) for size in re.findall(r"font-size: ?(\d+)px", sheet)) >= 12
    assert ":focus-visible" in sheet
    assert "min-height: 44px" in sheet
    assert "size: A3 landscape" in sheet
