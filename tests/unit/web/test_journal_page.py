"""The journal page: what waits, then what was signed, newest first; what a person wrote is shown and never run."""

import re
import shutil
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.conftest import EXCESS_RING

from tunnelwright import app
from tunnelwright.web.main import workbench

WHO, WHY = "I. Okafor", "void above crown, filled twice"


@pytest.fixture(scope="module")
def folder(recorded_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("journal_page") / "crosstown"
    shutil.copytree(recorded_folder, made, ignore=shutil.ignore_patterns("logs", "journal.sqlite*"))
    return made


@pytest.fixture(scope="module")
def client(folder: Path) -> TestClient:
    return TestClient(workbench(folder))


def cells(page: str, heading: str) -> list[list[str]]:
    """Return the rows of the table under a heading as words."""
    body = page.split(f'id="{heading}"')[1].split("<tbody>")[1].split("</tbody>")[0]
    rows = re.findall(r"<tr.*?</tr>", body, re.DOTALL)
    return [[" ".join(re.sub(r"<[^>]+>", " ", cell).split()) for cell in re.findall(r"<t[dh].*?</t[dh]>", row, re.DOTALL)] for row in rows]


def test_page_lists_what_waits_and_what_was_signed(folder: Path, client: TestClient) -> None:
    workspace = app.open_workspace(folder)
    empty = client.get("/east/journal").text
    assert "Nobody has signed anything on this drive yet." in empty
    assert ["Open act", str(EXCESS_RING)] in [row[:2] for row in cells(empty, "waiting")]
    app.acknowledge(workspace, "east", EXCESS_RING, WHO, WHY, "probe drilling ordered", post="shift engineer")
    app.remark(workspace, "east", WHO, "<script>alert(1)</script> seen at night", ring=31)
    page = client.get("/east/journal").text
    newest, first = cells(page, "entries")
    assert (newest[0], first[0]) == ("2", "1")
    assert first[2:] == ["acknowledgement", str(EXCESS_RING), first[4], "I. Okafor, shift engineer"]
    assert first[4].endswith(f"{WHY}; done: probe drilling ordered")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page
    stands = {row[1]: row[3] for row in cells(page, "waiting") if row[0] == "Open act"}
    assert stands[str(EXCESS_RING)].startswith("acknowledged ")
    assert stands[str(EXCESS_RING)].endswith(f"by {WHO}, not closed")


def test_released_hold_no_longer_waits(folder: Path, client: TestClient) -> None:
    workspace = app.open_workspace(folder)
    hold = app.holds_of(workspace, "east")[0][0]
    assert f"Hold point {hold.name}" in client.get("/east/journal").text
    app.release_hold(workspace, "east", hold.name, WHO, "tunnel manager", WHY)
    said = client.get("/api/east/journal").json()
    assert hold.name not in {one["name"] for one in said["waiting_holds"]}
    assert (said["entries"][0]["what"], said["entries"][0]["who"]) == ("release", f"{WHO}, tunnel manager")
    assert f"Hold point {hold.name}" not in client.get("/east/journal").text


def test_index_leads_to_the_journal_and_unknown_drives_are_refused(client: TestClient) -> None:
    assert '<a href="/east/journal?ring=12"' in client.get("/east/ring?ring=12").text
    assert client.get("/nowhere/journal").status_code == 404
    assert client.get("/api/nowhere/journal").json()["faults"][0]["field"] == "drive"


def test_journal_that_cannot_be_opened_is_said_so_instead_of_a_calm_page(folder: Path, client: TestClient) -> None:
    kept = folder / ".tunnelwright" / "journal.url"
    kept.write_text(f"sqlite:///{folder / 'project.toml'}\n", encoding="utf-8")
    answer = client.get("/east/drive")
    kept.unlink()
    assert answer.status_code == 404
    assert "not a database" in answer.text
