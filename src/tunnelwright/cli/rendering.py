"""How the command line shows results: tables for people, JSON for programs, Faults that say what to do."""

import json
import math
import sys
from collections.abc import Iterable, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table

CAUTION = "Screening aid: a person decides at the face. To be checked by a licensed engineer; local codes govern."
# A table that is piped or kept in a file is not folded to the eighty columns of a terminal that is not there.
PIPED_WIDTH = 180
_MARK = {"in order": "", "watch": "△ ", "act": "■ ", "not checked": "○ "}


def console() -> Console:
    """Return the console for what a person reads."""
    return Console(highlight=False, soft_wrap=False) if sys.stdout.isatty() else Console(highlight=False, soft_wrap=False, width=PIPED_WIDTH)


def say(*lines: str) -> None:
    """Print plain lines."""
    for line in lines:
        print(line)


def as_json(value: Any) -> None:
    """Print one JSON value; NaN and infinite become null."""
    print(json.dumps(_clean(value), ensure_ascii=False, indent=1, default=str))


def _clean(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _clean(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(one) for one in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def table(headings: Sequence[str], rows: Iterable[Sequence[object]], numeric: Sequence[int] = (), title: str = "") -> None:
    """Print a table; columns with numbers are set flush right."""
    made = Table(title=title or None, title_justify="left", box=None, pad_edge=False, header_style="bold", collapse_padding=False, padding=(0, 2, 0, 0))
    for place, text in enumerate(headings):
        made.add_column(text, justify="right" if place in numeric else "left", overflow="fold")
    for row in rows:
        made.add_row(*(cell(one) for one in row))
    console().print(made)


def cell(value: object) -> str:
    """Return one cell: missing values stay empty, numbers keep four significant digits."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    if isinstance(value, float):
        return f"{value:.1f}" if abs(value) >= 100 else f"{value:.4g}"
    return str(value)


def state_words(state: str) -> str:
    """Return a state with its mark."""
    return f"{_MARK.get(state, '')}{state}"


def faults(refused: Any, json_wanted: bool) -> None:
    """Print every Fault of a refused input: where, field, given, required, how to mend it."""
    if json_wanted:
        as_json({"faults": [fault.as_dict() for fault in refused.faults]})
        return
    count = len(refused.faults)
    print(f"{count} fault{'s' if count != 1 else ''} in {refused.subject}; nothing was written.\n", file=sys.stderr)
    rows = [(fault.where, fault.field, f"given {fault.given}", fault.required + (f"; {fault.hint}" if fault.hint else "")) for fault in refused.faults]
    widths = [max(len(row[place]) for row in rows) for place in range(3)]
    fits = not sys.stderr.isatty() or sum(widths) + 6 + max(len(row[3]) for row in rows) <= Console(stderr=True).width
    for row in rows:
        head = "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=False))
        print(f"{head}  {row[3]}" if fits else f"{head.rstrip()}\n    {row[3]}", file=sys.stderr)


def cautions(found: Iterable[Any]) -> None:
    """Print cautions, one a line."""
    listed = list(found)
    if listed:
        print(f"\n{len(listed)} caution{'s' if len(listed) != 1 else ''}:")
        for caution in listed:
            print(f"  {caution.sentence}" if caution.subject in caution.sentence else f"  {caution.subject}: {caution.sentence}")
