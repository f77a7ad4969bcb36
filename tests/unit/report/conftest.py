"""The invented drive's records for all tests of drawings."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def brennholt() -> ModuleType:
    spec = importlib.util.spec_from_file_location("brennholt", Path(__file__).with_name("brennholt.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
