"""What a person does: step with the keys, jump by number, open a sheet, go back, work without script, print."""

import re
from typing import Any

import pytest
from tests.conftest import EXCESS_RING

pytestmark = pytest.mark.browser
LAST_RING = 1453


def wait_for_ring(page: Any, ring: int) -> None:
    # The address is written after the parts of the page have been put in place.
    page.locator(f"#goto-ring[value='{ring}']").wait_for()
    page.wait_for_url(re.compile(rf"[?&]ring={ring}(&|$)"))


def test_arrow_keys_step_through_the_rings(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/ring?ring=19")
    page.keyboard.press("ArrowRight")
    wait_for_ring(page, 20)
    assert page.text_content("#left-head").startswith("Criteria of push 20")
    page.keyboard.press("ArrowLeft")
    wait_for_ring(page, 19)
    page.go_back()
    wait_for_ring(page, 20)


def test_number_box_jumps(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/ring?ring=19")
    page.fill("#goto-ring", "900")
    page.press("#goto-ring", "Enter")
    wait_for_ring(page, 900)
    assert "planned" in page.text_content("#left-head")


def test_number_with_a_dotted_line_opens_its_sheet_and_the_address_keeps_it(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/ring?ring={EXCESS_RING}")
    page.locator("a.opens[href*='muck.excess']").click()
    page.wait_for_selector("#opened")
    assert "sheet=muck.excess.single_ring" in page.url
    heading = page.text_content("#opened h2")
    assert heading.startswith("Muck measured against expected")
    assert page.evaluate("getComputedStyle(document.querySelector('#opened')).borderLeftWidth") == "4px"
    again = open_page(page.url)
    assert again.text_content("#opened h2") == heading
    page.go_back()
    page.wait_for_selector("#opened", state="detached")
    page.go_forward()
    page.wait_for_selector("#opened")
    page.keyboard.press("Escape")
    page.wait_for_selector("#opened", state="detached")
    assert "sheet=" not in page.url


def test_opened_sheet_stays_open_while_stepping(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/ring?ring=19&sheet=muck.mass.expected")
    page.locator("h1").click()
    page.keyboard.press("ArrowRight")
    wait_for_ring(page, 20)
    assert page.text_content("#opened h2").startswith("Mass expected")


def test_every_stop_of_the_keyboard_is_seen(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/ring?ring={EXCESS_RING}")
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        seen = page.evaluate("""() => {
          const one = document.activeElement, style = getComputedStyle(one);
          const name = one.tagName + (one.id ? '#' + one.id : '') + '.' + one.className;
          return [name, style.outlineStyle, style.outlineWidth, one.matches(':focus-visible')];
        }""")
        if seen[0].startswith("BODY"):
            break
        assert seen[1:] == ["solid", "2px", True], seen
        reached.add(seen[0].split(".")[-1])
    assert "opens" in reached
    assert "skip" in reached


def test_events_and_marks_lead_to_their_ring(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/drive?ring=20")
    page.locator("svg#drive a[href*='ring?ring=']").first.click()
    page.wait_for_url("**/east/ring?ring=*")
    assert page.text_content("#left-head").startswith("Criteria of push")


def test_range_of_the_sheet_lives_in_the_address(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/drive?ring=20")
    page.get_by_text("whole drive").click()
    page.wait_for_url(f"**last={LAST_RING}")
    assert f"rings 1 to {LAST_RING // 1000}\u202f{LAST_RING % 1000}" in page.text_content(".title-block")
    page.get_by_text("around ring 20").click()
    page.wait_for_url(re.compile(r"drive\?ring=20$"))


def test_pages_work_without_script(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/ring?ring={EXCESS_RING}", java_script_enabled=False)
    assert page.locator("svg#push path").count() > 10
    page.click("a.opens[href*='muck.excess']")
    assert page.locator("#opened").count() == 1
    page.click("[data-close]")
    assert page.locator("#opened").count() == 0
    page.fill("#goto-ring", "19")
    page.click(".goto button")
    assert page.text_content("#left-head").startswith("Criteria of push 19")
    page.get_by_role("link", name="Drive", exact=True).first.click()
    assert page.text_content("[data-read=heading]") == "Reading at push 19"


def test_paper_is_light_and_has_no_index(open_page: Any, recorded: str) -> None:
    page = open_page(f"{recorded}/east/drive", color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    for part in (".filing", ".filing-menu", ".goto", ".theme"):
        assert not page.locator(part).first.is_visible()
    assert page.locator(".title-block").is_visible()


@pytest.mark.parametrize(
    ("path", "most_pages"), [("/east/drive", 1), (f"/east/ring?ring={EXCESS_RING}&sheet=muck.excess.single_ring", 1), ("/east/sheets?ring=20", 9)]
)
def test_sheet_prints_on_as_many_pages_as_it_has(open_page: Any, recorded: str, path: str, most_pages: int) -> None:
    page = open_page(recorded + path)
    paper = page.pdf(prefer_css_page_size=True)
    pages = paper.count(b"/Type /Page\n") or paper.count(b"/Type /Page ") or paper.count(b"/Type/Page/")
    assert 1 <= pages <= most_pages
