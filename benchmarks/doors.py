"""What a person waits for: the help of the command line, a project that is read, one page of a ring."""

import csv
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

from examples.brennholt.project import write_project
from starlette.testclient import TestClient

from benchmarks.measuring import ROOT, Row, timed
from tunnelwright import app
from tunnelwright.web.main import workbench

HELP_LIMIT_S = 0.5
PAGE_LIMIT_S = 0.5
RING = 871


def measure(folder: Path) -> list[Row]:
    """Return the waiting times against what is allowed, or against the plainest way to the same bytes."""
    return [*start_up(), *reading(folder / "project"), *page(folder / "project")]


def start_up() -> list[Row]:
    """Return the wall time of the help text, the median of five."""
    command = [str(Path(sys.executable).with_name("tunnelwright"))]
    if not os.path.exists(command[0]):
        command = [sys.executable, "-m", "tunnelwright.cli"]
    ours, _ = timed(lambda: _ran([*command, "--help"]), repeats=5)
    bare, _ = timed(lambda: _ran([sys.executable, "-c", "import typer"]), repeats=5)
    return [
        Row(task="tunnelwright --help", unit="s", ours=ours, baseline="what is allowed", theirs=HELP_LIMIT_S, note="median of 5"),
        Row(task="tunnelwright --help", unit="s", ours=ours, baseline="Python that imports the command-line library alone", theirs=bare, note="median of 5"),
    ]


def _ran(command: list[str]) -> None:
    subprocess.run(command, cwd=ROOT, capture_output=True, check=True)


def reading(folder: Path) -> list[Row]:
    """Return the time to read and check the Brennholt project against parsing its files and nothing else."""
    write_project(folder)
    ours, _ = timed(lambda: app.open_workspace(folder), repeats=3)
    theirs, _ = timed(lambda: _parsed(folder), repeats=3)
    return [Row(task="read and check the Brennholt project", unit="s", ours=ours, baseline="tomllib and csv alone, nothing checked", theirs=theirs)]


def _parsed(folder: Path) -> list[Any]:
    found: list[Any] = [tomllib.loads(path.read_text(encoding="utf-8")) for path in folder.rglob("*.toml")]
    for path in folder.rglob("*.csv"):
        with path.open(encoding="utf-8", newline="") as stream:
            found.append(list(csv.DictReader(line for line in stream if not line.startswith("#"))))
    return found


def page(folder: Path) -> list[Row]:
    """Return the time of one ring page from the server, project and plan already there, against what is allowed and against its bytes as a file."""
    with TestClient(workbench(folder)) as client:
        address = f"/east/ring?ring={RING}"

        def fetched(place: str = address) -> bytes:
            answer = client.get(place)
            assert answer.status_code == 200, f"{place} answers {answer.status_code}"
            return answer.content

        first, content = timed(fetched)
        again, _ = timed(fetched, repeats=5)
        plain, _ = timed(lambda: fetched("/static/sheet.css"), repeats=5)
    size = f"{len(content) / 1024:.0f} kB"
    return [
        Row(task=f"page of ring {RING}, plan made before", unit="s", ours=again, baseline="what is allowed", theirs=PAGE_LIMIT_S, note=f"median of 5, {size}"),
        Row(task=f"page of ring {RING}, plan made before", unit="s", ours=again, baseline="a file from the same server", theirs=plain, note="median of 5"),
        Row(task=f"page of ring {RING}, first after the start", unit="s", ours=first, baseline="what is allowed, with the plan", theirs=4 * PAGE_LIMIT_S),
    ]
