"""The recorded drive as the views see it."""

from pathlib import Path

import pytest

from tunnelwright import app
from tunnelwright.app.workspace import Workspace
from tunnelwright.drive.reconcile import Reconciliation


@pytest.fixture(scope="session")
def workspace(recorded_folder: Path) -> Workspace:
    return app.open_workspace(recorded_folder)


@pytest.fixture(scope="session")
def planned_workspace(planned_folder: Path) -> Workspace:
    return app.open_workspace(planned_folder)


@pytest.fixture(scope="session")
def reconciliation(workspace: Workspace) -> Reconciliation:
    return app.reconcile(workspace, "east")
