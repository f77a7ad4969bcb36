"""A TOML file of the project with the line of everything in it."""

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from tunnelwright.drive.fields import plurals
from tunnelwright.exchange.project_folder.texts import read_text
from tunnelwright.exchange.project_folder.toml_lines import Path, line_of_path
from tunnelwright.vocabulary.remark import Fault, InputRefused
from tunnelwright.vocabulary.units import split_name


@dataclass(frozen=True, slots=True)
class Document:
    """The values of a TOML file and their lines.

    Parameters
    ----------
    name : of the file below the project's folder, with forward slashes.
    values : as `tomllib` gives them.
    lines : line of each path.
    """

    name: str
    values: dict[str, Any]
    lines: dict[Path, int]

    def locate(self, base: Path, inside: Path) -> tuple[str, str]:
        """Return file and line of a field, and the field as it was written, given by its names in the models.

        A field that is not in the file is located at the nearest thing around it that is.
        """
        value: Any = self.values
        for step in base:
            value = value[step]
        path, written = base, ""
        for step in inside:
            key = _written_key(value, step) if isinstance(value, dict | list) else None
            written += f"[{step + 1}]" if isinstance(step, int) else f".{key if key is not None else step}"
            if key is not None:
                path, value = (*path, key), value[key]
            else:
                value = None
        return f"{self.name}:{self.line(path)}", written.removeprefix(".")

    def line(self, path: Path) -> int:
        """Return the line of a path, or of the nearest path around it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


def _written_key(value: dict[str, Any] | list[Any], step: str | int) -> str | int | None:
    if isinstance(value, list):
        return step if isinstance(step, int) and step < len(value) else None
    if step in value:
        return step
    stem = split_name(str(step))[0]
    return next((key for key in value if step in plurals(key) or split_name(key)[0] == stem), None)


def read_document(path: FilePath, name: str) -> Document:
    """Return a TOML file with the lines of its content.

    Raises
    ------
    InputRefused
        when it is no UTF-8 text or no TOML; the Fault names the line.
    """
    text = read_text(path, name)
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as reason:
        raise InputRefused([_syntax_fault(name, text, str(reason))]) from None
    except RecursionError:
        raise InputRefused([Fault(where=name, field="file", given="brackets nested without end", required="TOML is needed")]) from None
    return Document(name=name, values=values, lines=line_of_path(text))


def _syntax_fault(name: str, text: str, reason: str) -> Fault:
    place = re.search(r"line (\d+), column (\d+)", reason)
    rows = text.replace("\r\n", "\n").rstrip("\n").split("\n")
    line = min(int(place[1]), len(rows)) if place else len(rows)
    source = rows[line - 1].strip() if place else "the end of the file"
    hint = _syntax_hint(source, reason)
    sentence = re.sub(r"\s*\(at .*\)", "", reason)
    return Fault(
        where=f"{name}:{line}",
        field=source.split("=")[0].strip() or "file",
        given=source[:60] or "an empty line",
        required=f"TOML is needed: {sentence[0].lower()}{sentence[1:]}",
        hint=hint,
    )


def _syntax_hint(source: str, reason: str) -> str:
    if re.search(r"=\s*[-+]?\d+,\d+\s*(#.*)?$", source):
        return "write a decimal point, not a comma"
    if re.search(r"=\s*[-+]?[\d.]+\s*[A-Za-z%]", source):
        return 'a value with its unit stands in quotes, for example "1.8 bar"'
    if re.search(r"=\s*[A-Za-z]", source) and "Invalid value" in reason:
        return "text stands in quotes"
    if "overwrite" in reason:
        return "the key stands there twice"
    return ""
