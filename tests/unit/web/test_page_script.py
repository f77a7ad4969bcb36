"""The page script in a real browser, on pages served by a few lines of our own: what it makes quicker must end where the link would have."""

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib import resources
from urllib.parse import parse_qs, urlparse

import numpy as np
import pytest

from tunnelwright.report.drive_sheet import drive_sheet
from tunnelwright.report.figure import Reading
from tunnelwright.report.inputs import DriveSheet, Places, RingRail, Strip
from tunnelwright.report.ring_rail import ring_rail
from tunnelwright.web.shell import Page, SheetLink, TitleBlock, environment

pytestmark = pytest.mark.browser
RINGS, BUILT = 40, 30
TYPES = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
BODY = """{% extends "base.html" %}{% import "parts.html" as parts with context %}{% block main %}{{ drawing(figure) }}
<p>{{ parts.opens("180", "/east/drive?ring=" ~ page.ring ~ "&open=face") }}</p>
{% if opened %}{{ parts.calculation("Face pressure", [], "/east/drive?ring=" ~ page.ring) }}{% endif %}{% endblock %}"""


def sheet(ring: int) -> DriveSheet:
    rings = np.arange(1, RINGS + 1)
    front = rings * 1.5
    places = Places(
        ring_number=rings, ring_chainage_m=front, face_start_chainage_m=front + 1.5, face_end_chainage_m=front + 3.0, grout_chainage_m=front - 3.0,
        grout_ring_number=rings - 2, built_ring_number=BUILT,
    )  # fmt: skip
    recorded = np.where(rings <= BUILT, 1000.0 + rings, np.nan)
    strips = tuple(
        Strip(key=place, title=place, subtitle="kPa", place=place, measured=recorded, readings=(Reading(label="recorded", values=recorded),))  # type: ignore[arg-type]
        for place in ("face", "grout", "ring")
    )
    return DriveSheet(
        drive_name="East drive", places=places, first_ring=1, last_ring=RINGS, chosen_ring=ring, face_chainage_m=48.0, section=None, strips=strips
    )  # fmt: skip


def page_text(ring: int, *, opened: bool) -> str:
    rail = RingRail(drive_name="East drive", ring_count=RINGS, built_ring_number=BUILT, chosen_ring=ring)
    page = Page(
        title_block=TitleBlock(programme="Crosstown", drive="East", sheet=f"Drive, ring {ring}"), index=[SheetLink("Drive", "/east/drive", True)],
        verdict=f"Push {ring} in the window.", rail=ring_rail(rail), ring=ring, ring_count=RINGS, carried={"from": "1"},
    )  # fmt: skip
    return environment().from_string(BODY).render(page=page, figure=drive_sheet(sheet(ring), height_px=420.0), opened=opened)


class Handler(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        address = urlparse(self.path)
        if address.path.startswith("/static/"):
            name = address.path.rsplit("/", 1)[1]
            self.answer(resources.files("tunnelwright.web").joinpath("static", name).read_bytes(), TYPES[name.rsplit(".", 1)[1]])
        else:
            given = parse_qs(address.query)
            self.answer(page_text(int(given.get("ring", ["20"])[0]), opened="open" in given).encode(), "text/html; charset=utf-8")

    def answer(self, body: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *args: object) -> None:
        """Say nothing on the test's output."""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_address[1]}"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture
def page(browser, address: str):
    context = browser.new_context(viewport={"width": 1600, "height": 1000})
    opened = context.new_page()
    complaints: list[str] = []
    opened.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    opened.on("pageerror", lambda reason: complaints.append(str(reason)))
    opened.on("request", lambda request: complaints.append(request.url) if not request.url.startswith(address) else None)
    opened.goto(f"{address}/east/drive?ring=20&from=1")
    yield opened
    context.close()
    assert complaints == []


def wait_for_ring(page, ring: int) -> None:
    page.wait_for_function(f"document.querySelector('h1').textContent.includes('Push {ring} ')")
    assert f"ring={ring}" in page.url


def test_arrow_keys_step_and_the_address_follows(page) -> None:
    page.keyboard.press("ArrowRight")
    wait_for_ring(page, 21)
    page.keyboard.press("ArrowLeft")
    wait_for_ring(page, 20)
    page.go_back()
    wait_for_ring(page, 21)
    assert "from=1" in page.url
    assert page.title() == "Drive, ring 21, East"


