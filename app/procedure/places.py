"""Which line each key of a TOML text stands on: the standard reader does not say.

The text has already been read by `tomllib`, so this walk may trust its form. A path is the way from
the top of the document, with an index for each element of an array: ("sections", 0, "steps", 2, "do").
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from collections.abc import Mapping

Path = tuple[str | int, ...]

_SPACE = re.compile(r"[ \t]*")
_BETWEEN = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*"|'[^']*'""")
_SCALAR = re.compile(
    r'''"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\]|\\.)*"|'[^']*'|[^,\]}#\n]+''',
    re.DOTALL,
)


def places(text: str) -> Mapping[Path, int]:
    """Return the line, from 1, of every key and array element of a TOML document."""
    return _Walk(text).document()


class _Walk:
    """One walk through a document, from the first character to the last."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._ends = [found.start() for found in re.finditer("\n", text)]
        self._lines: dict[Path, int] = {}
        self._arrays: dict[Path, int] = {}  # arrays of tables: how many tables so far

    def document(self) -> dict[Path, int]:
        here: Path = ()
        self._skip(_BETWEEN)
        while self._at < len(self._text):
            here = self._header() if self._text[self._at] == "[" else self._pair(here)
            self._skip(_BETWEEN)
        return self._lines

    def _header(self) -> Path:
        """Pass `[a.b]` or `[[a.b]]` and return the path of the table that it opens."""
        line, many = self._line(), self._text.startswith("[[", self._at)
        self._at += 2 if many else 1
        names = self._dotted()
        self._at += 2 if many else 1
        path: Path = ()
        for depth, name in enumerate(names, start=1):
            path = (*path, name)
            self._lines.setdefault(path, line)
            if many and depth == len(names):
                self._arrays[path] = self._arrays.get(path, 0) + 1
            if path in self._arrays:
                path = (*path, self._arrays[path] - 1)
                self._lines.setdefault(path, line)
        return path

    def _pair(self, table: Path) -> Path:
        """Pass `a.b = value` in a table, and return that table."""
        line, path = self._line(), table
        for name in self._dotted():
            path = (*path, name)
            self._lines.setdefault(path, line)
        self._at += 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)
        return table

    def _dotted(self) -> tuple[str, ...]:
        """Pass a key, dotted or not, and return its names; stops at `=` or `]`."""
        names: list[str] = []
        while True:
            self._skip(_SPACE)
            found = cast("re.Match[str]", _KEY.match(self._text, self._at))
            self._at = found.end()
            names.append(_name(found[0]))
            self._skip(_SPACE)
            if self._text[self._at] != ".":
                return tuple(names)
            self._at += 1

    def _value(self, path: Path) -> None:
        match self._text[self._at]:
            case "[":
                self._inside("]", path, numbered=True)
            case "{":
                self._inside("}", path, numbered=False)
            case _:
                self._skip(_SCALAR)

    def _inside(self, end: str, path: Path, *, numbered: bool) -> None:
        """Pass an array (numbered) or an inline table, element by element."""
        self._at += 1
        self._skip(_BETWEEN)
        index = 0
        while self._text[self._at] != end:
            if numbered:
                self._lines[(*path, index)] = self._line()
                self._value((*path, index))
            else:
                self._pair(path)
            index += 1
            self._skip(_BETWEEN)
            if self._text[self._at] == ",":
                self._at += 1
                self._skip(_BETWEEN)
        self._at += 1

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self._text, self._at)
        self._at = found.end() if found else self._at

    def _line(self) -> int:
        return bisect_right(self._ends, self._at - 1) + 1


def _name(written: str) -> str:
    if written[0] not in "\"'":
        return written
    return str(tomllib.loads(f"name = {written}")["name"])
