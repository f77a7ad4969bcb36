"""The line of every key and element of a TOML text.

`tomllib` gives values without places. This scanner walks the same text, which `tomllib` has already found correct, and says
where each path begins: ``{("machine", 0, "thrust_max_kn"): 14}``.
"""

import re
import tomllib
from collections.abc import Iterator
from typing import Final, NamedTuple

Path = tuple[str | int, ...]

_TOKEN: Final = re.compile(
    r'(?P<space>[ \t\r]+)|(?P<newline>\n)|(?P<comment>#[^\n]*)|(?P<string>"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\')'
    r"|(?P<mark>[\[\]{}=,])|(?P<dot>\.)|(?P<word>[^\s\[\]{}=,.#\"']+)",
    re.DOTALL,
)


class _Token(NamedTuple):
    kind: str
    text: str
    line: int


def line_of_path(text: str) -> dict[Path, int]:
    """Return the line, counted from 1, of every path of a correct TOML text."""
    return _Scanner(text.replace("\r\n", "\n")).scan()


def _tokens(text: str) -> Iterator[_Token]:
    line = 1
    for match in _TOKEN.finditer(text):
        kind = match.lastgroup or ""
        if kind not in ("space", "comment"):
            yield _Token(kind, match[0], line)
        line += match[0].count("\n")
    yield _Token("end", "", line)


class _Scanner:
    """A walk through the tokens; it relies on the text being correct and checks nothing."""

    def __init__(self, text: str) -> None:
        self._ahead = list(_tokens(text))
        self._at = 0
        self._lines: dict[Path, int] = {}
        self._array_length: dict[Path, int] = {}

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        while self._token.kind != "end":
            if self._token.kind == "newline":
                self._at += 1
            elif self._token.text == "[":
                table = self._header()
            else:
                self._pair(table)
        return self._lines

    @property
    def _token(self) -> _Token:
        return self._ahead[self._at]

    def _next(self) -> _Token:
        self._at += 1
        return self._ahead[self._at - 1]

    def _skip_newlines(self) -> None:
        while self._token.kind == "newline":
            self._at += 1

    def _header(self) -> Path:
        line = self._next().line
        is_array = self._token.text == "["
        self._at += is_array
        *parents, last = self._key()
        self._at += 1 + is_array
        path: Path = ()
        for name in parents:
            path = self._current((*path, name))
            self._lines.setdefault(path, line)
        path = (*path, last)
        self._lines.setdefault(path, line)
        if is_array:
            index = self._array_length.get(path, 0)
            self._array_length[path] = index + 1
            path = (*path, index)
        self._lines.setdefault(path, line)
        return path

    def _current(self, path: Path) -> Path:
        """Return the path of the array element that a dotted header goes on with."""
        return (*path, self._array_length[path] - 1) if path in self._array_length else path

    def _key(self) -> list[str]:
        names = []
        while True:
            token = self._next()
            names.append(next(iter(tomllib.loads(f"{token.text} = 0"))) if token.kind == "string" else token.text)
            if self._token.kind != "dot":
                return names
            self._at += 1

    def _pair(self, table: Path) -> None:
        line = self._token.line
        path = table
        for name in self._key():
            path = (*path, name)
            self._lines.setdefault(path, line)
        self._at += 1
        self._value(path)

    def _value(self, path: Path) -> None:
        if self._token.text == "[":
            self._array(path)
        elif self._token.text == "{":
            self._inline_table(path)
        else:
            while self._token.kind not in ("newline", "end") and self._token.text not in (",", "]", "}"):
                self._at += 1

    def _array(self, path: Path) -> None:
        self._at += 1
        index = 0
        self._skip_newlines()
        while self._token.text != "]":
            self._lines.setdefault((*path, index), self._token.line)
            self._value((*path, index))
            self._skip_newlines()
            if self._token.text == ",":
                self._at += 1
                index += 1
                self._skip_newlines()
        self._at += 1

    def _inline_table(self, path: Path) -> None:
        self._at += 1
        self._skip_newlines()
        while self._token.text != "}":
            self._pair(path)
            self._skip_newlines()
            if self._token.text == ",":
                self._at += 1
                self._skip_newlines()
        self._at += 1
