"""Two project folders that many tests look at: one that is only planned, one with a recorded drive; and a real browser."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from examples.brennholt.demo import place_logs
from examples.brennholt.project import write_project
from examples.brennholt.simulator import simulate

from tunnelwright import app
from tunnelwright.exchange.project_folder import write_new_project

DRIVEN_SHARE = 0.03
# Two things are planted in the record, since so short a drive need not hold them: too much muck in one ring, and a ring that no log file holds.
EXCESS_RING, EXCESS_FACTOR = 30, 1.25
MISSING_RING = 25
CHROMIUM = shutil.which("chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"]


@pytest.fixture(scope="session")
def planned_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a short new project without any log."""
    folder = tmp_path_factory.mktemp("planned") / "first"
    write_new_project(folder)
    return folder


@pytest.fixture(scope="session")
def recorded_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the Brennholt project with its first rings driven, imported and recorded."""
    place = tmp_path_factory.mktemp("recorded")
    folder = place / "crosstown"
    write_project(folder)
    workspace = app.open_workspace(folder)
    plan = app.plan(workspace, "east")
    (place / "plan.csv").write_text(app.as_csv(app.plan_table(plan)), encoding="utf-8")
    simulate(place / "plan.csv", place / "simulated", seed=7, share=DRIVEN_SHARE, step_s=5)
    place_logs(place / "simulated", folder)
    app.import_logs(workspace, "east")
    app.record(workspace, plan)
    plant(workspace.record_file("east"))
    return folder


def plant(record: Path) -> None:
    """Put too much muck into one ring of a record and take another ring out of it."""
    table = pq.read_table(record)
    ring = np.asarray(table["ring_number"])
    for name in [one for one in table.column_names if one.startswith("muck_mass") and one.endswith("_t")]:
        place = table.column_names.index(name)
        mass = np.asarray(table[name], dtype=np.float64)
        table = table.set_column(place, table.schema.field(name), pa.array(np.where(ring == EXCESS_RING, EXCESS_FACTOR * mass, mass)))
    pq.write_table(table.filter(pa.array(ring != MISSING_RING)), record)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Return a browser; one for each module, because it keeps an event loop running that other tests must not meet."""
    if CHROMIUM is None:
        pytest.skip("needs the program chromium on the path")
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield found
        found.close()
