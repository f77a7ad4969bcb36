"""Clock, peak memory and the rows of the table."""

import json
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, TypeVar

Result = TypeVar("Result")
ROOT = Path(__file__).parents[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One comparison: what the program took, what the named baseline took, and how many times one goes into the other.

    Parameters
    ----------
    task : what was done, with its size.
    unit : of both values, ``s`` or ``MB``.
    baseline : what it is compared with.
    note : how the comparison was made.
    """

    task: str
    unit: str
    ours: float
    baseline: str
    theirs: float
    note: str = ""

    @property
    def ratio(self) -> float:
        """Return how many times the program goes into the baseline; above 1 the program needs less."""
        return self.theirs / self.ours if self.ours else float("inf")

    def as_dict(self) -> dict[str, Any]:
        """Return the row with its ratio."""
        return {**asdict(self), "ratio": self.ratio}


def timed(work: Callable[[], Result], repeats: int = 1) -> tuple[float, Result]:
    """Return the median wall time of some runs and the last result."""
    seconds = []
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        seconds.append(time.perf_counter() - start)
    return statistics.median(seconds), result


def run_module(module: str, *words: str) -> dict[str, Any]:
    """Run one of the measured scripts in a process of its own and return the JSON of its last line.

    Raises
    ------
    RuntimeError
        with the end of its standard error when it fails.
    """
    done = subprocess.run([sys.executable, "-m", module, *words], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"{module} ended with {done.returncode}: {done.stderr[-600:]}")
    return json.loads(done.stdout.splitlines()[-1])


def report(seconds: float, **more: Any) -> None:
    """Print what a measured script found, as one line of JSON."""
    print(json.dumps({"seconds": seconds, "peak_mb": peak_mb(), **more}))


def peak_mb() -> float:
    """Return the greatest resident memory of this process.

    Notes
    -----
    The kernel's own high-water mark is read where there is one: the figure of ``getrusage`` is handed down from the process that started this one.
    """
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text(encoding="utf-8").splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    import resource

    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used / 1024**2 if sys.platform == "darwin" else used / 1024
