"""The interlocks of order and of facts, bare: which of them keep a step shut.

Rules, all of them here:
- a step waits for every step before it, except those of its own section if that is in any order;
- a step waits for the steps that `after` names, and for the one from which its time counts;
- what it `needs` and what it `confirms` must stand so on the board.
The run turns each into a sentence (`interlocks.why_shut`); the proof asks the same functions in
every state that it reaches. Readings, tools, people and times are not here: they pass or fail as
the day will have it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, Protocol

from app.procedure.model import FactTest, FactValue, Procedure, Step

Rule = Literal["order.not_open", "order.after", "within.not_begun", "needs.fact", "confirms.fact"]


class Standing(Protocol):
    """How far the work is, and what is believed of the hardware."""

    def is_done(self, step: str) -> bool:
        """Say whether a step is done."""
        ...

    def value(self, fact: str) -> FactValue | None:
        """Return what the board says of a fact; None if it is in doubt."""
        ...


@dataclass(frozen=True, slots=True)
class Lock:
    """One interlock that holds a step shut: a step that must be done, or a fact that is not so."""

    rule: Rule
    step: str = ""
    test: FactTest | None = None


def locks(procedure: Procedure, step: Step, at: Standing) -> Iterator[Lock]:
    """Yield every interlock of order and of facts that keeps the step shut."""
    earlier = order_lock(procedure, step, at)
    if earlier is not None:
        yield Lock("order.not_open", earlier.id)
    for name in after_locks(procedure, step, at):
        yield Lock("order.after", name)
    for test in unmet(step.needs, at):
        yield Lock("needs.fact", test=test)
    for test in unmet(step.confirms, at):
        yield Lock("confirms.fact", test=test)
    if step.within is not None and not at.is_done(step.within.of):
        yield Lock("within.not_begun", step.within.of)


def order_lock(procedure: Procedure, step: Step, at: Standing) -> Step | None:
    """Return the first step that order wants done before this one and that is not, or None.

    The first step of all that is not done decides: if this step need not wait for it, every other
    one before it stands in the same section of free order.
    """
    first = first_undone(procedure, at)
    if first is None or first.number >= step.number or _free(procedure, first, step):
        return None
    return first


def in_order(procedure: Procedure, at: Standing) -> tuple[Step, ...]:
    """Return the steps not yet done that order alone would let be taken now."""
    first = first_undone(procedure, at)
    if first is None:
        return ()
    same = procedure.sections[first.section].steps
    return tuple(
        s for s in same if s is first or (_free(procedure, first, s) and not at.is_done(s.id))
    )


def first_undone(procedure: Procedure, at: Standing) -> Step | None:
    """Return the first step in written order that is not done."""
    return next((step for step in procedure.steps if not at.is_done(step.id)), None)


def after_locks(procedure: Procedure, step: Step, at: Standing) -> Iterator[str]:
    """Yield the steps named in `after` that are not done."""
    return (
        name for name in step.after if procedure.step(name) is not None and not at.is_done(name)
    )


def unmet(tests: tuple[FactTest, ...], at: Standing) -> Iterator[FactTest]:
    """Yield the conditions that do not stand so on the board."""
    return (test for test in tests if not test.holds(at.value(test.fact)))


def _free(procedure: Procedure, one: Step, other: Step) -> bool:
    return one.section == other.section and procedure.sections[one.section].order == "any"
