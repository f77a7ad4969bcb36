"""Every seeded fault of a project folder is named with its place, and nothing is written."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from tunnelwright.exchange.project_folder import read_project, write_new_project
from tunnelwright.vocabulary.remark import InputRefused

CASES = tomllib.loads(Path(__file__).with_name("cases.toml").read_text(encoding="utf-8"))["case"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_new_project(tmp_path / "project")
    return tmp_path / "project"


def seed(folder: Path, case: dict[str, Any]) -> None:
    if "delete" in case:
        (folder / case["delete"]).unlink()
    for name, old, new in case.get("edit", []):
        text = (folder / name).read_text(encoding="utf-8")
        assert text.count(old) == 1, f"`{old}` must stand once in {name}"
        (folder / name).write_text(text.replace(old, new), encoding="utf-8")
    for name, content in case.get("write", []):
        (folder / name).write_text(content, encoding="utf-8")
    if "bytes" in case:
        name, content = case["bytes"]
        (folder / name).write_bytes(bytes.fromhex(content))


def content(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_fault_is_named_with_its_place(case: dict[str, Any], folder: Path) -> None:
    seed(folder, case)
    before = content(folder)
    with pytest.raises(InputRefused) as refused:
        read_project(folder)
    found = refused.value.faults
    assert sorted((fault.where, fault.field) for fault in found) == sorted((where, field) for where, field, *_ in case["faults"]), str(refused.value)
    for where, field, *words in case["faults"]:
        sentences = [fault.sentence() for fault in found if (fault.where, fault.field) == (where, field)]
        assert any(all(word in sentence for word in words) for sentence in sentences), (words, sentences)
    assert content(folder) == before


def test_there_are_cases_of_every_file() -> None:
    files = {where.partition(":")[0] for case in CASES for where, *_ in case["faults"]}
    assert {
        "project.toml",
        "machines.toml",
        "ring_types.toml",
        "calendar.toml",
        "axis/east.toml",
        "ground/units.toml",
        "ground/boreholes.csv",
        "ground/strata.csv",
    } <= files


def test_folder_that_is_none(tmp_path: Path) -> None:
    with pytest.raises(InputRefused) as refused:
        read_project(tmp_path / "nowhere")
    assert [fault.field for fault in refused.value.faults] == ["project"]
    assert "no folder" in str(refused.value)


def test_new_project_never_overwrites(folder: Path) -> None:
    before = content(folder)
    with pytest.raises(InputRefused, match="not empty"):
        write_new_project(folder)
    assert content(folder) == before
