"""The command line: parse, call one use case of the application, render what it returns.

The application with numpy and everything else is imported when a command is called, never before: `--help` has to answer at once. `use_cases` is the
one place where that late import happens.
"""

import importlib
from typing import Any


def use_cases() -> Any:
    """Return the application's use cases, imported now."""
    return importlib.import_module("tunnelwright.app")


def screen() -> Any:
    """Return what prints results for people and programs, imported now."""
    return importlib.import_module("tunnelwright.cli.rendering")


def main() -> None:
    """Run the command line."""
    from tunnelwright.cli.commands import run

    run()
