"""The drawings of the invented East drive as one static page, to be looked at.

    python tests/unit/report/gallery.py FOLDER [--theme dark]

writes ``drive.html`` and ``ring.html`` with their style sheet beside them. All numbers are made for the picture.
"""

import argparse
import shutil
from importlib import resources
from pathlib import Path

from brennholt import BUILT, RINGS, criteria, drive_record, face_record, push_record, rail_record
from tunnelwright.report.drive_sheet import drive_sheet
from tunnelwright.report.face_sheet import face_sheet
from tunnelwright.report.legend import Key, drive_legend
from tunnelwright.report.push_chart import push_chart
from tunnelwright.report.ring_rail import ring_rail
from tunnelwright.web.shell import Page, SheetLink, TitleBlock, environment

SHEETS = ("Home", "Drive", "Ring", "Next ring", "Live", "Street", "Lining", "Programme", "Sheets", "Inputs", "Journal")
VERDICT = "Open act at push 846 (muck 1.12, settlement level 2), acknowledged 19 Nov; gas not sampled since 06:40; push 872 in the window. Log 2 min old."
VERDICT_MORE = (
    "Crown port of ring 869 on watch, 0.48 of its share. Nearest hold point: BH 23, unsealed, on the axis, 1+338: needs release before push 882, 21.6 m ahead."
)


def page(sheet: str, scale: str, legend: tuple[Key, ...], shows: str) -> Page:
    names = {"Drive": "drive.html", "Ring": "ring.html"}
    return Page(
        title_block=TitleBlock(
            programme="Crosstown, Brennholt",
            drive="East, shield A",
            sheet=sheet,
            shows=shows,
            plan_revision="C, 21 Nov 2026",
            checked_by="",
            data_age="log to 14:32, push 872 open",
            scale=scale,
        ),
        index=[SheetLink(name, names.get(name, ""), sheet.startswith(name)) for name in SHEETS],
        verdict=VERDICT,
        verdict_more=VERDICT_MORE,
        rail=ring_rail(rail_record()),
        ring=BUILT,
        ring_count=RINGS,
        legend=legend,
        static_href=".",
    )


RING_BODY = """{% extends "base.html" %}{% import "parts.html" as parts with context %}{% block main %}
<div class="two"><div>{{ parts.criteria_table(criteria, "Criteria of push 871", {"Crown port, of its share": "?open=grout"}) }}
<h2>Face at 1+315.5 <span class="note">seen in drive direction</span></h2>{{ drawing(face) }}</div>
<div><h2>Push 871</h2>{{ drawing(push) }}</div></div>{% endblock %}"""


def write(folder: Path, theme: str) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name in ("sheet.css", "page.js", "favicon.svg"):
        shutil.copyfile(str(resources.files("tunnelwright.web").joinpath("static", name)), folder / name)
    record = drive_record()
    drive_page = page("Drive: longitudinal sheet", "heights × 2.5", drive_legend(record, "planned, revision C"), "rings 720 to 1 020")
    body = environment().from_string('{% extends "base.html" %}{% block main %}{{ drawing(figure) }}{% endblock %}')
    ring_keys = (
        Key("chosen", "crown"),
        Key("second-line", "other sensors, ports"),
        Key("planned", "planned, revision C"),
        Key("window", "window"),
        Key("standstill", "standstill or build"),
    )
    texts = {
        "drive.html": body.render(page=drive_page, figure=drive_sheet(record)),
        "ring.html": environment()
        .from_string(RING_BODY)
        .render(
            page=page("Ring 871", "face true", ring_keys, "push 871"),
            criteria=criteria(),
            push=push_chart(push_record(), height_px=560),
            face=face_sheet(face_record(), height_px=330),
        ),
    }
    for name, text in texts.items():
        (folder / name).write_text(text.replace('<html lang="en">', f'<html lang="en" data-theme="{theme}">'), encoding="utf-8")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--theme", choices=("light", "dark"), default="light")
    given = parser.parse_args()
    write(given.folder, given.theme)
