"""What is wrong with the allowed orders themselves: dead ends, steps never reached, broken contracts.

Rules:
- a state in which steps are left and none opens is a dead end. It is a fault, unless the procedure
  can be finished in another order and the step that stays shut says a way back: then a question;
- a step's needs are met by `starts_with` or by earlier steps, not by what the day happens to bring;
- in every state in which all steps are done, `leaves` holds;
- `present` asks for somebody whom a briefing before that step has named.
"""

from __future__ import annotations

from collections.abc import Iterator

from app.procedure.faults import Fault
from app.procedure.model import FactTest, Procedure, Step
from app.procedure.registry import kind_of
from app.proof.orders import Orders, State, opening_values
from app.proof.report import Question
from app.run.locks import Lock, in_order, locks

Finding = Fault | Question


def findings(orders: Orders) -> tuple[Finding, ...]:
    """Return everything that is wrong with the allowed orders, each once."""
    procedure = orders.procedure
    found: dict[tuple[int, str], Finding] = {}
    for each in (*_starts(procedure), *_shut(orders), *_leaves(orders), *_unbriefed(procedure)):
        known = found.get((each.line, each.key))
        if known is None or (isinstance(known, Question) and isinstance(each, Fault)):
            found[each.line, each.key] = each
    return tuple(found.values())


def _starts(procedure: Procedure) -> Iterator[Fault]:
    for fact in dict.fromkeys(test.fact for test in procedure.starts_with):
        if not opening_values(procedure, fact):
            what = f"No value of {_name(fact)} meets starts_with, so no run can be opened."
            yield Fault(procedure.file, 0, f"starts_with.{fact}", what, "Ask for one value.")


def _shut(orders: Orders) -> Iterator[Finding]:
    procedure = orders.procedure
    taken = {place for moves in orders.moves.values() for place, _ in moves}
    finished = any(True for _ in orders.ends())
    for state in orders.stuck():
        at = orders.standing(state)
        for step in in_order(procedure, at):
            for lock in locks(procedure, step, at):
                never = step.number - 1 not in taken
                yield _shut_step(orders, state, step, lock, never=never, finished=finished)


def _shut_step(  # noqa: PLR0913 - where, which, why, and how far it matters
    orders: Orders, state: State, step: Step, lock: Lock, *, never: bool, finished: bool
) -> Finding:
    procedure, file = orders.procedure, orders.procedure.file
    key = _key(lock)
    reason, mend = _reason(orders, state, lock)
    if never:
        left = sum(1 for s in procedure.steps if s.number > step.number)
        steps = "1 step stands" if left == 1 else f"{left} steps stand"
        lost = f" {steps} after it." if left else ""
        return Fault(file, step.line, key, f"Step {step.number} never opens: {reason}{lost}", mend)
    way = ", ".join(str(place + 1) for place in orders.way(state)) or "none"
    what = f"Step {step.number} stays shut for good after the order {way}: {reason}"
    if finished and step.back_out and not _open_at_start(procedure, lock.test):
        return Question(
            file=file,
            line=step.line,
            key=key,
            what=f"{what} The crew can only back out. Is that meant?",
        )
    return Fault(file, step.line, key, what, mend)


def _key(lock: Lock) -> str:
    if lock.test is not None:
        return f"{lock.rule.partition('.')[0]}.{lock.test.fact}"
    return "within.of" if lock.rule == "within.not_begun" else "after"


def _reason(orders: Orders, state: State, lock: Lock) -> tuple[str, str]:
    procedure, test = orders.procedure, lock.test
    if test is None:
        other = procedure.step(lock.step)
        name = f"step {other.number}, {lock.step}," if other else lock.step
        return f"it waits for {name} which is not done.", "Let one of the two not wait."
    now = orders.standing(state).value(test.fact)
    wanted = f"it must be so: {test.words()}"
    if any(test.fact in procedure.steps[place].sets for place in orders.way(state)):
        said = f"{wanted}. By then it is {_name(test.fact)} {now}."
        return said, "Put the step where it is so, or let a step before it make it so."
    if _open_at_start(procedure, test):
        said = f"{wanted}. Nothing before it makes it so, and starts_with does not ask for it."
        return said, f"Add {test.fact} to starts_with."
    said = f"{wanted}. Nothing before it makes it so, and the run starts with {_name(test.fact)} {now}."
    return said, "Let a step before it make it so."


def _open_at_start(procedure: Procedure, test: FactTest | None) -> bool:
    """Say whether a condition may hold or not when a run opens, as the day will have it."""
    if test is None or any(test.fact in step.sets for step in procedure.steps):
        return False
    return len({test.holds(v) for v in opening_values(procedure, test.fact)}) > 1


def _leaves(orders: Orders) -> Iterator[Fault]:
    procedure = orders.procedure
    for state in orders.ends():
        at = orders.standing(state)
        for test in procedure.leaves:
            value = at.value(test.fact)
            if not test.holds(value):
                made = any(test.fact in step.sets for step in procedure.steps)
                left = f"it is {value}" if made else "no step makes it so, nor does starts_with"
                what = f"The end does not leave {test.words()}: {left}."
                mend = "Let a step make it so, or change leaves."
                yield Fault(procedure.file, 0, f"leaves.{test.fact}", what, mend)


def _unbriefed(procedure: Procedure) -> Iterator[Fault]:
    briefed = False
    for step in procedure.steps:
        if step.present and not briefed:
            what = f"Step {step.number} never opens: nobody is briefed before it."
            yield Fault(
                procedure.file, step.line, "present", what, "Put a step of kind brief first."
            )
        briefed = briefed or kind_of(step).presence


def _name(fact: str) -> str:
    return fact.replace("_", " ")
