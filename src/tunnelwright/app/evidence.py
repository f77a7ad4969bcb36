"""The evidence register: where it is kept, how it is read, what it says on this machine."""

import tomllib
from collections.abc import Iterator
from dataclasses import fields
from functools import cache
from importlib import resources
from pathlib import Path

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.evidence import EXTERNAL_KINDS, Case, Outcome, judge

_CASE_FIELDS = {field.name for field in fields(Case)}


def register_folder() -> Path:
    """Return the folder of the register: inside the installed package, or the tests of a working copy."""
    packaged = Path(str(resources.files("tunnelwright.data"))) / "evidence"
    return packaged if packaged.is_dir() else Path(__file__).resolve().parents[3] / "tests" / "published"


def evidence_cases(topic: str = "") -> list[Case]:
    """Return the cases of one topic, or of all, in the order of their files."""
    return [case for path in _files(topic) for case in _cases(path)]


@cache
def insensitive_inputs() -> dict[str, dict[str, str]]:
    """Return, by method, the inputs that truly do not matter, each with the reason."""
    known: dict[str, dict[str, str]] = {}
    for path in _files(""):
        for method_id, names in tomllib.loads(path.read_text(encoding="utf-8")).get("insensitive", {}).items():
            known.setdefault(method_id, {}).update(names)
    return known


def verify(topic: str = "") -> Iterator[Outcome]:
    """Recompute the evidence on this machine, one outcome per case."""
    load_methods()
    for case in evidence_cases(topic):
        yield judge(case)


def evidence_of(method_id: str) -> list[Case]:
    """Return the cases of one method."""
    return [case for case in evidence_cases(method_id.split(".")[0]) if case.method == method_id]


def has_external_evidence(cases: list[Case]) -> bool:
    """Return whether one of the cases comes from outside the project and its values were read there, not recalled."""
    return any(case.kind in EXTERNAL_KINDS and case.how_known != "from memory" for case in cases)


def _files(topic: str) -> list[Path]:
    return sorted(register_folder().glob(f"{topic or '*'}/*.toml"))


@cache
def _cases(path: Path) -> list[Case]:
    entries = tomllib.loads(path.read_text(encoding="utf-8")).get("case", [])
    unknown = {name for entry in entries for name in entry} - _CASE_FIELDS
    if unknown:
        raise ValueError(f"{path.name}: unknown fields {sorted(unknown)}")
    return [Case(**entry) for entry in entries]
