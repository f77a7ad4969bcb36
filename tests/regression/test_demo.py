"""The demonstration runs as a person runs it, and its counts against the simulator's truth stay as they are."""

import os
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.slow
def test_the_demonstration_finds_what_was_planted_and_accuses_nobody(tmp_path: Path) -> None:
    settings = {**os.environ, "SERVE": "0", "DEMO_FOLDER": str(tmp_path / "demo"), "OPENBLAS_NUM_THREADS": "1"}
    ran = subprocess.run([sys.executable, "-m", "examples.brennholt.demo"], capture_output=True, text=True, timeout=540, env=settings, check=False)
    assert ran.returncode == 0, ran.stderr[-2000:]
    assert "35 of 35 planted faults found at their place" in ran.stdout
    assert "healthy rings called for action: none" in ran.stdout
    assert "868 recorded" in ran.stdout
    assert "The log did not see rings 288 to 290" in ran.stdout
    assert "licensed engineer" in ran.stdout
