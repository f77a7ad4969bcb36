"""The pages: a view record into a template. No calculation here."""

import math
from pathlib import Path
from typing import Any, Final

from tunnelwright import app
from tunnelwright.report.drive_sheet import drive_sheet
from tunnelwright.report.face_sheet import face_sheet
from tunnelwright.report.legend import Key, drive_legend
from tunnelwright.report.numbers import number_text
from tunnelwright.report.push_chart import push_chart
from tunnelwright.report.ring_rail import ring_rail
from tunnelwright.vocabulary.remark import InputRefused
from tunnelwright.web.shell import Page, SheetLink, TitleBlock, render

PUSH_LEGEND: Final = (
    Key("measured", "recorded"),
    Key("planned", "planned"),
    Key("window", "window between limits"),
    Key("standstill", "standstill or ring build"),
    Key("watch", "watch"),
    Key("act", "act"),
    Key("not checked", "not checked"),
)
FACE_LEGEND: Final = (Key("planned", "planned support"), Key("window", "working window"), Key("second-line", "water"))
REVISION_DIGITS: Final = 10


class KeptWorkspace:
    """The project of the workbench, read again when one of its files has changed.

    While a person edits and the folder has faults, the pages keep the last good project and the fault is raised to whoever asks next.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._seen: float = -1.0
        self._workspace: Any = None

    def current(self) -> Any:
        """Return the workspace as the files stand now.

        Raises
        ------
        InputRefused
            when they have faults.
        """
        newest = max((path.stat().st_mtime for path in self._own_files()), default=0.0)
        if self._workspace is None or newest != self._seen:
            self._workspace = app.open_workspace(self._folder)
            self._seen = newest
        return self._workspace

    def last(self) -> Any:
        """Return the last workspace that had no faults, None before the first."""
        return self._workspace

    def _own_files(self) -> list[Path]:
        return [
            path for pattern in ("*.toml", "*.csv", "axis/*", "ground/*", "assets/*", "channels/*") for path in self._folder.glob(pattern) if path.is_file()
        ]


def _index(drive: str, ring: int, opened: str) -> tuple[SheetLink, ...]:
    names = (("Drive", "drive"), ("Ring", "ring"), ("Sheets", "sheets"), ("Journal", "journal"))
    return tuple(SheetLink(words, f"/{drive}/{path}?ring={ring}", words == opened) for words, path in names)


def _title(subject: Any, sheet: str, shows: str, scale: str = "") -> TitleBlock:
    project, case = subject.plan.case.project, subject.plan.case
    programme = f"{project.title or project.name}, {project.city}" if project.city else project.title or project.name
    return TitleBlock(
        programme=programme,
        drive=f"{subject.drive_title}, shield {case.machine.name}",
        sheet=sheet,
        shows=shows,
        plan_revision=subject.plan.revision[:REVISION_DIGITS],
        data_age=subject.data_age,
        scale=scale,
    )


def _page(subject: Any, rail: Any, title: TitleBlock, opened: str, legend: Any, **more: Any) -> Page:
    return Page(
        title_block=title,
        index=_index(subject.drive, subject.chosen_ring, opened),
        verdict=subject.verdict.sentence,
        verdict_more=subject.verdict.second_line,
        rail=ring_rail(rail),
        ring=subject.chosen_ring,
        ring_count=subject.plan.push_count,
        legend=legend,
        **more,
    )


def drive_page(view: Any) -> str:
    """Return the longitudinal sheet."""
    subject = view.subject
    figure = drive_sheet(view.sheet, height_px=688.0)
    scale = next((panel.second_subtitle for panel in figure.panels if panel.second_subtitle), "")
    title = _title(subject, "Drive: longitudinal sheet", f"rings {number_text(view.first_ring)} to {number_text(view.last_ring)}", scale)
    carried = {"first": str(view.first_ring), "last": str(view.last_ring)} if view.is_whole else {}
    page = _page(subject, view.rail, title, "Drive", drive_legend(view.sheet), carried=carried)
    return render("drive.html", page, figure=figure, view=view, subject=subject)


def ring_page(view: Any) -> str:
    """Return the ring sheet: criteria, the push over time, the opened calculation."""
    subject = view.subject
    when = view.when or f"push {number_text(view.ring_number)}, {'planned' if view.is_planned else 'no log'}"
    title = _title(subject, f"Ring {number_text(view.ring_number)}", when)
    legend = PUSH_LEGEND if view.chart is not None else FACE_LEGEND
    carried = {"sheet": view.opened_key} if view.opened_key else {}
    page = _page(subject, view.rail, title, "Ring", legend, carried=carried, is_one_screen=True)
    return render(
        "ring.html",
        page,
        view=view,
        subject=subject,
        counts_words=", ".join(f"{count} {state}" for state, count in view.counts.items() if count),
        chart=push_chart(view.chart, height_px=430.0) if view.chart is not None else None,
        face=face_sheet(view.face, width_px=620.0, height_px=300.0) if view.chart is not None else face_sheet(view.face, height_px=420.0),
        opened_lines=app.sheet_of(view.opened.calculation) if view.opened else (),
    )


def sheets_page(view: Any) -> str:
    """Return the calculation sheets behind one push."""
    subject = view.subject
    title = _title(subject, "Calculation sheets", f"push {number_text(view.ring_number)}")
    page = _page(subject, view.rail, title, "Sheets", FACE_LEGEND, is_long=True)
    sheets = [(one, app.sheet_of(one.calculation)) for one in view.sheets.values()]
    return render("sheets.html", page, view=view, subject=subject, sheets=sheets, face=face_sheet(view.face, height_px=360.0))


def journal_page(view: Any) -> str:
    """Return the journal of a drive: what waits for a signature, then what was signed."""
    subject = view.subject
    count = len(view.lines)
    title = _title(subject, "Journal", f"{number_text(count)} {'entry' if count == 1 else 'entries'}, newest first")
    page = _page(subject, view.rail, title, "Journal", (), is_long=True)
    return render("journal.html", page, view=view, subject=subject)


def fault_page(workspace: Any, reason: InputRefused) -> str:
    """Return the page that says what is wrong with a project or an address, all at once."""
    name = workspace.project.title or workspace.project.name if workspace is not None else "project"
    drives = [one.name for one in workspace.project.drives] if workspace is not None else []
    page = Page(
        title_block=TitleBlock(programme=name, drive="", sheet="What has to be mended"),
        index=tuple(SheetLink(f"Drive {one}", f"/{one}/drive") for one in drives),
        verdict="This cannot be shown yet: something has to be mended first.",
    )
    return render("faults.html", page, found=reason.faults)


def plain(value: Any) -> Any:
    """Return a record as JSON knows it: NaN and infinite become null."""
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
