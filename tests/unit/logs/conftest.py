"""The small drive as a module for all tests of logs: tests do not stand in a package, so it is loaded by its path."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest


def load_small_drive() -> ModuleType:
    if "small_drive" not in sys.modules:
        spec = importlib.util.spec_from_file_location("small_drive", Path(__file__).parent / "small_drive.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules["small_drive"] = module
        spec.loader.exec_module(module)
    return sys.modules["small_drive"]


@pytest.fixture(scope="session")
def sd() -> ModuleType:
    return load_small_drive()
