"""A project folder read into a Project, or refused with every Fault at once."""

import re
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from tunnelwright.drive.choices import Choices
from tunnelwright.drive.fields import Part
from tunnelwright.drive.project import (
    Aquifer,
    Asset,
    Borehole,
    Calendar,
    DesignAxis,
    Drive,
    FreeWater,
    Ground,
    Lens,
    Machine,
    Pick,
    Piezometer,
    Project,
    RingType,
    SurfacePoint,
    Unit,
)
from tunnelwright.drive.project.checks import complaints
from tunnelwright.drive.project.checks.complaint import did_you_mean
from tunnelwright.drive.project.drives import DRIVE_NAME
from tunnelwright.exchange.project_folder.documents import Document
from tunnelwright.exchange.project_folder.faults import Locate, Path, faults_of
from tunnelwright.exchange.project_folder.parts import FolderParts, locator, named
from tunnelwright.vocabulary.remark import Fault, InputRefused


class StrataRow(Pick):
    """A row of ground/strata: a pick with the borehole it belongs to."""

    borehole: str


class ProjectHead(Part):
    """The table [project] of project.toml."""

    name: Any
    title: Any = ""
    city: Any = ""
    seed: Any = 1
    water_unit_weight_kn_m3: Any = 9.81


def read_project(folder: FilePath | str) -> Project:
    """Return the project in a folder.

    Raises
    ------
    InputRefused
        with every Fault of every file at once.
    """
    folder = FilePath(folder)
    if not (folder / "project.toml").is_file():
        given = "a folder without project.toml" if folder.is_dir() else "no folder"
        raise InputRefused(
            [
                Fault(
                    where=folder.name or str(folder),
                    field="project",
                    given=given,
                    required="a project folder is needed",
                    hint="`tunnelwright new FOLDER` writes one",
                )
            ],
            folder.name,
        )
    return _Reading(folder).project()


