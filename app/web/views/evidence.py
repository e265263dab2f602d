"""What a hold rests on: every entry of its evidence, with limits, people, ages and corrections."""

from __future__ import annotations

from dataclasses import dataclass

from app.procedure.entry import Entry
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.scene import is_blind
from app.web.views import ways
from app.web.views.look import Look
from app.web.views.words import span

MANY = 6  # more lines than this are folded behind the first ones


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceLine:
    """One line of one entry."""

    what: str
    value: str
    limits: str
    verdict: str
    by: str
    at: str
    struck: str  # the reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One step that the hold rests on."""

    title: str
    mark: str
    word: str
    lines: tuple[EvidenceLine, ...]
    folded: bool
    photos: tuple[str, ...]
    href: str


def evidence(look: Look) -> tuple[Evidence, ...]:
    """Return the steps that a hold rests on, in written order."""
    names = set(look.kind.rests_on(look.step))
    return tuple(_of(look, step) for step in look.procedure.steps if step.id in names)


def _of(look: Look, step: Step) -> Evidence:
    progress = look.state.progress(step.id)
    blind = is_blind(look.state, step)
    entries = () if blind else progress.entries
    done = progress.done_at
    word = f"Done {span(look.scene.now - done)} ago" if done else "Not done"
    if progress.passed_by:
        word = "Not taken"
    if blind and progress.entries:
        word = "Sealed, not yet compared"
    lines = tuple(line for entry in entries for line in _lines(step, entry))
    return Evidence(
        title=f"Step {step.number}. {step.do}",
        mark=("both" if progress.signatures else "done") if done else "todo",
        word=word,
        lines=lines,
        folded=len(lines) > MANY,
        photos=tuple(photo for entry in entries if not entry.struck for photo in _photos(entry)),
        href=ways.run_page(look.state.run, step.id),
    )


def _lines(step: Step, entry: Entry) -> tuple[EvidenceLine, ...]:
    return tuple(
        EvidenceLine(
            what=line.what,
            value=line.value,
            limits=line.limits,
            verdict=line.verdict,
            by=entry.by,
            at=f"{entry.at:%H:%M:%S}",
            struck=entry.struck,
        )
        for line in kind_of(step).lines(step, (entry,))
    )


def _photos(entry: Entry) -> tuple[str, ...]:
    return tuple(
        f"/photos/{value}" for name, value in entry.values.items() if name.startswith("photo")
    )
