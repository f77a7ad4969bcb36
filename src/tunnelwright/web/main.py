"""The workbench in a browser: one view function per page, from a use case's view record to a template; the same records as JSON."""

import os
from importlib import resources
from pathlib import Path
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from fastapi.staticfiles import StaticFiles

from tunnelwright import app
from tunnelwright.vocabulary.remark import InputRefused
from tunnelwright.web import pages

RingQuery = Annotated[int | None, Query(description="ring whose push is looked at; the last recorded one when left out")]
JSON_DESCRIPTION = "The same records as the pages. Screening aid: results are to be checked by a licensed engineer; local codes govern."
SAFE_HEADERS = {
    "Content-Security-Policy": "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
}


def application() -> FastAPI:
    """Return the workbench of the project named by TUNNELWRIGHT_PROJECT, as the server's factory."""
    return workbench(Path(os.environ["TUNNELWRIGHT_PROJECT"]))


def workbench(folder: Path) -> FastAPI:
    """Return the workbench of a project folder; the folder is read again when one of its files changes.

    Raises
    ------
    InputRefused
        when the folder has faults at the start.
    """
    kept = pages.KeptWorkspace(folder)
    kept.current()
    made = FastAPI(title="tunnelwright", description=JSON_DESCRIPTION, docs_url=None, redoc_url=None, openapi_url="/api/openapi.json")
    made.mount("/static", StaticFiles(directory=str(resources.files("tunnelwright.web") / "static")), name="static")

    @made.middleware("http")
    async def safe_headers(request: Request, call_next: Any) -> Any:
        response = await call_next(request)
        response.headers.update(SAFE_HEADERS)
        return response

    @made.exception_handler(InputRefused)
    def refused(request: Request, reason: InputRefused) -> Any:
        if request.url.path.startswith("/api/"):
            return JSONResponse({"faults": [fault.as_dict() for fault in reason.faults]}, status_code=404)
        return HTMLResponse(pages.fault_page(kept.last(), reason), status_code=404)

    _add_pages(made, kept)
    _add_api(made, kept)
    return made


def _add_pages(made: FastAPI, kept: pages.KeptWorkspace) -> None:
    @made.get("/", include_in_schema=False)
    def home() -> RedirectResponse:
        return RedirectResponse(f"/{kept.current().project.drives[0].name}/drive")

    @made.get("/favicon.ico", include_in_schema=False)
    def favicon() -> RedirectResponse:
        return RedirectResponse("/static/favicon.svg")

    @made.get("/{drive}/drive", response_class=HTMLResponse, include_in_schema=False)
    def drive_page(drive: str, ring: RingQuery = None, first: int | None = None, last: int | None = None) -> str:
        return pages.drive_page(app.drive_view(app.subject_of(kept.current(), drive, ring), first, last))

    @made.get("/{drive}/ring", response_class=HTMLResponse, include_in_schema=False)
    def ring_page(drive: str, ring: RingQuery = None, sheet: str = "") -> str:
        return pages.ring_page(app.push_view(app.subject_of(kept.current(), drive, ring), sheet))

    @made.get("/{drive}/sheets", response_class=HTMLResponse, include_in_schema=False)
    def sheets_page(drive: str, ring: RingQuery = None) -> str:
        return pages.sheets_page(app.push_view(app.subject_of(kept.current(), drive, ring)))

    @made.get("/{drive}/journal", response_class=HTMLResponse, include_in_schema=False)
    def journal_page(drive: str, ring: RingQuery = None) -> str:
        return pages.journal_page(app.journal_view(app.subject_of(kept.current(), drive, ring)))


def _add_api(made: FastAPI, kept: pages.KeptWorkspace) -> None:
    @made.get("/api/drives", summary="Drives of the project")
    def drives() -> dict[str, Any]:
        project = kept.current().project
        return {"project": project.name, "revision": project.revision, "drives": [{"name": one.name, "title": one.title} for one in project.drives]}

    @made.get("/api/{drive}/drive", summary="Planned and recorded values by push", responses={404: {"description": "no such drive or ring"}})
    def drive_json(drive: str, ring: RingQuery = None, first: int | None = None, last: int | None = None) -> JSONResponse:
        return JSONResponse(pages.plain(app.drive_view(app.subject_of(kept.current(), drive, ring), first, last).as_dict()))

    @made.get("/api/{drive}/ring", summary="Criteria, advice and calculation sheets of one push", responses={404: {"description": "no such drive or ring"}})
    def ring_json(drive: str, ring: RingQuery = None) -> JSONResponse:
        return JSONResponse(pages.plain(app.push_view(app.subject_of(kept.current(), drive, ring)).as_dict()))

    @made.get("/api/{drive}/journal", summary="What people signed, newest first, and what waits", responses={404: {"description": "no such drive or ring"}})
    def journal_json(drive: str) -> JSONResponse:
        return JSONResponse(pages.plain(app.journal_view(app.subject_of(kept.current(), drive)).as_dict()))
