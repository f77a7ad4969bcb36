"""The only door for the command line, the pages and callers in Python: one function per use case.

A use case is imported when it is first asked for: one calculation need not load the log engine. `DOOR` says where each one lives; a test holds it against
the modules. No module may be called like one of the names: once imported, it would stand in the name's place.
"""

import importlib
from typing import Any, Final

DOOR: Final = {
    "acts": ("OpenAct", "open_acts"),
    "evidence": ("evidence_cases", "verify"),
    "journal": (
        "JournalLine",
        "acknowledge",
        "close_act",
        "holds_of",
        "journal_entries",
        "journal_lines",
        "journal_table",
        "release_hold",
        "remark",
        "signatures",
        "withdraw",
    ),
    "judging": ("Verdict", "verdict"),
    "planning": ("freeze_plan", "plan"),
    "projects": ("ProjectCheck", "check_project", "new_project"),
    "reconciling": ("explain", "reconcile"),
    "recording": ("Record", "import_logs", "kept_record", "record"),
    "registry": ("MethodLine", "calculate", "calculation_as_dict", "methods"),
    "sheets": ("sheet_of",),
    "summary": ("Summary", "summary_of"),
    "tables": ("as_csv", "criteria_table", "heading", "plan_table", "shown_rows", "write_workbook"),
    "views": ("drive_view", "journal_view", "push_view", "subject_of"),
    "workspace": ("Workspace", "open_workspace"),
}
_MODULE_OF: Final = {name: module for module, names in DOOR.items() for name in names}

__all__ = sorted(_MODULE_OF)


def __getattr__(name: str) -> Any:
    """Return a use case by name, imported now."""
    if name in _MODULE_OF:
        return getattr(importlib.import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    raise AttributeError(f"module {__name__} has no use case {name}")


def __dir__() -> list[str]:
    """Return the names of the use cases."""
    return __all__