def test_number_box_jumps_and_refuses_a_ring_that_is_none(page) -> None:
    page.fill("#goto-ring", "33")
    page.press("#goto-ring", "Enter")
    wait_for_ring(page, 33)
    page.evaluate("document.querySelector('#goto-ring').value = '99'; document.querySelector('.goto').requestSubmit()")
    page.wait_for_timeout(100)
    wait_for_ring(page, 33)


def test_click_on_the_rail_chooses_the_ring_under_it(page) -> None:
    left = page.locator("#rail .ink-built-area").first.bounding_box()["x"]
    planned = page.locator("#rail .ink-planned-paper").bounding_box()
    page.mouse.click(left + (planned["x"] + planned["width"] - left) * 9.5 / RINGS, planned["y"] + 3)
    wait_for_ring(page, 10)


def test_cursor_reads_each_strip_at_its_own_place(page) -> None:
    box = page.locator("svg#drive").bounding_box()
    tracks = page.evaluate("JSON.parse(document.querySelector('[data-cursor-of]').textContent)")
    index = 24
    for panel in tracks["panels"]:
        page.mouse.move(box["x"] + tracks["tracks"][panel["track"]][index], box["y"] + (panel["top"] + panel["bottom"]) / 2)
        assert page.text_content("[data-read=heading]") == "Reading at push 25"
        assert page.text_content(f"[data-read='{panel['track']}.0']") == "1\u202f025"
    page.mouse.move(box["x"] + tracks["tracks"]["face"][35], box["y"] + tracks["panels"][0]["top"] + 5)
    assert page.text_content("[data-read='face.0']") == "–"
    page.mouse.move(2, 2)
    assert page.text_content("[data-read=heading]") == "Reading at push 20"


def test_script_draws_the_cursor_as_the_server_does(page) -> None:
    before = page.get_attribute("[data-cursor-line]", "d")
    page.focus("svg#drive")
    page.keyboard.press("ArrowRight")
    assert page.get_attribute("[data-cursor-line]", "d") != before
    page.keyboard.press("ArrowLeft")

    def numbers(path: str) -> list[float]:
        return [float(part) for part in path.replace("M", " ").replace("V", " ").replace("H", " ").split()]

    assert numbers(page.get_attribute("[data-cursor-line]", "d")) == pytest.approx(numbers(before), abs=0.06)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    wait_for_ring(page, 21)


def test_opened_sheet_stands_beside_and_escape_closes_it(page) -> None:
    page.click("a.opens")
    page.wait_for_selector("#opened")
    assert "open=face" in page.url
    assert page.evaluate("document.activeElement.id") == "opened"
    page.keyboard.press("Escape")
    page.wait_for_selector("#opened", state="detached")
    assert "open" not in page.url


def test_theme_switch_turns_the_paper_and_is_kept(page) -> None:
    paper = "getComputedStyle(document.documentElement).backgroundColor"
    light = page.evaluate(paper)
    page.click("[data-theme-switch]")
    dark = page.evaluate(paper)
    assert light == "rgb(253, 253, 251)"
    assert dark == "rgb(20, 23, 26)"
    page.reload()
    assert page.evaluate(paper) == dark
    page.emulate_media(media="print")
    assert page.evaluate(paper) == "rgb(255, 255, 255)"


def test_page_is_whole_without_script(browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1600, "height": 1000})
    page = context.new_page()
    page.goto(f"{address}/east/drive?ring=20")
    assert page.locator("[data-read=heading]").text_content() == "Reading at push 20"
    page.fill("#goto-ring", "12")
    page.click(".goto button")
    assert page.text_content("h1") == "Push 12 in the window."
    page.click("a.opens")
    assert page.locator("#opened").count() == 1
    context.close()


@pytest.mark.parametrize("width", [1600, 1180, 820, 480])
def test_page_never_scrolls_sideways(browser, address: str, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900})
    page = context.new_page()
    page.goto(f"{address}/east/drive?ring=20")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator(".filing-menu summary").is_visible() == (width < 1400)
    context.close()
