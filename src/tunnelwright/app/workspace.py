"""Where a project's own files and what the program keeps of it lie."""

from dataclasses import dataclass
from pathlib import Path

from tunnelwright.drive.axis import DriveCase
from tunnelwright.drive.project import Project
from tunnelwright.exchange.project_folder import read_project
from tunnelwright.store import Journal
from tunnelwright.vocabulary.remark import Fault, InputRefused

KEPT = ".tunnelwright"


@dataclass(frozen=True, slots=True)
class Workspace:
    """A project folder that was read, and the places below it."""

    folder: Path
    project: Project

    def case(self, drive: str = "") -> DriveCase:
        """Return the case of one drive.

        Raises
        ------
        InputRefused
            when the name is not that of a drive, or none was given and there are several.
        """
        try:
            return DriveCase.of(self.project, drive)
        except KeyError as reason:
            raise InputRefused(
                [Fault(where=str(self.folder), field="drive", given=drive or "nothing", required=str(reason.args[0]))], str(self.folder)
            ) from None

    def log_store(self, drive: str) -> Path:
        """Return the folder of the typed log of a drive."""
        return self.folder / KEPT / "logs" / drive

    def record_file(self, drive: str) -> Path:
        """Return the file of the record of a drive."""
        return self.folder / KEPT / "records" / f"{drive}.parquet"

    def plan_folder(self) -> Path:
        """Return the folder of frozen plans."""
        return self.folder / KEPT / "plans"

    def journal(self) -> Journal:
        """Return the journal of the project: its own file, or the database whose URL stands in ``journal.url`` beside it."""
        named = self.folder / KEPT / "journal.url"
        if named.is_file():
            return Journal(named.read_text(encoding="utf-8").strip())
        return Journal.at(self.folder / KEPT / "journal.sqlite")

    def channel_map_file(self, drive: str) -> Path:
        """Return the file in which a person describes the columns of the logger."""
        return self.folder / "channels" / f"{drive}.toml"

    def log_files(self, drive: str) -> list[Path]:
        """Return the files of the logger that lie in the project folder."""
        folder = self.folder / "logs" / drive
        return sorted(path for path in folder.glob("*") if path.suffix.lower() in (".csv", ".parquet", ".txt")) if folder.is_dir() else []


def open_workspace(folder: Path | str) -> Workspace:
    """Return a project folder after reading it.

    Raises
    ------
    InputRefused
        with every Fault of the folder.
    """
    path = Path(folder)
    return Workspace(path, read_project(path))
