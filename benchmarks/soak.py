"""Hours of abuse in minutes: spoiled projects, spoiled logs, commands that are killed, logs of some hundred thousand rows.

    python -m benchmarks.soak                 twenty minutes
    python -m benchmarks.soak --minutes 2 --seed 5

Whatever comes in, there is an answer or a refusal with its reasons, never a traceback; whenever a command is killed, the store can be read and a repeat
gives what an undisturbed run gives. Ends with 1 when anything else was seen; the round's number and seed repeat it.
"""

import argparse
import random
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import psutil
from examples.brennholt.project import write_project
from examples.brennholt.simulator import ALL, simulate

from benchmarks.killing import Broken, Reference, killed_once, reference_of
from benchmarks.spoiling import spoiled
from tunnelwright import app
from tunnelwright.drive.plan import plan_drive
from tunnelwright.drive.sections import SurfaceMissing
from tunnelwright.report.tables import as_csv, plan_table
from tunnelwright.vocabulary.remark import InputRefused

DRIVE = "east"
SMALL_RINGS, BIG_RINGS = 4, 40
SMALL_STEP_S, BIG_STEP_S = 20, 1
NOW_MS = 1_900_000_000_000
SHOWN_FAILURES = 10


class Soak:
    """The material of all rounds, what was counted, and what failed."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder, self.seed = folder, seed
        self.counts: Counter[str] = Counter()
        self.failures: list[str] = []
        self.sound = folder / "sound"
        self.reference: Reference | None = None

    def prepare(self) -> None:
        """Write a sound project with a short log, and run both commands on it undisturbed."""
        simulated_project(self.sound, self.folder / "simulated", SMALL_RINGS, SMALL_STEP_S, self.seed)
        copy = self.folder / "undisturbed"
        shutil.copytree(self.sound, copy)
        self.reference = reference_of(copy, self.folder / "scratch")

    def round(self, number: int) -> None:
        """Do one round; its kind and its dice follow from its number."""
        dice = random.Random(f"{self.seed} {number}")
        kinds: tuple[tuple[Callable[[random.Random, Path], str], float], ...] = (
            (self.spoiled_project, 0.55),
            (self.spoiled_log, 0.28),
            (self.killed_command, 0.15),
            (self.big_log, 0.02),
        )
        work = dice.choices([kind for kind, _ in kinds], [weight for _, weight in kinds])[0]
        place = self.folder / f"round-{number}"
        place.mkdir()
        try:
            self.counts[work(dice, place)] += 1
        except Exception as reason:
            self.counts[f"FAILED {work.__name__}"] += 1
            where = traceback.extract_tb(reason.__traceback__)[-1]
            self.failures.append(f"round {number} ({work.__name__}): {type(reason).__name__}: {str(reason)[:200]} [{Path(where.filename).name}:{where.lineno}]")
        finally:
            shutil.rmtree(place, ignore_errors=True)

    def spoiled_project(self, dice: random.Random, place: Path) -> str:
        """Spoil one to three files of the project; what is not refused is planned."""
        shutil.copytree(self.sound, place / "project", ignore=shutil.ignore_patterns("logs"))
        files = [path for path in sorted((place / "project").rglob("*")) if path.is_file()]
        for path in dice.sample(files, dice.choice([1, 1, 2, 3])):
            path.write_bytes(spoiled(path.read_bytes(), dice)[0])
        try:
            workspace = app.open_workspace(place / "project")
            plan_drive(workspace.case(DRIVE))
        except (InputRefused, SurfaceMissing) as refusal:
            return _reasoned(refusal, "spoiled project: refused")
        return "spoiled project: planned"

    def spoiled_log(self, dice: random.Random, place: Path) -> str:
        """Spoil the log or its channel map; what is not refused is made into rings."""
        project = place / "project"
        shutil.copytree(self.sound, project)
        logs = sorted((project / "logs" / DRIVE).iterdir())
        for path in dice.sample(logs, dice.choice([1, len(logs)])):
            path.write_bytes(spoiled(path.read_bytes(), dice)[0])
        if dice.random() < 0.3:
            channels = project / "channels" / f"{DRIVE}.toml"
            channels.write_bytes(spoiled(channels.read_bytes(), dice)[0])
        workspace = app.open_workspace(project)
        try:
            report = app.import_logs(workspace, DRIVE, now_ms=NOW_MS)
        except InputRefused as refusal:
            if list(project.glob(".tunnelwright/**/*.parquet")):
                raise Broken("a refused import wrote something") from refusal
            return _reasoned(refusal, "spoiled log: refused")
        try:
            made = app.record(workspace, app.plan(workspace, DRIVE))
        except InputRefused as refusal:
            if report.day_rows:
                raise Broken("rows are there, and no rings can be made of them") from refusal
            return _reasoned(refusal, "spoiled log: no row left")
        return f"spoiled log: rings made, {'with' if report.findings or made.findings else 'without'} findings"

    def killed_command(self, dice: random.Random, place: Path) -> str:
        """Kill an import or a record."""
        assert self.reference is not None, "prepared before the first round"
        return killed_once(dice.choice(["import-log", "record"]), self.reference, place / "kill", dice)

    def big_log(self, dice: random.Random, place: Path) -> str:
        """Import a long log by the second and make its rings."""
        project = place / "project"
        simulated_project(project, place / "simulated", BIG_RINGS, BIG_STEP_S, dice.randrange(1000))
        workspace = app.open_workspace(project)
        report = app.import_logs(workspace, DRIVE, now_ms=NOW_MS)
        made = app.record(workspace, app.plan(workspace, DRIVE))
        rows, rings = sum(report.row_counts.values()), made.table.num_rows
        if not BIG_RINGS - 3 <= rings <= BIG_RINGS:
            raise Broken(f"{rings} rings of {BIG_RINGS} from {rows} rows")
        self.counts["rows in big logs"] += rows - 1
        return "big log: imported and recorded"


def _reasoned(refusal: Exception, words: str) -> str:
    """Return the words of an outcome after a look at whether the refusal says why."""
    faults = getattr(refusal, "faults", ())
    if not str(refusal) or any(not (fault.where and fault.field and fault.required) for fault in faults):
        raise Broken(f"a refusal does not say why: {refusal!r}") from refusal
    return words


def simulated_project(project: Path, simulated: Path, ring_count: int, step_s: int, seed: int) -> None:
    """Write the Brennholt project with the log of its first rings, faults and all."""
    write_project(project)
    plan = app.plan(app.open_workspace(project), DRIVE)
    simulated.mkdir()
    exported = simulated / "plan.csv"
    exported.write_text(as_csv(plan_table(plan)), encoding="utf-8")
    simulate(exported, simulated, seed=seed, share=ring_count / plan.push_count, step_s=step_s, faults=ALL)
    shutil.copytree(simulated / "logs", project / "logs" / DRIVE)
    (project / "channels").mkdir()
    shutil.copy(simulated / "channels.toml", project / "channels" / f"{DRIVE}.toml")


def main() -> int:
    """Run rounds until the time is over and print what was counted."""
    parser = argparse.ArgumentParser(description="Spoil, kill and flood until the time is over.")
    parser.add_argument("--minutes", type=float, default=20.0, help="how long (default %(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed does other damage (default %(default)s)")
    parser.add_argument("--round", type=int, help="only this round, to repeat a failure")
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="tunnelwright-soak-") as name:
        soak = Soak(Path(name), wanted.seed)
        soak.prepare()
        if wanted.round is not None:
            soak.round(wanted.round)
            return told(soak, 1, 0.0)
        return rounds_until(soak, time.monotonic() + 60 * wanted.minutes)


def rounds_until(soak: Soak, end: float) -> int:
    """Do rounds until the clock shows the end."""
    me, number = psutil.Process(), 0
    first_mb = 0.0
    while time.monotonic() < end:
        soak.round(number)
        number += 1
        if number == 30:
            first_mb = me.memory_info().rss / 1e6
        if sys.stderr.isatty():
            print(f"\r{number} rounds, {len(soak.failures)} failures", end="", file=sys.stderr, flush=True)
    grown = me.memory_info().rss / 1e6 - first_mb if first_mb else 0.0
    return told(soak, number, grown)


def told(soak: Soak, rounds: int, grown_mb: float) -> int:
    """Print the counts and return how to end."""
    print(f"{rounds} rounds with seed {soak.seed}")
    for words, count in sorted(soak.counts.items()):
        print(f"  {count:7d}  {words}")
    print(f"  {grown_mb:+7.0f}  MB since the thirtieth round")
    for failure in soak.failures[:SHOWN_FAILURES]:
        print(failure)
    print("nothing broke" if not soak.failures else f"{len(soak.failures)} failures; repeat one with --seed {soak.seed} --round NUMBER")
    return 1 if soak.failures else 0


if __name__ == "__main__":
    sys.exit(main())
