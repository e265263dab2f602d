"""The ways from the step shown to others: its own parts, and every step of the procedure."""

from __future__ import annotations

from dataclasses import dataclass

from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.scene import standing
from app.web.views import ways
from app.web.views.look import Look, next_step

FEWEST = 3  # one part, or a beginning and an end, need no list to choose from


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLink:
    """One part of the step shown."""

    name: str
    mark: str
    word: str
    href: str
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLink:
    """One step of the procedure, to be read; what can be done there is said there."""

    number: int
    do: str
    kind: str
    mark: str
    word: str
    href: str
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionList:
    """The steps of one section."""

    title: str
    steps: tuple[StepLink, ...]


def part_links(look: Look, here: str) -> tuple[PartLink, ...]:
    """Return the parts of a step with their marks; of a blind one only what is one's own."""
    if look.kind.presence or look.kind.is_hold:
        return ()
    parts = tuple(look.kind.parts(look.step, look.at))
    if len(parts) < FEWEST and not look.kind.free_parts:
        return ()
    latest = {
        e.part: standing(e)
        for e in look.seen_entries()
        if not e.struck and e.round == look.progress.round
    }
    verdicts = {part: latest[part].verdict if part in latest else "" for part in parts}
    troubled = {trouble.part for trouble in look.state.open_troubles(look.step.id)}
    links = []
    for part in parts:
        mark, word = _part_mark(verdicts[part], here=part == here, troubled=part in troubled)
        href = ways.run_page(look.state.run, look.step.id, part)
        links.append(PartLink(name=part, mark=mark, word=word, href=href, here=part == here))
    return tuple(links)


def _part_mark(verdict: str, *, here: bool, troubled: bool) -> tuple[str, str]:
    if troubled:
        return "out", "Trouble"
    if verdict == "out":
        return "out", "Out of limit"
    if verdict == "good":
        return "done", "Done"
    return ("here", "Now") if here else ("todo", "To do")


def sections(look: Look) -> tuple[SectionList, ...]:
    """Return every step of the procedure, section by section."""
    now = next_step(look.procedure, look.state)
    return tuple(
        SectionList(
            title=section.title, steps=tuple(_step(look, step, now) for step in section.steps)
        )
        for section in look.procedure.sections
    )


def _step(look: Look, step: Step, now: Step) -> StepLink:
    mark, word = _step_mark(look, step, now)
    return StepLink(
        number=step.number,
        do=step.do,
        kind=kind_of(step).title,
        mark=mark,
        word=word,
        href=ways.run_page(look.state.run, step.id),
        here=step.id == look.step.id,
    )


def _step_mark(look: Look, step: Step, now: Step) -> tuple[str, str]:
    progress = look.state.progress(step.id)
    if look.state.open_troubles(step.id):
        return "out", "Trouble"
    if progress.done:
        return ("both", "Signed") if progress.signatures else ("done", "Done")
    if progress.passed_by:
        return "fixed", "Not taken"
    if progress.reopened:
        return "stale", "Open again"
    if progress.signatures:
        return "half", "Half signed"
    return (
        ("here", "Now")
        if step.id == now.id
        else ("todo", "Not open" if step.number > now.number else "To do")
    )
