"""The pages: a view record into a template. No calculation here."""

import math
from pathlib import Path
from typing import Any, Final

from tunnelwright import app
from tunnelwright.report.drive_sheet import drive_sheet
from tunnelwright.report.face_sheet import face_sheet
from tunnelwright.report.legend import Key, drive_legend
from tunnelwright.report.push_chart import push_chart
from tunnelwright.report.ring_rail import ring_rail
from tunnelwright.vocabulary.remark import InputRefused
from tunnelwright.web.shell import Page, SheetLink, TitleBlock, render

PUSH_LEGEND: Final = (
    Key("measured", "recorded"),
    Key("planned", "planned"),
    Key("window", "window between limits"),
    Key("watch", "watch"),
    Key("act", "act"),
    Key("not checked", "not checked"),
)


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
    names = (("Drive", "drive"), ("Ring", "ring"), ("Sheets", "sheets"))
    return tuple(SheetLink(words, f"/{drive}/{path}?ring={ring}", words == opened) for words, path in names)


def _title(subject: Any, sheet: str, shows: str, scale: str = "") -> TitleBlock:
    project, case = subject.plan.case.project, subject.plan.case
    programme = f"{project.title or project.name}, {project.city}" if project.city else project.title or project.name
    return TitleBlock(
        programme=programme,
        drive=f"{subject.drive_title}, shield {case.machine.name}",
        sheet=sheet,
        shows=shows,
        plan_revision=subject.plan.revision,
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
    figure = drive_sheet(view.sheet, height_px=706.0)
    title = _title(subject, "Drive: longitudinal sheet", f"rings {view.first_ring} to {view.last_ring}")
    page = _page(subject, view.rail, title, "Drive", drive_legend(view.sheet, f"planned, revision {subject.plan.revision[:6]}"))
    return render("drive.html", page, figure=figure, view=view, subject=subject)


def ring_page(view: Any) -> str:
    """Return the ring sheet: criteria, the push over time, the opened calculation."""
    subject = view.subject
    title = _title(subject, f"Ring {view.ring_number}", view.when or f"push {view.ring_number}, planned")
    page = _page(subject, view.rail, title, "Ring", PUSH_LEGEND, carried={"sheet": view.opened.calculation.method.id} if view.opened else {})
    return render(
        "ring.html",
        page,
        view=view,
        subject=subject,
        chart=push_chart(view.chart) if view.chart is not None else None,
        face=face_sheet(view.face),
        opened_lines=app.sheet_of(view.opened.calculation) if view.opened else (),
    )


def sheets_page(view: Any) -> str:
    """Return the calculation sheets behind one push."""
    subject = view.subject
    title = _title(subject, "Calculation sheets", f"push {view.ring_number}")
    page = _page(subject, view.rail, title, "Sheets", (), is_long=True)
    sheets = [(one, app.sheet_of(one.calculation)) for one in view.explained]
    return render("sheets.html", page, view=view, subject=subject, sheets=sheets)


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
