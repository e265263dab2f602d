"""What had to hold before a step could be taken, as the procedure followed has it: one line each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.record.clock import span_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.procedure.model import Fresh, Procedure, Step


def conditions(step: Step, procedure: Procedure) -> tuple[str, ...]:
    """Return the conditions in force on a step, as sentences without their full stop."""
    return tuple(_conditions(step, procedure))


def _conditions(step: Step, procedure: Procedure) -> Iterator[str]:
    if step.needs:
        yield "needed: " + ", ".join(test.words() for test in step.needs)
    if step.confirms:
        yield "confirms: " + ", ".join(test.words() for test in step.confirms)
    for fresh in step.fresh:
        yield _fresh(fresh)
    if step.within is not None:
        other = procedure.step(step.within.of)
        of = f"step {other.number}" if other is not None else step.within.of
        if step.within.at_least is not None:
            yield f"at least {span_words(step.within.at_least)} after {of}"
        if step.within.at_most is not None:
            yield f"at most {span_words(step.within.at_most)} after {of}"
    if step.apart:
        yield f"entries of different people at least {span_words(step.apart)} apart"
    yield from (f"{role} briefed and present" for role in step.present)
    yield from (f"nobody in: {area}" for area in step.absent)
    others = [procedure.step(name) for name in step.not_same_as]
    if step.not_same_as:
        numbers = ", ".join(str(each.number) for each in others if each is not None)
        yield f"by nobody who worked on step {numbers}"


def _fresh(fresh: Fresh) -> str:
    limits = [f"at least {fresh.at_least}" if fresh.at_least is not None else ""]
    limits += [f"at most {fresh.at_most}" if fresh.at_most is not None else ""]
    said = " and ".join(each for each in limits if each)
    name = fresh.reading.replace("-", " ")
    return f"{name} {said + ', ' if said else ''}read less than {span_words(fresh.age)} before"
