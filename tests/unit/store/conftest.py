"""Entries of an invented drive, and a journal in a fresh folder."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tunnelwright.store import Journal, JournalEntry, NewEntry


def new_entry(**changed: Any) -> NewEntry:
    plain: dict[str, Any] = {"time_ms": 1_700_000_000_000, "drive": "east", "kind": "remark", "subject": "belt scale", "person": "I. Okafor"}
    return NewEntry(**(plain | changed))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "journal.sqlite"


@pytest.fixture
def journal(path: Path) -> Journal:
    return Journal.at(path)


@pytest.fixture
def numbered() -> Callable[..., list[JournalEntry]]:
    """Return a maker of entries numbered from 1, each given by its fields."""

    def make(*entries: dict[str, Any]) -> list[JournalEntry]:
        return [JournalEntry(id=number, **new_entry(**changed).as_dict()) for number, changed in enumerate(entries, start=1)]

    return make
