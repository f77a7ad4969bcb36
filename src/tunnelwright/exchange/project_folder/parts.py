"""The files of a project folder turned into parts, remembering what was wrong and where everything stands."""

from collections.abc import Callable
from pathlib import Path as FilePath
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from tunnelwright.drive.fields import field_of_key
from tunnelwright.drive.project.checks.complaint import did_you_mean
from tunnelwright.exchange.project_folder.documents import Document, read_document
from tunnelwright.exchange.project_folder.faults import Locate, Path, faults_of, suggestion
from tunnelwright.exchange.project_folder.tables import SheetTable, read_table
from tunnelwright.vocabulary.remark import Fault, InputRefused

AnyPart = TypeVar("AnyPart", bound=BaseModel)


class FolderParts:
    """Reads files into parts.

    Parameters
    ----------
    faults : everything wrong so far.
    broken : collections with a fault; checks that rely on them are left out.
    places : for the path of a part in the project, where its fields stand.
    """

    def __init__(self, folder: FilePath) -> None:
        self.folder = folder
        self.faults: list[Fault] = []
        self.broken: set[str] = set()
        self.places: dict[Path, Locate] = {}

    def document(self, name: str, *collections: str, required: bool) -> Document | None:
        """Return a TOML file of the folder; None when it is refused, or not there and not required."""
        path = self.folder / name
        if not path.is_file():
            if required:
                self._missing(name, path, *collections)
            return None
        try:
            return read_document(path, name)
        except InputRefused as refused:
            self.faults += refused.faults
            self.broken |= set(collections)
            return None

    def _missing(self, name: str, path: FilePath, *collections: str) -> None:
        near = did_you_mean(path.name, [other.name for other in path.parent.iterdir()]) if path.parent.is_dir() else ""
        hint = near.replace("did you mean", "is it") if near.startswith("did you mean") else "`tunnelwright new FOLDER` shows one"
        self.faults.append(Fault(where=name, field="file", given="no such file", required="is needed", hint=hint))
        self.broken |= set(collections)

    def entries(
        self, name: str, key: str, part: type[AnyPart], collection: str, path: Path, *, required: bool = True, also: frozenset[str] = frozenset()
    ) -> list[AnyPart]:
        """Return the parts under one key of a TOML file, those that are refused left out."""
        document = self.document(name, collection, required=required)
        if document is None:
            return []
        self.known_keys(document, {key, *also})
        entries = document.values.get(key, [])
        if not isinstance(entries, list) or (required and not entries):
            self.refuse(
                collection,
                Fault(
                    where=f"{name}:{document.line((key,))}",
                    field=key,
                    given="nothing" if not entries else "one table",
                    required=f"at least one [[{key}]] is needed",
                ),
            )
            return []
        parts: list[AnyPart] = []
        for index, entry in enumerate(entries):
            label = entry.get("name") or entry.get("code") if isinstance(entry, dict) else None
            locate = locator(document, (key, index), entry.get("code", label) if isinstance(entry, dict) else None)
            self._keep(parts, self.part(part, entry, locate, collection), path, locate)
        return parts

    def _keep(self, parts: list[AnyPart], part: AnyPart | None, path: Path, locate: Locate) -> None:
        if part is not None:
            self.places[(*path, len(parts))] = locate
            parts.append(part)

    def rows(
        self, stem: str, part: type[AnyPart], collection: str, path: Path, *, required: bool = False, without: frozenset[str] = frozenset()
    ) -> list[AnyPart]:
        """Return the parts in a table of the folder, one per row, those that are refused left out."""
        table = self._table(stem, collection, required=required)
        if table is None:
            return []
        columns = self._columns(table, part, collection, without)
        parts: list[AnyPart] = []
        if columns is None:
            return parts
        if required and not table.rows and not table.faults:
            self.refuse(
                collection, Fault(where=f"{table.name}:{table.header_line}", field="row", given="a heading without rows", required="at least one row is needed")
            )
        for row in table.rows:
            locate = _row_locator(table, row.line, columns)
            cells = {heading: cell for heading, cell in row.cells.items() if heading in columns.values()}
            self._keep(parts, self.part(part, cells, locate, collection), path, locate)
        return parts

    def _table(self, stem: str, collection: str, *, required: bool) -> SheetTable | None:
        found = [name for name in (f"{stem}.csv", f"{stem}.xlsx") if (self.folder / name).is_file()]
        if len(found) > 1:
            self.refuse(
                collection, Fault(where=found[1], field="file", given=f"beside {found[0]}", required="one of the two is needed", hint="delete the older one")
            )
            return None
        if not found:
            if required:
                self._missing(f"{stem}.csv", self.folder / f"{stem}.csv", collection)
            return None
        try:
            table = read_table(self.folder / found[0], found[0])
        except InputRefused as refused:
            self.faults += refused.faults
            self.broken.add(collection)
            return None
        if table.faults:
            self.refuse(collection, *table.faults)
        return table

    def _columns(self, table: SheetTable, part: type[BaseModel], collection: str, without: frozenset[str]) -> dict[str, str] | None:
        """Return the heading of each field; None when a needed column is missing, which is said once and not for every row."""
        where = f"{table.name}:{table.header_line}"
        columns: dict[str, str] = {}
        complete = True
        for heading in table.headings:
            field = field_of_key(part, heading)
            if heading and (field not in part.model_fields or field in without):
                self.refuse(
                    collection, Fault(where=where, field=heading, given="a column", required="no column of this name is known", hint=suggestion(heading, part))
                )
            elif heading and field in columns and columns[field] != heading:
                self.refuse(
                    collection,
                    Fault(where=where, field=heading, given=f"beside {columns[field]}", required="each column is needed once", hint="delete one of the two"),
                )
            elif heading:
                columns[field] = heading
        for name, field_info in part.model_fields.items():
            if field_info.is_required() and name not in columns:
                complete = False
                hint = "is the separator , or ; ?" if len(table.headings) == 1 else ""
                self.refuse(collection, Fault(where=where, field=name, given="no such column", required="the column is needed", hint=hint))
        return columns if complete else None

    def part(self, part: type[AnyPart], values: Any, locate: Locate, collection: str, *, leave_out: frozenset[str] = frozenset()) -> AnyPart | None:
        """Return a part made from values; None when it is refused."""
        try:
            return part.model_validate(values)
        except ValidationError as error:
            self.refuse(collection, *faults_of(error, part, locate, leave_out=leave_out))
            return None

    def refuse(self, collection: str, *faults: Fault) -> None:
        """Keep faults, and that a collection is not to be relied on."""
        self.faults += faults
        self.broken.add(collection)

    def known_keys(self, document: Document, known: set[str]) -> None:
        """Refuse tables and keys at the top of a file that nobody reads."""
        for key in document.values:
            if key not in known:
                where = f"{document.name}:{document.line((key,))}"
                self.faults.append(
                    Fault(where=where, field=key, given="a table or key", required="no table of this name is known", hint=did_you_mean(key, sorted(known)))
                )

    def locate(self, path: Path) -> tuple[str, str]:
        """Return place and written name of a path in the project, from the nearest part whose place is known."""
        for length in range(len(path), -1, -1):
            locate = self.places.get(path[:length])
            if locate is not None:
                return locate(path[length:])
        return self.folder.name, ".".join(str(step) for step in path)


def locator(document: Document, base: Path, label: str | None) -> Locate:
    """Return the function that finds fields of the part at `base`, named after the part's label."""
    return lambda inside: named(document.locate(base, inside), label)


def named(place: tuple[str, str], label: Any) -> tuple[str, str]:
    """Return a place with the label of its part before the field."""
    where, field = place
    return where, f"{label}.{field}" if label and field else field or str(label or "")


def _row_locator(table: SheetTable, line: int, columns: dict[str, str]) -> Callable[[Path], tuple[str, str]]:
    def locate(inside: Path) -> tuple[str, str]:
        field = str(inside[0]) if inside else "row"
        return f"{table.name}:{line}", columns.get(field, field)

    return locate
