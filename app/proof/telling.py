"""Tells an order of acts step by step, and the weakest path in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from app.procedure.model import Step
from app.proof.hazards import Act, Danger
from app.proof.report import Taken

NOT_DONE = "signed, not done"
IN_PART = "signed, done only in part"
NOT_SO = "confirms what is not so"


def taken_on(danger: Danger, acts: Sequence[Act]) -> Iterator[Taken]:
    """Yield the steps of an order, each with what becomes true of the hazard's facts."""
    for act in acts:
        step = danger.orders.procedure.steps[act.place]
        changes = tuple(
            f"{fact.replace('_', ' ')} {new}"
            for fact, old, new in zip(danger.facts, act.before, act.after, strict=True)
            if new != old
        )
        yield Taken(
            number=step.number,
            id=step.id,
            do=step.do,
            wrong=act.wrong,
            how=", ".join(_how(danger, step, act, changes)) or "done",
            changes=changes,
        )


def way_words(way: Sequence[Taken]) -> str:
    """Return the acts that matter as one sentence: those that are wrong, and those that change."""
    told = [
        f"step {each.number}, {each.id}, {each.how}" for each in way if each.wrong or each.changes
    ]
    if not told:
        return "the hazard is there."
    said = "; ".join(told)
    return f"{said}."


def _how(danger: Danger, step: Step, act: Act, changes: Sequence[str]) -> Iterator[str]:
    before = dict(zip(danger.facts, act.before, strict=True))
    after = dict(zip(danger.facts, act.after, strict=True))
    if any(test.fact in before and not test.holds(before[test.fact]) for test in step.confirms):
        yield NOT_SO
    if any(fact in after and after[fact] != value for fact, value in step.sets.items()):
        yield IN_PART if changes else NOT_DONE
    if changes:
        yield f"makes {' and '.join(changes)}"
