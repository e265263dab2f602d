"""A procedure beside the text it was read from, so that a rule can point at the very line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, cast

from app.procedure.faults import Fault

if TYPE_CHECKING:
    from app.procedure.model import Procedure, Site, Step
    from app.procedure.places import Path
    from app.procedure.reading import Table

# Texts that people read on the screen of a step; `back_out` is read apart, when things go wrong.
PROSE = (
    "do",
    "why",
    "danger",
    "warning",
    "caution",
    "notice",
    "mirror",
    "picture_text",
    "statement",
)


@dataclass(frozen=True, slots=True)
class Written:
    """A procedure, its site, and where each of its steps stands in the text."""

    procedure: Procedure
    site: Site
    table: Table
    paths: Mapping[int, Path] = field(default_factory=dict)  # step number -> way to its table

    @classmethod
    def of(cls, procedure: Procedure, site: Site, table: Table) -> Written:
        """Return the procedure with the way to each of its steps."""
        paths: dict[int, Path] = {}
        for index, section in enumerate(procedure.sections):
            for place, step in enumerate(section.steps):
                paths[step.number] = ("sections", index, "steps", place)
        return cls(procedure, site, table, paths)

    def raw(self, step: Step) -> Mapping[str, object]:
        """Return the step's table as it was written."""
        found: object = self.table.values
        for part in self.paths[step.number]:
            # The way was taken from this very text, so each part is there.
            found = cast("Mapping[object, object]", found)[part]
        return found if isinstance(found, Mapping) else {}

    def fault(self, step: Step, key: str, what: str, mend: str = "") -> Fault:
        """Return a fault at a key of a step; `within.of` is the key of an inner table."""
        return self.placed(Fault(self.procedure.file, step.line, key, what, mend), step)

    def placed(self, fault: Fault, step: Step | None = None) -> Fault:
        """Return the fault at the line of its key, where the step has that key."""
        found = step or next((s for s in self.procedure.steps if s.line == fault.line), None)
        if found is None:
            return fault
        path, line = self.paths[found.number], fault.line
        for name in re.findall(r"[^.\[\]]+", fault.key):
            path = (*path, int(name) if name.isdigit() else name)
            line = self.table.source.places.get(path, line)
        return replace(fault, line=line)

    def spoilt(self, faults: list[Fault]) -> frozenset[int]:
        """Return the numbers of the steps that have one of these faults: no rule can judge them."""
        steps = sorted(self.procedure.steps, key=lambda step: step.line)
        return frozenset(
            max((s for s in steps if s.line <= fault.line), key=lambda s: s.line).number
            for fault in faults
            if steps and fault.line >= steps[0].line
        )


def strings(value: object) -> Iterator[str]:
    """Return every text inside a value, however deep."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from strings(each)
    elif isinstance(value, list):
        for each in value:
            yield from strings(each)
