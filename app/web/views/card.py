"""The card of a step: its safety panels, what to know before one begins, what its kind shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.procedure.drawing import Scale
from app.procedure.drawn.drawings import Drawn, drawn
from app.procedure.kind import Card, Field
from app.procedure.model import Step
from app.web.views.look import Look

SAFETY = ("danger", "warning", "caution", "notice")


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A safety panel, or the mirror's own."""

    word: str
    text: str
    mark: str  # the triangle is for people who can be hurt


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Something to know before one begins: why it is open again, who refused and why."""

    mark: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnCard:
    """A kind's card with its drawings worked out.

    The kind's template draws the scales beside its fields; the maps stand at the side of the page,
    where the frame draws them.
    """

    kind_line: str
    act: str
    heading: str
    on: str
    part: str
    fields: tuple[Field, ...]
    answer: str
    answer_mark: str
    off: str
    drawings: tuple[Drawn, ...]
    maps: tuple[Drawn, ...]
    own: Mapping[str, object]


def panels(step: Step) -> tuple[Panel, ...]:
    """Return the safety panels, gravest first, then the mirror's own."""
    people = [
        Panel(word=word.upper(), text=getattr(step, word), mark="" if word == "notice" else "tri")
        for word in SAFETY
        if getattr(step, word)
    ]
    glass = [Panel(word="MIRROR", text=step.mirror, mark="")] if step.mirror else []
    return (*people, *glass)


def notes(look: Look) -> tuple[Note, ...]:
    """Return what to know first; of a round that differed nothing but that it did."""
    progress = look.progress
    if progress.done:
        return ()
    found = []
    if progress.differed:
        words = "The entries do not settle it. Everyone does it again, alone, from a new start."
        found.append(Note(mark="out", words=words))
    if progress.reopened:
        found.append(Note(mark="stale", words=f"Open again: {progress.reopened}"))
    if progress.refusals:
        last = progress.refusals[-1]
        words = f"{last.by} refused this hold at {last.at:%H:%M}: “{last.reason}” Clear that, then sign."
        found.append(Note(mark="out", words=words))
    return tuple(found)


def drawn_card(card: Card, *, opened: bool) -> DrawnCard:
    """Return a kind's card, its drawings worked out; `opened`: whether there is something to type."""
    return DrawnCard(
        kind_line=card.kind_line,
        act=card.act,
        heading=card.heading,
        on=card.on,
        part=card.part,
        fields=card.fields if opened else (),  # a step that is not open has nothing to type
        answer=card.answer,
        answer_mark=card.answer_mark,
        off=card.off,
        drawings=tuple(drawn(each) for each in card.drawings),
        maps=tuple(drawn(each) for each in card.drawings if not isinstance(each, Scale)),
        own=card.own,
    )
