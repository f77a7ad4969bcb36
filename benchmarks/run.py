"""How the program compares with plain scripts of the same task, as ratios of one run on one machine.

    python -m benchmarks.run                      everything, one to two minutes on two cores
    python -m benchmarks.run --only plan doors    parts of it
    python -m benchmarks.run --rows 20000000      the log of a whole long drive (about 2 GB on disk)
    python -m benchmarks.run --json

Absolute times depend on the machine and on what else it does; the ratios hardly do. Above 1 the program needs less than the baseline.
"""

import argparse
import json
import math
import sys
import tempfile
import time
from pathlib import Path

from benchmarks import doors, planning, rings
from benchmarks.measuring import Row

# The pages come before the log: making its rings plans the same project, and a kept plan would hide what a first page costs.
PARTS = ("plan", "doors", "rings")


def main() -> None:
    """Run the chosen parts and print their table."""
    wanted = _arguments()
    started = time.monotonic()
    rows: list[Row] = []
    with tempfile.TemporaryDirectory(prefix="tunnelwright-bench-") as folder:
        for part in sorted(wanted.only, key=PARTS.index):
            print(f"measuring {part} ...", file=sys.stderr, flush=True)
            rows += _measured(part, Path(folder) / part, wanted)
    if wanted.json:
        print(json.dumps({"rows": [_plain(row) for row in rows], "seconds": time.monotonic() - started}, indent=1))
        return
    _print_table(rows)
    print(f"\nRatio: baseline over program, above 1 the program needs less. Measured in {time.monotonic() - started:.0f} s.")


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Compare the program with plain scripts of the same task.")
    parser.add_argument("--only", nargs="+", choices=PARTS, default=list(PARTS), help="parts to run")
    parser.add_argument("--rows", type=int, default=rings.ROW_COUNT, help="rows of the log (default %(default)s)")
    parser.add_argument("--pushes", type=int, default=planning.PUSH_COUNT, help="pushes of the plan (default %(default)s)")
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
    return parser.parse_args()


def _measured(part: str, folder: Path, wanted: argparse.Namespace) -> list[Row]:
    folder.mkdir(parents=True)
    if part == "plan":
        return planning.measure(folder / "project", wanted.pushes)
    if part == "rings":
        return rings.measure(folder, wanted.rows)
    return doors.measure(folder)


def _plain(row: Row) -> dict[str, object]:
    return {name: None if isinstance(value, float) and not math.isfinite(value) else value for name, value in row.as_dict().items()}


def _print_table(rows: list[Row]) -> None:
    heading = ["task", "program", "baseline", "took", "ratio"]
    lines = [[row.task, _amount(row.ours, row.unit), row.baseline, _amount(row.theirs, row.unit), _ratio(row.ratio)] for row in rows]
    widths = [max(len(line[at]) for line in [heading, *lines]) for at in range(len(heading))]
    for line, note in zip([heading, *lines], ["", *(row.note for row in rows)], strict=True):
        cells = [text.rjust(width) if at in (1, 3, 4) else text.ljust(width) for at, (text, width) in enumerate(zip(line, widths, strict=True))]
        print("  ".join(cells).rstrip())
        if note:
            print(f"    {note}")


def _amount(value: float, unit: str) -> str:
    if not math.isfinite(value):
        return "-"
    return f"{value:.0f} {unit}" if value >= 100 else f"{value:.3g} {unit}"


def _ratio(value: float) -> str:
    if not math.isfinite(value):
        return "-"
    return f"{value:.0f}" if value >= 100 else f"{value:.2g}"


if __name__ == "__main__":
    main()
