"""The parts of a record as plain data: what the printed pages and the screen say, ready in words.

Nothing here draws and nothing is left to be worked out by a template. What must be read first
stands first; a struck entry keeps its value, beside the one that took its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.drawn.drawings import Drawn
    from app.record.parts.comparison import ComparisonShown
    from app.record.parts.critical import CriticalShown
    from app.record.parts.things import ThingShown
    from app.record.parts.tools_used import ToolShown

Mark = Literal["done", "corrected", "differs", "out", "stopped", "refused", "open"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notable:
    """One thing to read before all else."""

    seq: int
    mark: Mark
    word: str  # the mark in a word: "Corrected", "Stopped"
    step: str  # "Step 10", or "" where no step is meant
    sentence: str
    who: str
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShown:
    """One line of an entry: what, the value with unit, the limits in force, what was said of it."""

    what: str
    value: str
    limits: str
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryShown:
    """One entry, with its fate."""

    number: int
    lines: tuple[LineShown, ...]
    who: str
    when: str
    mark: Mark
    signed: bool
    round: str = ""  # "Round 2", where there was more than one
    photos: tuple[str, ...] = ()  # SHA-256 of each stored file
    notes: tuple[str, ...] = ()  # struck by whom and why, accepted by whom and why


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatShown:
    """One signature, whether it still stands or not."""

    role: str
    meaning: str
    how: str
    who: str
    name: str
    when: str
    fell: str = ""  # why it no longer stands, "" when it does


@dataclass(frozen=True, slots=True, kw_only=True)
class StepShown:
    """One step with all that happened on it."""

    number: int
    id: str
    kind: str
    do: str
    cautions: tuple[tuple[str, str], ...]  # (signal word, text)
    seating: str  # which seats, how they check
    mark: Mark
    word: str  # "Done 10:38:12"
    entries: tuple[EntryShown, ...]
    sums: tuple[LineShown, ...]  # what follows from all entries together
    seats: tuple[SeatShown, ...]
    remarks: tuple[str, ...]  # troubles, refusals to sign, rounds that differed
    conditions: tuple[str, ...] = ()  # what had to hold before it could be taken
    critical: bool = False
    drawings: tuple[Drawn, ...] = ()  # as they stood at the end of the run


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionShown:
    """A stretch of steps."""

    title: str
    order: str
    steps: tuple[StepShown, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonShown:
    """Someone who acted in the run."""

    id: str
    name: str
    roles: str
    entries: int
    signatures: int
    since: str = ""  # since when they held these roles, and who entered them
    briefed: str = ""  # when they said that they were briefed


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftShown:
    """Something that was found wrong, and who decided what becomes of it."""

    what: str
    decided: str
    open: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ActShown:
    """One event of the stream, in its order."""

    seq: int
    when: str
    who: str
    device: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """The whole record."""

    site: str
    run: str
    asset: str
    procedure: str
    revision: int
    title: str
    purpose: str
    released: str  # who released the procedure and when, "" where not known here
    verdict: str
    mark: Mark
    verdict_more: tuple[str, ...]
    opened: str
    closed: str
    took: str
    zone: str
    first: tuple[Notable, ...]
    sections: tuple[SectionShown, ...]
    people: tuple[PersonShown, ...]
    acts: tuple[ActShown, ...]
    critical: tuple[CriticalShown, ...]
    tools: tuple[ToolShown, ...]
    things: tuple[ThingShown, ...]
    left: tuple[LeftShown, ...]
    facts: tuple[str, ...]  # what the board was left at
    questions: tuple[str, ...]
    late: tuple[str, ...]  # entries that a tablet had kept
    comparison: ComparisonShown
    anchors: tuple[str, ...]
    pictures: Mapping[str, bytes]  # a small JPEG of each photo, by the SHA-256 of the whole one
    sha256: str  # of the procedure's exact bytes
    head: str  # hash of the last event of the stream
    root: str  # SHA-256 of the site's root certificate
    seal_says: tuple[str, ...]
    verify_lines: tuple[str, ...]
    made: str  # ISO time of the last event: the pages carry no other date of their making

    @property
    def steps(self) -> tuple[StepShown, ...]:
        """Return all steps in written order."""
        return tuple(step for section in self.sections for step in section.steps)


def fingerprint(digest: str) -> tuple[str, ...]:
    """Return a hash in groups of four, four groups to a line: to be read aloud."""
    groups = [digest[i : i + 4] for i in range(0, len(digest), 4)]
    return tuple(" ".join(groups[i : i + 4]) for i in range(0, len(groups), 4))
