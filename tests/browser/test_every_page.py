"""Every page in light and dark: readable by everybody, nothing cut off, nothing asked of another host."""

import re
from typing import Any

import pytest
from tests.conftest import EXCESS_RING, MISSING_RING

axe = pytest.importorskip("axe_playwright_python.sync_playwright")
pytestmark = pytest.mark.browser

RECORDED = {
    "drive": "/east/drive",
    "whole drive": "/east/drive?first=1&last=1453",
    "act": f"/east/ring?ring={EXCESS_RING}&sheet=muck.excess.single_ring",
    "in order": "/east/ring?ring=20",
    "missing": f"/east/ring?ring={MISSING_RING}",
    "planned": "/east/ring?ring=900&sheet=face.window_partial_factors.daub_2016",
    "sheets": f"/east/sheets?ring={EXCESS_RING}",
    "journal": "/east/journal",
    "no such ring": "/east/ring?ring=99999",
}
PLANNED = {"drive": "/east/drive", "ring": "/main/ring?ring=12", "no such drive": "/nowhere/drive"}
CASES = [("recorded", name, path) for name, path in RECORDED.items()] + [("planned", name, path) for name, path in PLANNED.items()]
IDS = [f"{where}-{name}".replace(" ", "_") for where, name, _ in CASES]
CONTRAST_ONLY = {"runOnly": ["color-contrast"]}
# Words that stand in a drawing, without those that were put on purpose over a sheet's edge.
OVERLAPS = """() => {
  const found = [];
  for (const svg of document.querySelectorAll('svg.figure')) {
    const boxes = [...svg.querySelectorAll('text')].filter((one) => one.textContent.trim()).map((one) => [one.textContent, one.getBoundingClientRect()]);
    boxes.forEach(([words, a], i) => boxes.slice(i + 1).forEach(([other, b]) => {
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left), high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 2 && high > 4.5) found.push(svg.id + ': ' + words + ' / ' + other);
    }));
  }
  return found;
}"""


def address_of(where: str, path: str, recorded: str, planned: str) -> str:
    return (recorded if where == "recorded" else planned) + path


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("where", "name", "path"), CASES, ids=IDS)
def test_page_can_be_read_by_everybody_on_one_screen(open_page: Any, recorded: str, planned: str, where: str, name: str, path: str, scheme: str) -> None:
    page = open_page(address_of(where, path, recorded, planned), color_scheme=scheme)
    paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert paper == {"light": "rgb(253, 253, 251)", "dark": "rgb(20, 23, 26)"}[scheme]
    # In the dark only the colours differ.
    found = axe.Axe().run(page, options=CONTRAST_ONLY if scheme == "dark" else None).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"][:200]) for one in found] == []
    assert page.evaluate(OVERLAPS) == []
    if name != "sheets":
        assert page.evaluate("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]") == [1600, 1000]
        assert page.locator(".title-block").bounding_box()["y"] < 1000 - 80


@pytest.mark.parametrize("width", [1366, 1024, 420])
@pytest.mark.parametrize("path", ["/east/drive", RECORDED["act"], RECORDED["missing"], RECORDED["sheets"], RECORDED["journal"]])
def test_narrow_screens_never_scroll_sideways(open_page: Any, recorded: str, width: int, path: str) -> None:
    page = open_page(recorded + path, width=width, height=900)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator(".filing-menu summary").bounding_box()["height"] >= 44


def test_page_and_numbers_behind_it_agree(open_page: Any, recorded: str) -> None:
    page = open_page(recorded + RECORDED["act"])
    said = page.request.get(f"{recorded}/api/east/ring?ring={EXCESS_RING}").json()
    assert page.text_content("h1") == said["verdict"]
    muck = next(one for one in said["criteria"] if one["key"] == "muck_ratio")
    row = page.locator("tr", has=page.locator("th", has_text=re.compile("^Muck, measured over expected"))).first
    assert row.locator("td").first.text_content().strip() == f"{muck['value']:.2f}"
    assert muck["state"] == "act"
    assert row.locator(".state").text_content() == "act"


def test_drive_sheet_counts_states_as_the_ring_page_does(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/drive?ring={EXCESS_RING}")
    states = ("in order", "watch", "act", "not checked")
    shown = {state: int(page.text_content(f"[data-read='states.{row}']")) for row, state in enumerate(states)}
    criteria = page.request.get(f"{recorded}/api/east/ring?ring={EXCESS_RING}").json()["criteria"]
    assert shown == {state: sum(one["state"] == state for one in criteria) for state in states}


def test_missing_log_and_planned_ring_say_so(open_page: Any, recorded: str, planned: str) -> None:
    page = open_page(recorded + RECORDED["missing"])
    assert "The log did not see this push." in page.text_content("main")
    assert page.locator("svg#push").count() == 0
    page = open_page(recorded + RECORDED["planned"])
    assert "planned, not driven yet" in page.text_content("main")
    assert page.locator("svg#face").count() == 1
    assert page.locator(".criteria").count() == 0
    page = open_page(planned + PLANNED["drive"])
    assert page.text_content("h1").startswith("No ring recorded yet")
    assert "No record yet: import the machine's log" in page.text_content("svg#drive")


def test_unsigned_sheet_shows_a_dash(open_page: Any, recorded: str) -> None:
    page = open_page(recorded + "/east/drive")
    cells = dict(zip(page.locator(".title-block dt").all_text_contents(), page.locator(".title-block dd").all_text_contents(), strict=True))
    assert cells["Checked by"] == "–"
    assert cells["Data"].startswith("log to ")
    assert cells["Scale"].startswith("heights × ")
