"""The demonstration: the Brennholt East drive from ground to verdict.

Writes the project, checks it, plans, lets the simulator drive the first part and write the logger's files, imports them, makes rings, reconciles, says
honestly what needs a person, compares that with the simulator's truth, and serves the workbench. ``SERVE=0``, or no terminal, ends instead.
"""

import os
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path

from examples.brennholt.demo_truth import compare
from examples.brennholt.project import write_project
from examples.brennholt.simulator import simulate

from tunnelwright import app
from tunnelwright.cli.rendering import CAUTION, state_words, table
from tunnelwright.report.tables import as_csv, plan_table

FOLDER = Path(os.environ.get("DEMO_FOLDER", "demo"))
SHARE = float(os.environ.get("DEMO_SHARE", "0.6"))
STEP_S = int(os.environ.get("DEMO_STEP", "5"))
SEED = 7


def main() -> None:
    """Run the demonstration."""
    started = time.monotonic()
    project = FOLDER / "crosstown"
    if project.exists():
        shutil.rmtree(project)
    FOLDER.mkdir(parents=True, exist_ok=True)
    step("writing the Brennholt project")
    write_project(project)
    found = app.check_project(project)
    held = f"{found.unit_count} ground units, {found.borehole_count} boreholes, {found.asset_count} assets"
    say(f"{found.title}: no faults, {held}, {len(found.cautions)} cautions")
    workspace = app.open_workspace(project)
    step("planning the East drive")
    plan = app.plan(workspace, "east")
    closed = int((plan.face.window_status == "no_window").sum())
    say(f"{plan.push_count} pushes, {closed} without a window; revision {plan.revision}")
    exported = FOLDER / "east-plan.csv"
    exported.write_text(as_csv(plan_table(plan)), encoding="utf-8")
    step(f"driving the first {SHARE:.0%} with the simulated shield")
    simulate(exported, FOLDER / "simulated", seed=SEED, share=SHARE, step_s=STEP_S, progress=bar("rings driven"))
    place_logs(FOLDER / "simulated", project)
    step("importing the logger's files")
    report = app.import_logs(workspace, "east", progress=progress)
    say(f"{sum(report.row_counts.values())} rows in {len(report.days)} days, {len(report.findings)} findings")
    step("making rings of the log")
    record = app.record(workspace, plan, progress=progress)
    say(f"{record.table.num_rows} rings, {len(record.findings)} findings")
    step("setting the record against the plan")
    reconciliation = app.reconcile(workspace, "east")
    tell(app.summary_of(reconciliation))
    for line in compare(FOLDER / "simulated", reconciliation, record.findings, report.findings, STEP_S).lines():
        print(line)
    print(f"\n{CAUTION}\nDone in {time.monotonic() - started:.0f} s.")
    if os.environ.get("SERVE", "1") != "0" and sys.stdout.isatty():
        os.execv(sys.executable, [sys.executable, "-m", "tunnelwright.cli", "serve", str(project)])
    print(f"Look at it with: .venv/bin/tunnelwright serve {project}")


def place_logs(simulated: Path, project: Path) -> None:
    """Put the logger's files and its channel map where a project keeps them; the truth stays outside."""
    target = project / "logs" / "east"
    target.mkdir(parents=True, exist_ok=True)
    for path in sorted(simulated.glob("log*/*")) or sorted(simulated.glob("*.csv")):
        if not path.name.startswith("truth"):
            shutil.copy(path, target / path.name)
    (project / "channels").mkdir(exist_ok=True)
    shutil.copy(simulated / "channels.toml", project / "channels" / "east.toml")


def tell(summary: object) -> None:
    """Print the short honest summary."""
    for line in summary.lines():
        print(line)
    print("   " + ", ".join(f"{reason} {count}" for reason, count in summary.reasons().items()))
    runs = summary.runs()
    shown = [one for one in runs if one.first.state != "watch"]
    table(
        ["push", "face at m", "state", "why"],
        [[one.rings, one.first.face_chainage_m, state_words(one.first.state), one.first.why] for one in shown],
        numeric=(1,),
    )
    print(f"and {len(runs) - len(shown)} watches, each with its reason: tunnelwright reconcile {FOLDER / 'crosstown'}")


def step(words: str) -> None:
    """Print the heading of a step."""
    print(f"\n== {words}", flush=True)


def say(words: str) -> None:
    """Print one line of a step."""
    print(f"   {words}", flush=True)


def progress(text: str, share: float) -> None:
    """Draw a progress bar on standard error; without a terminal nothing."""
    if sys.stderr.isatty():
        filled = int(30 * min(1.0, share))
        print(f"\r   {text[:32]:<32} [{'#' * filled}{'.' * (30 - filled)}] {share:4.0%}", end="\n" if share >= 1 else "", file=sys.stderr, flush=True)


def bar(text: str) -> Callable[[int, int], None]:
    """Return a progress callback of two numbers."""
    return lambda done, total: progress(text, done / total if total else 1.0)


if __name__ == "__main__":
    main()
