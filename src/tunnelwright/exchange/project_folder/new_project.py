"""A new project folder: small, complete, commented, and meant to be edited."""

from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from tunnelwright.vocabulary.remark import Fault, InputRefused


def write_new_project(folder: Path | str) -> tuple[str, ...]:
    """Write a short drive with everything a plan needs into a folder, and return the names of the files.

    Raises
    ------
    InputRefused
        when the folder holds anything already; nothing is overwritten.
    """
    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        given = "a folder that is not empty" if folder.is_dir() else "a file"
        raise InputRefused(
            [
                Fault(
                    where=str(folder),
                    field="folder",
                    given=given,
                    required="a new or empty folder is needed",
                    hint="nothing is overwritten; choose another name",
                )
            ]
        )
    template = resources.files("tunnelwright.data").joinpath("new_project")
    try:
        return tuple(sorted(_copied(template, folder, "")))
    except OSError as reason:
        raise InputRefused(
            [Fault(where=str(folder), field="folder", given=(reason.strerror or "an error").lower(), required="a folder that can be written is needed")]
        ) from None


def _copied(source: Traversable, target: Path, name: str) -> list[str]:
    target.mkdir(parents=True, exist_ok=True)
    written = []
    for entry in source.iterdir():
        below = f"{name}{entry.name}"
        if entry.is_dir():
            written += _copied(entry, target / entry.name, f"{below}/")
        else:
            (target / entry.name).write_bytes(entry.read_bytes())
            written.append(below)
    return written