class _Reading(FolderParts):
    """One pass through a folder, from its files to a project."""

    def project(self) -> Project:
        """Return the project, or raise with all faults."""
        head, choices, drives = self._project_toml()
        machines = self.entries("machines.toml", "machine", Machine, "machines", ("machines",))
        ring_types = self.entries("ring_types.toml", "ring_type", RingType, "ring_types", ("ring_types",))
        parts: dict[str, Any] = {
            "choices": choices,
            "drives": tuple(drives),
            "machines": tuple(machines),
            "ring_types": tuple(ring_types),
            "ground": self._ground(),
            "assets": tuple(self.rows("assets/assets", Asset, "assets", ("assets",))),
            "calendar": self._calendar(),
        }
        project = self._join(head, parts)
        for complaint in complaints(project, self.broken):
            where, field = self.locate(complaint.path)
            self.faults.append(Fault(where=where, field=field, given=complaint.given, required=complaint.required, hint=complaint.hint))
        if self.faults:
            raise InputRefused(sorted(set(self.faults), key=_reading_order), self.folder.name)
        return project

    def _join(self, head: dict[str, Any], parts: dict[str, Any]) -> Project:
        if self.faults:
            return Project.model_construct(**parts)
        try:
            return Project.model_validate({**head, **parts})
        except ValidationError as error:
            self.faults += faults_of(error, Project, self.locate)
            return Project.model_construct(**parts)

    # project.toml and the axes

    def _project_toml(self) -> tuple[dict[str, Any], Choices, list[Drive]]:
        document = self.document("project.toml", "drives", "axes", "project", required=True)
        if document is None:
            return {}, Choices(), []
        self.known_keys(document, {"project", "choices", "drive"})
        head = document.values.get("project")
        if not isinstance(head, dict):
            self.refuse("project", Fault(where="project.toml:1", field="project", given="nothing", required="a table [project] with at least `name` is needed"))
            head = {}
        self.places[()] = lambda inside: document.locate(("project",) if inside and "project" in document.values else (), inside)
        choices = self.part(Choices, document.values.get("choices", {}), lambda inside: named(document.locate(("choices",), inside), "choices"), "choices")
        self._head(head, document)
        return head, choices or Choices(), self._drives(document)

    def _head(self, head: dict[str, Any], document: Document) -> None:
        """Report what is wrong with [project] even when other files stop the project from being joined."""
        trial = {**head, "drives": (), "machines": (), "ring_types": (), "ground": None}
        try:
            Project.model_validate(trial)
        except ValidationError as error:
            leave_out = frozenset({"drives", "machines", "ring_types", "ground"})
            found = list(faults_of(error, ProjectHead, lambda inside: document.locate(("project",) if head else (), inside), leave_out=leave_out))
            self.faults += found if head else []
            self.broken |= {"project"} if found else set()

    def _drives(self, document: Document) -> list[Drive]:
        entries = document.values.get("drive", [])
        drives: list[Drive] = []
        if not entries:
            self.refuse(
                "drives", Fault(where=f"project.toml:{document.line(('drive',))}", field="drive", given="nothing", required="at least one [[drive]] is needed")
            )
        for index, entry in enumerate(entries if isinstance(entries, list) else [entries]):
            base: Path = ("drive", index) if isinstance(entries, list) else ("drive",)
            name = entry.get("name") if isinstance(entry, dict) else None
            locate = locator(document, base, name)
            axis_document, axis = self._axis(name) if isinstance(name, str) and re.fullmatch(DRIVE_NAME, name) else (None, None)
            drive = self.part(Drive, entry if axis is None else {**entry, "axis": axis}, locate, "drives", leave_out=frozenset({"axis"}))
            if drive is not None:
                path: Path = ("drives", len(drives))
                self.places[path] = locate
                if axis_document is not None:
                    self.places[(*path, "axis")] = locator(axis_document, (), None)
                drives.append(drive)
        return drives

    def _axis(self, drive: str) -> tuple[Document | None, DesignAxis | None]:
        document = self.document(f"axis/{drive}.toml", "axes", "drives", required=True)
        if document is None:
            return None, None
        axis = self.part(DesignAxis, document.values, locator(document, (), None), "axes")
        if axis is None:
            self.broken.add("drives")
        return document, axis

    def _calendar(self) -> Calendar:
        document = self.document("calendar.toml", "calendar", required=False)
        if document is None:
            return Calendar()
        locate = locator(document, (), None)
        self.places[("calendar",)] = locate
        return self.part(Calendar, document.values, locate, "calendar") or Calendar()

    # ground

    def _ground(self) -> Ground:
        units = self.entries("ground/units.toml", "unit", Unit, "units", ("ground", "units"))
        holes = self.rows("ground/boreholes", Borehole, "boreholes", ("ground", "boreholes"), required=True, without=frozenset({"picks"}))
        lenses = self.entries("ground/lenses.toml", "lens", Lens, "lenses", ("ground", "lenses"), required=False)
        aquifers = self.entries("ground/aquifers.toml", "aquifer", Aquifer, "aquifers", ("ground", "aquifers"), required=False, also=frozenset({"free_water"}))
        free_water = self.entries(
            "ground/aquifers.toml", "free_water", FreeWater, "free_water", ("ground", "free_water"), required=False, also=frozenset({"aquifer"})
        )
        piezometers = self.rows("ground/piezometers", Piezometer, "piezometers", ("ground", "piezometers"))
        surface = self.rows("ground/surface", SurfacePoint, "surface", ("ground", "surface"), required=True)
        parts: dict[str, Any] = {
            "units": tuple(units),
            "boreholes": tuple(self._with_picks(holes)),
            "lenses": tuple(lenses),
            "aquifers": tuple(aquifers),
            "free_water": tuple(free_water),
            "piezometers": tuple(piezometers),
            "surface": tuple(surface),
        }
        if len(surface) < 3 and "surface" not in self.broken:
            where, _ = self.locate(("ground", "surface", 0))
            self.refuse("surface", Fault(where=where, field="surface", given=f"{len(surface)} points", required="at least three points are needed"))
        return Ground.model_construct(**parts) if self.faults else Ground(**parts)

    def _with_picks(self, holes: list[Borehole]) -> list[Borehole]:
        """Return the boreholes with their strata from the top down."""
        read: list[tuple[StrataRow, Locate]] = []
        rows = self.rows("ground/strata", StrataRow, "strata", ("strata",), required=True)
        for index, row in enumerate(rows):
            read.append((row, self.places[("strata", index)]))
        known = [hole.borehole for hole in holes]
        for row, locate in read:
            if row.borehole not in known and "boreholes" not in self.broken:
                where, field = locate(("borehole",))
                hint = did_you_mean(row.borehole, known)
                self.refuse(
                    "strata", Fault(where=where, field=field, given=f'"{row.borehole}"', required="a borehole of ground/boreholes is needed", hint=hint)
                )
        filled = []
        for hole_index, hole in enumerate(holes):
            own = sorted((pair for pair in read if pair[0].borehole == hole.borehole), key=lambda pair: -max(pair[0].top_level_m, pair[0].base_level_m))
            for pick_index, (_, locate) in enumerate(own):
                self.places[("ground", "boreholes", hole_index, "picks", pick_index)] = locate
            picks = tuple(Pick(unit=row.unit, top_level_m=row.top_level_m, base_level_m=row.base_level_m) for row, _ in own)
            filled.append(hole.model_copy(update={"picks": picks}))
        return filled


def _reading_order(fault: Fault) -> tuple[str, int, str]:
    name, _, line = fault.where.rpartition(":")
    return (name, int(line), fault.field) if line.isdigit() else (fault.where, 0, fault.field)
