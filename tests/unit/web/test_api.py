"""The JSON interface: the same numbers as the pages, faults instead of traces, and no request that breaks it."""

import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from starlette.testclient import TestClient
from tests.conftest import EXCESS_RING, MISSING_RING

from tunnelwright.web.main import workbench

schemathesis = pytest.importorskip("schemathesis")


@pytest.fixture(scope="module")
def client(recorded_folder: Path) -> TestClient:
    return TestClient(workbench(recorded_folder))


def test_no_request_breaks_it(recorded_folder: Path) -> None:
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", workbench(recorded_folder))
    for found in schema.get_all_operations():
        operation = found.ok()

        @settings(max_examples=6, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
        @given(case=operation.as_strategy())
        def answers(case: Any) -> None:
            case.call_and_validate()

        answers()


def test_drives_are_listed(client: TestClient) -> None:
    said = client.get("/api/drives").json()
    assert said["project"] == "crosstown"
    assert {"name": "east", "title": "East drive"} in said["drives"]


def test_drive_gives_each_strip_over_the_asked_rings(client: TestClient) -> None:
    said = client.get(f"/api/east/drive?ring={EXCESS_RING}&first=11&last=60").json()
    assert (said["first_ring"], said["last_ring"]) == (11, 60)
    assert set(said["strips"]) == {"pressure", "muck", "grout", "rate"}
    for lines in said["strips"].values():
        assert {len(values) for values in lines.values()} == {50}
        assert lines["measured"][MISSING_RING - 11] is None
    assert said["strips"]["muck"]["measured"][EXCESS_RING - 11] > 1.15
    assert EXCESS_RING in {one["ring_number"] for one in said["needs_a_person"]}


def test_ring_gives_criteria_advice_and_sheets(client: TestClient) -> None:
    said = client.get(f"/api/east/ring?ring={EXCESS_RING}").json()
    assert {"name", "value", "operator", "limit_low", "limit_high", "unit", "state", "comment", "key", "sheet"} == set(said["criteria"][0])
    assert {one["criterion"] for one in said["advice"]} >= {"muck_ratio"}
    keys = [one["key"] for one in said["sheets"]]
    assert len(keys) == len(set(keys))
    assert {one["sheet"] for one in said["criteria"]} - {""} <= set(keys)
    assert all(one["sheet"] for one in said["sheets"])


def test_planned_ring_and_missing_ring_are_told_apart(client: TestClient) -> None:
    planned, missing = (client.get(f"/api/east/ring?ring={ring}").json() for ring in (900, MISSING_RING))
    assert (planned["is_planned"], planned["is_missing"], planned["criteria"]) == (True, False, [])
    assert (missing["is_planned"], missing["is_missing"]) == (False, True)
    assert {one["value"] for one in missing["criteria"]} == {None}
    assert planned["planned"]["target_crown_kpa"] > 0


@pytest.mark.parametrize(
    ("path", "field"), [("nowhere/drive", "drive"), ("nowhere/ring", "drive"), ("east/ring?ring=1454", "ring"), ("east/drive?ring=0", "ring")]
)
def test_what_does_not_exist_is_a_fault_on_both_sides(client: TestClient, path: str, field: str) -> None:
    answer = client.get(f"/api/{path}")
    assert answer.status_code == 404
    assert [fault["field"] for fault in answer.json()["faults"]] == [field]
    page = client.get(f"/{path}")
    assert page.status_code == 404
    assert answer.json()["faults"][0]["required"][:30] in page.text


def test_page_and_interface_show_the_same(client: TestClient) -> None:
    for ring in (EXCESS_RING, 20, 900):
        page, said = client.get(f"/east/ring?ring={ring}").text, client.get(f"/api/east/ring?ring={ring}").json()
        heading = re.search(r"<h1>(.*?)</h1>", page)
        assert heading is not None
        assert heading[1].replace("&#39;", "'") == said["verdict"]
        assert page.count('scope="row"') >= len(said["criteria"])
        for advice in said["advice"]:
            assert advice["do"] in page
            assert advice["do_not"] in page


@pytest.mark.parametrize("path", ["/east/drive", "/api/drives", "/static/sheet.css"])
def test_answers_forbid_other_hosts(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    assert headers["content-security-policy"].startswith("default-src 'self'")
    assert headers["x-content-type-options"] == "nosniff"


def test_first_page_is_the_first_drive(client: TestClient) -> None:
    assert client.get("/", follow_redirects=False).headers["location"] == "/east/drive"
    assert client.get("/favicon.ico").headers["content-type"].startswith("image/svg")


def test_changed_project_is_read_again_and_a_fault_is_told(planned_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "first"
    shutil.copytree(planned_folder, folder)
    client = TestClient(workbench(folder))
    drive = client.get("/api/drives").json()["drives"][0]["name"]
    before = client.get("/api/drives").json()["revision"]
    text = (folder / "project.toml").read_text(encoding="utf-8")
    (folder / "project.toml").write_text(text + "\nnonsense = 1\n", encoding="utf-8")
    answer = client.get(f"/{drive}/drive")
    assert answer.status_code == 404
    assert "nonsense" in answer.text
    (folder / "project.toml").write_text(text, encoding="utf-8")
    assert client.get("/api/drives").json()["revision"] == before
