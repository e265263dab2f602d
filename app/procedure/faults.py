"""A fault in a text: where it stands, what is wrong, how to mend it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing wrong with a file; a file's faults are gathered, never raised one by one."""

    file: str
    line: int
    key: str
    what: str
    mend: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.key}: {self.what} {self.mend}".rstrip()
