"""Things that go into a zone and come out again: what is asked for, and what is still in there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.procedure.usual import latest_of

if TYPE_CHECKING:
    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step

OUT, NOT_TAKEN = "out", "not taken"
BACK, WRITTEN_OFF = "back", "written off"


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """The keys of a step that gives things out."""

    zone: str
    things: tuple[str, ...]
    counted: Mapping[str, int]

    @property
    def names(self) -> tuple[str, ...]:
        """Return every thing, single ones first."""
        return (*self.things, *self.counted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What went out of one thing, to whom, and since when."""

    name: str
    count: int
    holder: str
    entry: Entry


def went_out(entries: Sequence[Entry]) -> tuple[Held, ...]:
    """Return everything that went out, by the live entries of the step that gave it out."""
    return tuple(
        Held(
            name=part,
            count=int(entry.computed["count"]),
            holder=entry.computed["holder"],
            entry=entry,
        )
        for part, entry in latest_of(entries).items()
        if int(entry.computed["count"]) > 0
    )


def still_in(step: Step, of: str, at: Circumstances) -> tuple[Held, ...]:
    """Return what went out by the step `of` and has not been settled on this step."""
    settled = latest_of(at.of(step.id))
    return tuple(held for held in went_out(at.of(of)) if not _settles(settled.get(held.name)))


def tally(held: Sequence[Held]) -> int:
    """Return how many things are in the zone."""
    return sum(each.count for each in held)


def _settles(entry: Entry | None) -> bool:
    return entry is not None and (entry.verdict == "good" or bool(entry.accepted))
