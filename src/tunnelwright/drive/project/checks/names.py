"""Names: each once, and every reference known."""

from collections.abc import Iterator, Sequence

from tunnelwright.drive.project.checks.complaint import Complaint, Path, did_you_mean
from tunnelwright.drive.project.models import Project


def duplicates(project: Project) -> Iterator[Complaint]:
    """Complain of two parts of one kind with the same name."""
    ground = project.ground
    for path, parts, field in (
        (("drives",), project.drives, "name"),
        (("machines",), project.machines, "name"),
        (("ring_types",), project.ring_types, "name"),
        (("assets",), project.assets, "asset"),
        (("ground", "units"), ground.units, "code"),
        (("ground", "units"), ground.units, "order"),
        (("ground", "boreholes"), ground.boreholes, "borehole"),
        (("ground", "lenses"), ground.lenses, "name"),
        (("ground", "aquifers"), ground.aquifers, "name"),
    ):
        yield from _repeated(path, parts, field)
    for index, machine in enumerate(project.machines):
        for field in ("chamber_sensors", "grout_ports", "belt_weighers"):
            yield from _repeated(("machines", index, field), getattr(machine, field), "name")


def _repeated(path: Path, parts: Sequence[object], field: str) -> Iterator[Complaint]:
    seen: set[object] = set()
    for index, part in enumerate(parts):
        value = getattr(part, field)
        if value in seen:
            yield Complaint(path=(*path, index, field), given=str(value), required=f"each {field} must stand there once", hint="rename one of the two")
        seen.add(value)


def drive_references(project: Project) -> Iterator[Complaint]:
    """Complain of a drive whose machine or ring type is not in the project."""
    for index, drive in enumerate(project.drives):
        for field, known in (("machine", [machine.name for machine in project.machines]), ("ring_type", [ring_type.name for ring_type in project.ring_types])):
            given = getattr(drive, field)
            if given not in known:
                yield _unknown(("drives", index, field), given, field.replace("_", " "), known)


def unit_references(project: Project) -> Iterator[Complaint]:
    """Complain of unit codes that are not in the table of units."""
    ground = project.ground
    known = [unit.code for unit in ground.units]
    fills_lenses = {unit.code for unit in ground.units if unit.in_lenses_only}
    for hole_index, hole in enumerate(ground.boreholes):
        for pick_index, pick in enumerate(hole.picks):
            if pick.unit not in known:
                yield _unknown(("ground", "boreholes", hole_index, "picks", pick_index, "unit"), pick.unit, "unit", known)
            if pick.unit in fills_lenses:
                yield Complaint(
                    path=("ground", "boreholes", hole_index, "picks", pick_index, "unit"),
                    given=f'"{pick.unit}"',
                    required="a stratum is needed; this unit is said to lie in lenses only",
                    hint="log the unit around it here, and draw the lens in ground/lenses.toml",
                )
    for index, lens in enumerate(ground.lenses):
        if lens.unit not in known:
            yield _unknown(("ground", "lenses", index, "unit"), lens.unit, "unit", known)
    for index, aquifer in enumerate(ground.aquifers):
        for position, code in enumerate(aquifer.units):
            if code not in known:
                yield _unknown(("ground", "aquifers", index, "units", position), code, "unit", known)


def drive_names_in_ground(project: Project) -> Iterator[Complaint]:
    """Complain of lenses, aquifers and free water that belong to a drive that does not exist."""
    known = [drive.name for drive in project.drives]
    for field in ("lenses", "aquifers", "free_water"):
        for index, part in enumerate(getattr(project.ground, field)):
            if part.drive and part.drive not in known:
                yield _unknown(("ground", field, index, "drive"), part.drive, "drive", known)
            if not part.drive and len(known) > 1:
                yield Complaint(
                    path=("ground", field, index, "drive"),
                    given="nothing",
                    required="the project has several drives: say whose chainages these are",
                    hint="known: " + ", ".join(known),
                )


def aquifer_references(project: Project) -> Iterator[Complaint]:
    """Complain of piezometers in an aquifer that does not exist."""
    known = [aquifer.name for aquifer in project.ground.aquifers]
    for index, piezometer in enumerate(project.ground.piezometers):
        if piezometer.aquifer not in known:
            yield _unknown(("ground", "piezometers", index, "aquifer"), piezometer.aquifer, "aquifer", known)


def _unknown(path: Path, given: str, what: str, known: list[str]) -> Complaint:
    return Complaint(path=path, given=f'"{given}"', required=f"a {what} of the project is needed", hint=did_you_mean(given, known))
