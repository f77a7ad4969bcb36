"""Simulate a drive: ``python -m examples.brennholt.simulator PLAN_CSV OUTPUT --share 0.6 --step 5 --seed 7``."""

import argparse
import datetime
import sys
from pathlib import Path
from zoneinfo import ZoneInfo

from examples.brennholt.ground_truth import TIME_ZONE
from examples.brennholt.simulator import ALL, DEFAULT_START, NONE, PlanRefused, simulate

DESCRIPTION = "Drive part of an exported plan table through the true ground of Brennholt."
NAMED_SETS = {"all": ALL, "none": NONE}


def main(arguments: list[str] | None = None) -> int:
    """Run the simulator and return the exit code: 0 done, 2 bad input."""
    given = _parser().parse_args(arguments)
    kinds = NAMED_SETS.get(given.faults) if given.faults in NAMED_SETS else frozenset(given.faults.split(","))
    try:
        start = datetime.datetime.fromisoformat(given.start).replace(tzinfo=ZoneInfo(TIME_ZONE)) if given.start else DEFAULT_START
        written = simulate(
            given.plan_csv, given.output, given.seed, given.share, given.step, kinds or NONE, start, given.format, given.decimal,
            None if given.quiet else _show_progress,
        )  # fmt: skip
    except (PlanRefused, ValueError) as reason:
        print(reason, file=sys.stderr)
        return 2
    print(f"{written.ring_count} rings, {written.row_count} rows in {len(written.log_files)} files, {written.fault_count} faults: {written.folder}")
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m examples.brennholt.simulator", description="Drive part of an exported plan table through the true ground of Brennholt."
    )
    parser.add_argument("plan_csv", type=Path, help="exported plan table, CSV")
    parser.add_argument("output", type=Path, help="folder for logs, channel map and truth")
    parser.add_argument("--share", type=float, default=0.6, help="share of the planned rings to drive, 0 to 1")
    parser.add_argument("--step", type=int, default=5, help="seconds between rows")
    parser.add_argument("--seed", type=int, default=7, help="the same seed gives the same log")
    parser.add_argument("--start", default="", help=f"local time of the first row, for example {DEFAULT_START:%Y-%m-%dT%H:%M}")
    parser.add_argument("--format", choices=("csv", "parquet"), default="csv", help="of the log files")
    parser.add_argument("--decimal", choices=(",", "."), default=",", help="decimal mark of CSV files")
    parser.add_argument("--faults", default="all", help="all, none, or kinds joined by commas, for example log_gap,spikes")
    parser.add_argument("--quiet", action="store_true", help="no progress on standard error")
    return parser


def _show_progress(done: int, count: int) -> None:
    if done % 25 == 0 or done == count:
        print(f"\rring {done} of {count}", end="\n" if done == count else "", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
