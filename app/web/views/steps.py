"""The ways from the step shown to others: its own parts, and every step of the procedure.

The list of all steps is long, and an act changes a line or two of it. So a line that says what it
said before is the very same object, and whoever draws it may keep what was drawn.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from app.procedure.model import Procedure, Section, Step
from app.procedure.registry import kind_of
from app.run.scene import standing
from app.run.state import Progress, Trouble
from app.web.views import ways
from app.web.views.look import Look, next_step

MOST_RUNS = 64  # whose lists are kept; some 0.2 MB each, where there are 300 steps
FEWEST = 3  # one part, or a beginning and an end, need no list to choose from


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLink:
    """One part of the step shown."""

    name: str
    mark: str
    word: str
    href: str
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
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


@dataclass(slots=True)
class _Kept:
    """One run's list as it was last made, and what it was made from."""

    procedure: Procedure
    steps: Mapping[str, Progress]
    troubles: tuple[Trouble, ...]
    now: Step
    links: list[StepLink]
    lists: list[SectionList]


_KEPT: OrderedDict[str, _Kept] = OrderedDict()


def sections(look: Look) -> tuple[SectionList, ...]:
    """Return every step of the procedure, section by section."""
    kept = _kept(look)
    here = kept.lists[look.step.section]
    first = look.procedure.sections[look.step.section].steps[0].number
    at = look.step.number - first
    shown = (*here.steps[:at], replace(here.steps[at], here=True), *here.steps[at + 1 :])
    lists = list(kept.lists)
    lists[look.step.section] = replace(here, steps=shown)
    return tuple(lists)


def _kept(look: Look) -> _Kept:
    now = next_step(look.procedure, look.state)
    kept = _KEPT.get(look.state.run)
    if kept is None or kept.procedure is not look.procedure:
        kept = _made(look, now)
        _KEPT[look.state.run] = kept
    else:
        _follow(kept, look, now)
    _KEPT.move_to_end(look.state.run)
    if len(_KEPT) > MOST_RUNS:
        _KEPT.popitem(last=False)
    return kept


def _made(look: Look, now: Step) -> _Kept:
    links = [_step(look, step, now) for step in look.procedure.steps]
    lists = [_list(section, links) for section in look.procedure.sections]
    return _Kept(look.procedure, look.state.steps, look.state.troubles, now, links, lists)


def _follow(kept: _Kept, look: Look, now: Step) -> None:
    touched = set()
    for step in _changed(kept, look, now):
        kept.links[step.number - 1] = _step(look, step, now)
        touched.add(step.section)
    for section in touched:
        kept.lists[section] = _list(look.procedure.sections[section], kept.links)
    kept.steps, kept.troubles, kept.now = look.state.steps, look.state.troubles, now


def _changed(kept: _Kept, look: Look, now: Step) -> Iterator[Step]:
    """Yield the steps whose line may say something new."""
    if kept.troubles is not look.state.troubles:
        yield from look.procedure.steps
        return
    if kept.now is not now:
        first, last = sorted((kept.now.number, now.number))
        yield from look.procedure.steps[first - 1 : last]
    if kept.steps is not look.state.steps:
        for name in kept.steps.keys() | look.state.steps.keys():
            step = look.procedure.step(name)
            if step is not None and kept.steps.get(name) is not look.state.steps.get(name):
                yield step


def _list(section: Section, links: list[StepLink]) -> SectionList:
    first = section.steps[0].number - 1
    return SectionList(title=section.title, steps=tuple(links[first : first + len(section.steps)]))


def _step(look: Look, step: Step, now: Step) -> StepLink:
    mark, word = _step_mark(look, step, now)
    return StepLink(
        number=step.number,
        do=step.do,
        kind=kind_of(step).title,
        mark=mark,
        word=word,
        href=ways.run_page(look.state.run, step.id),
        here=False,
    )


def _step_mark(look: Look, step: Step, now: Step) -> tuple[str, str]:
    progress = look.state.progress(step.id)
    if look.state.open_troubles(step.id):
        return "out", "Trouble"
    if progress.done:
        return ("both", "Signed") if progress.signatures else ("done", "Done")
    if progress.passed_by:
        return "todo", "Not taken"
    if progress.reopened:
        return "stale", "Open again"
    if progress.signatures:
        return "half", "Half signed"
    return (
        ("here", "Now")
        if step.id == now.id
        else ("todo", "Not open" if step.number > now.number else "To do")
    )
