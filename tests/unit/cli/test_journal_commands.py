"""Signing on the command line: a person's way from an open act to a closed one, and what is refused."""

import csv
import json
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.conftest import EXCESS_RING

from tunnelwright.cli import main

WHO, WHY = ("--who", "I. Okafor"), ("--why", "void above crown, filled twice")


@dataclass(frozen=True)
class Ended:
    """How a command ended and what it printed."""

    returncode: int
    stdout: str
    stderr: str


Run = Callable[..., Ended]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a way to run a command in this process, in which the plan of the project is made only once."""

    def run_here(*words: str) -> Ended:
        monkeypatch.setattr(sys, "argv", ["tunnelwright", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        return Ended(int(ended.value.code or 0), printed.out, printed.err)

    return run_here


@pytest.fixture(scope="module")
def project(recorded_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("signing") / "crosstown"
    shutil.copytree(recorded_folder, folder, ignore=shutil.ignore_patterns("logs", "journal.sqlite*"))
    return str(folder)


def test_act_is_acknowledged_closed_and_listed(run: Run, project: str, tmp_path: Path) -> None:
    found = json.loads(run("reconcile", project, "--drive", "east", "--json").stdout)
    assert EXCESS_RING in {one["ring_number"] for one in found["open_acts"] if one["unsigned"]}
    rings = [str(one["ring_number"]) for one in found["open_acts"]]
    signed = run("acknowledge", project, str(EXCESS_RING), *WHO, *WHY, "--action", "probe drilling ordered", "--drive", "east")
    assert signed.returncode == 0, signed.stderr
    assert signed.stdout.startswith("entry 1, ")
    assert "acknowledgement, muck " in signed.stdout
    for ring in rings:
        if ring != str(EXCESS_RING):
            assert run("acknowledge", project, ring, *WHO, *WHY, "--drive", "east").returncode == 0
    assert run("reconcile", project, "--drive", "east", "--check").returncode == 1
    for ring in rings:
        assert run("close", project, ring, *WHO, *WHY, "--drive", "east").returncode == 0
    assert run("reconcile", project, "--drive", "east", "--check").returncode == 0
    table = tmp_path / "journal.csv"
    listed = run("journal", project, "--csv", str(table))
    assert listed.returncode == 0, listed.stderr
    assert f"{2 * len(rings)} entries." in listed.stdout
    assert listed.stdout.index("closure") < listed.stdout.index("acknowledgement")
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["kind"] for row in rows] == ["acknowledgement"] * len(rings) + ["closure"] * len(rings)


def test_hold_is_listed_and_released(run: Run, project: str) -> None:
    first = json.loads(run("holds", project, "--drive", "east", "--json").stdout)[0]
    assert first["released"] is None
    done = run("release", project, first["name"], *WHO, "--post", "tunnel manager", "--why", "borehole sealed and tested", "--drive", "east", "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["data"]["hold"] == first["name"]
    assert "I. Okafor, tunnel manager" in run("holds", project, "--drive", "east").stdout


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (["acknowledge", "9999", "--drive", "east"], ["3 faults", "1 to 1453", "a person must be named", "three words"]),
        (["release", "no-window-2", *WHO, "--why", "all is well", "--drive", "east"], ["2 faults", "a post must be named", "must be the name of one hold"]),
        (["close", "1", *WHO, *WHY, "--drive", "east"], ["1 fault", "must be a push with an act"]),
        (["remark", "fine", *WHO, "--drive", "east"], ["1 fault", "three words"]),
        (["withdraw", "99", *WHO, *WHY], ["1 fault", "`tunnelwright journal` lists them"]),
        (["acknowledge", str(EXCESS_RING), *WHO, *WHY], ["drive"]),
    ],
    ids=lambda one: one[0] if isinstance(one, list) else "",
)
def test_what_cannot_be_signed_is_refused_with_every_reason(run: Run, project: str, words: list[str], wanted: list[str]) -> None:
    refused = run(words[0], project, *words[1:])
    assert refused.returncode == 2
    assert "Traceback" not in refused.stderr
    for text in wanted:
        assert text in refused.stderr
