"""The door of the application: every name that it offers is there, and nothing is loaded before it is asked for."""

import importlib
import subprocess
import sys
from pathlib import Path

import pytest

from tunnelwright import app


@pytest.mark.parametrize(("module", "names"), app.DOOR.items(), ids=list(app.DOOR))
def test_every_name_is_in_its_module(module: str, names: tuple[str, ...]) -> None:
    found = importlib.import_module(f"tunnelwright.app.{module}")
    for name in names:
        assert getattr(app, name) is getattr(found, name)
        assert getattr(found, name).__doc__


def test_door_is_sorted_and_has_no_name_twice() -> None:
    modules = list(app.DOOR)
    assert modules == sorted(modules)
    for names in app.DOOR.values():
        assert sorted(names, key=lambda name: (name.islower(), name)) == list(names)
    every = [name for names in app.DOOR.values() for name in names]
    assert len(every) == len(set(every))
    assert app.__all__ == sorted(every)
    # An imported module is an attribute of its package and would hide a use case of the same name.
    assert not set(every) & {path.stem for path in Path(app.__file__).parent.iterdir()}


def test_unknown_use_case_is_no_attribute() -> None:
    with pytest.raises(AttributeError, match="divine"):
        app.divine  # noqa: B018


def test_one_calculation_does_not_load_the_log_engine() -> None:
    code = "import sys; from tunnelwright import app; app.calculate; print('ibis' in sys.modules, 'duckdb' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split() == ["False", "False"]
