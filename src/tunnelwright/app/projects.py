"""New project folders, and the check of one: every Fault at once, or what to be careful about."""

from dataclasses import dataclass
from pathlib import Path

from tunnelwright.app.workspace import Workspace, open_workspace
from tunnelwright.drive.axis import ring_count
from tunnelwright.drive.project.checks import cautions
from tunnelwright.exchange.project_folder import write_new_project
from tunnelwright.vocabulary.remark import Caution


@dataclass(frozen=True, slots=True, kw_only=True)
class ProjectCheck:
    """What a valid project folder holds, and its cautions."""

    name: str
    title: str
    revision: str
    drives: tuple[dict[str, object], ...]
    unit_count: int
    borehole_count: int
    asset_count: int
    cautions: tuple[Caution, ...]


def new_project(folder: Path | str) -> tuple[str, ...]:
    """Write a commented, minimal, valid project and return the names of its files.

    Raises
    ------
    InputRefused
        when the folder holds anything already.
    """
    return write_new_project(folder)


def check_project(folder: Path | str) -> ProjectCheck:
    """Read a project folder and say what is in it.

    Raises
    ------
    InputRefused
        with every Fault of the folder.
    """
    workspace = open_workspace(folder)
    project = workspace.project
    return ProjectCheck(
        name=project.name,
        title=project.title,
        revision=project.revision,
        drives=tuple(_drive_line(workspace, drive.name) for drive in project.drives),
        unit_count=len(project.ground.units),
        borehole_count=len(project.ground.boreholes),
        asset_count=len(project.assets),
        cautions=tuple(cautions(project)),
    )


def _drive_line(workspace: Workspace, name: str) -> dict[str, object]:
    case = workspace.case(name)
    return {
        "drive": name,
        "machine": f"{case.machine.name} ({'earth pressure' if case.machine.kind == 'epb' else 'slurry'})",
        "ring_count": ring_count(case),
        "start_chainage_m": case.drive.start_chainage_m,
        "length_m": round(ring_count(case) * case.ring_type.ring_length_m, 1),
    }
