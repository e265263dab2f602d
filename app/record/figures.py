"""The geometry of the record's one drawing: the procedure as a graduated rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.record.shown import Document, Mark

LENGTH = 490.0  # of the rule, in the drawing's own units: points at the width of the page
SECTION_GAP = 5.0


@dataclass(frozen=True, slots=True)
class Tick:
    """One step on the rule; a hold is drawn as a block."""

    x: float
    number: int
    hold: bool
    mark: Mark
    named: bool  # whether its number is written under it


@dataclass(frozen=True, slots=True)
class Rule:
    """The whole rule, with the sentence that says the same."""

    ticks: tuple[Tick, ...]
    label: str
    length: float = LENGTH


def rule_of(document: Document) -> Rule:
    """Return the procedure of a record as a rule: a line for a step, a block for a hold."""
    steps = document.steps
    gaps = max(0, len(document.sections) - 1) * SECTION_GAP
    pitch = (LENGTH - 16 - gaps) / max(1, len(steps) - 1)
    ticks: list[Tick] = []
    for index, section in enumerate(document.sections):
        for place, step in enumerate(section.steps):
            x = round(8 + len(ticks) * pitch + index * SECTION_GAP, 2)
            hold = step.kind.lower() == "hold"
            ticks.append(Tick(x, step.number, hold, step.mark, place == 0 or hold))
    done = sum(step.mark != "open" for step in steps)
    corrected = sum(step.mark == "corrected" for step in steps)
    label = f"{done} of {len(steps)} steps done, {corrected} of them not at the first go."
    return Rule(tuple(ticks), label)
