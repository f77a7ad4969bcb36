"""Import and record as commands that are killed at a random moment, and what is left of the store then."""

import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as parquet

from benchmarks.measuring import ROOT
from tunnelwright.logs import LogStore

DRIVE = "east"
KEPT = ".tunnelwright"


class Broken(Exception):
    """Something that must not happen did."""


@dataclass(frozen=True, slots=True)
class Reference:
    """What an undisturbed import and record leave behind, and how long both took."""

    project: Path
    store: pa.Table
    record: pa.Table
    seconds: dict[str, float]


def command(word: str, project: Path, scratch: Path) -> subprocess.Popen[bytes]:
    """Start one command with its own folder for intermediate files."""
    scratch.mkdir(exist_ok=True)
    environment = {**os.environ, "TMPDIR": str(scratch)}
    words = [sys.executable, "-m", "tunnelwright.cli", word, str(project), "--drive", DRIVE]
    return subprocess.Popen(words, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)


def finished(word: str, project: Path, scratch: Path) -> float:
    """Run one command to its end and return its wall time.

    Raises
    ------
    Broken
        when it does not end well.
    """
    start = time.perf_counter()
    process = command(word, project, scratch)
    _, complaint = process.communicate()
    if process.returncode != 0:
        raise Broken(f"{word} ended with {process.returncode}: {complaint.decode(errors='replace')[-400:]}")
    return time.perf_counter() - start


def reference_of(project: Path, scratch: Path) -> Reference:
    """Return what an undisturbed run of both commands gives."""
    seconds = {word: finished(word, project, scratch) for word in ("import-log", "record")}
    return Reference(project=project, store=samples(project), record=parquet.read_table(record_file(project)), seconds=seconds)


def store_of(project: Path) -> LogStore:
    return LogStore(project / KEPT / "logs" / DRIVE)


def record_file(project: Path) -> Path:
    return project / KEPT / "records" / f"{DRIVE}.parquet"


def samples(project: Path) -> pa.Table:
    """Return all samples of a project's store in order of time.

    Raises
    ------
    pyarrow.ArrowInvalid
        when a file of the store is not whole.
    """
    store = store_of(project)
    tables = [parquet.read_table(store.samples_file(day)) for day in store.days()]
    return pa.concat_tables(tables, promote_options="default") if tables else pa.table({})


def killed_once(word: str, reference: Reference, folder: Path, dice: random.Random) -> str:
    """Kill one command at a random moment and say what was left.

    The store must be readable, hold nothing that the undisturbed one does not hold, and be the undisturbed one after a repeat.

    Raises
    ------
    Broken
        when it is not so.
    """
    project, scratch = folder / "project", folder / "scratch"
    _fresh_copy(reference.project, project, with_store=word == "record" or dice.random() < 0.5, dice=dice, keep_all=word == "record")
    before = _traces(project)
    process = command(word, project, scratch)
    if dice.random() < 0.5:
        time.sleep(dice.uniform(0.2, 0.95) * reference.seconds[word])
    else:
        # The moments that matter are those in which files are written.
        while process.poll() is None and _traces(project) == before:
            time.sleep(0.002)
        time.sleep(dice.expovariate(1 / 0.03))
    was_running = process.poll() is None
    if was_running:
        process.send_signal(signal.SIGKILL)
    process.communicate()
    _check_whole(project, reference)
    finished(word, project, scratch)
    _check_equal(project, reference, word)
    left = [path.name for path in store_of(project).folder.iterdir() if path.name.startswith(".staging")]
    shutil.rmtree(folder)
    state = "killed while running" if was_running else "ended before the kill"
    return f"{word}: {state}" + (f", {len(left)} folders left behind" if left else "")


def _traces(project: Path) -> set[tuple[str, int]]:
    """Return names and times of what the program keeps, to see when it begins to write."""
    found = set()
    for folder, _, names in os.walk(project / KEPT):
        for name in names:
            path = Path(folder) / name
            with contextlib.suppress(FileNotFoundError):
                found.add((str(path), path.stat().st_mtime_ns))
    return found


def _fresh_copy(source: Path, target: Path, *, with_store: bool, dice: random.Random, keep_all: bool) -> None:
    """Copy a project; of its store keep nothing, all, or the days that a coin chooses."""
    shutil.copytree(source, target)
    if not with_store:
        shutil.rmtree(target / KEPT)
        return
    record_file(target).unlink(missing_ok=True)
    if not keep_all:
        for day in store_of(target).days():
            if dice.random() < 0.5:
                shutil.rmtree(store_of(target).day_folder(day))


def _check_whole(project: Path, reference: Reference) -> None:
    try:
        kept = samples(project)
        record = parquet.read_table(record_file(project)) if record_file(project).exists() else None
        store_of(project).channels()
        store_of(project).constants()
    except (OSError, ValueError) as reason:
        raise Broken(f"the store cannot be read after a kill: {reason}") from reason
    if kept.num_rows and not set(kept["time_ms"].to_pylist()) <= set(reference.store["time_ms"].to_pylist()):
        raise Broken("the store holds instants after a kill that the undisturbed one does not hold")
    if record is not None and record.num_rows != reference.record.num_rows:
        raise Broken("the record is not whole after a kill")


def _check_equal(project: Path, reference: Reference, word: str) -> None:
    if not samples(project).equals(reference.store):
        raise Broken(f"the store after a killed and a repeated {word} is not that of an undisturbed import")
    if word == "record":
        made = parquet.read_table(record_file(project))
        different = [name for name in reference.record.column_names if name not in made.column_names or not _same(made[name], reference.record[name])]
        if different or made.num_rows != reference.record.num_rows:
            raise Broken(f"after a killed and a repeated run these columns of the record differ: {', '.join(different)}")


def _same(one: pa.ChunkedArray, other: pa.ChunkedArray) -> bool:
    """Return whether two columns hold the same; sums of parallel threads may differ in their last digits."""
    if not pa.types.is_floating(other.type):
        return one.equals(other)
    return len(one) == len(other) and bool(np.allclose(one.to_numpy(), other.to_numpy(), rtol=1e-9, atol=1e-9, equal_nan=True))
