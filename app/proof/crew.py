"""Whether somebody can fill each seat, and the least crew all of them: dead ends of people.

Looked at are the seats that a rule keeps from whoever worked on other steps: those of a hold, and
those with `not_same_as`. For each role, the seats of such a step together with those of one earlier
step must not need more people of that role than the crew has at least. The rules are the run's own.
"""

from __future__ import annotations

from collections.abc import Iterator

from app.procedure.faults import Fault
from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.proof.people import Rules
from app.proof.scenes import Part
from app.run.scene import needs_signatures


def crew_faults(procedure: Procedure, rules: Rules) -> Iterator[Fault]:
    """Yield a fault for every step that the least crew could come to and not fill."""
    for step in procedure.steps:
        part = rules.nobody(step)
        if part is not None:
            yield _never(procedure, step, part)
        if kind_of(step).is_hold or step.not_same_as:
            fault = next(_too_small(procedure, rules, step), None)
            if fault is not None:
                yield fault


def _never(procedure: Procedure, step: Step, part: Part) -> Fault:
    act = "enter on" if part.enters and not part.signs else "sign"
    what = (
        f"The rules of seats let nobody {act} step {step.number} as {part.role}, so it never ends."
    )
    if step.check == "before" and not needs_signatures(step):
        mend = "Nobody is there to agree before the act: name two or more roles in sign."
    else:
        mend = "Give its seats to other roles."
    return Fault(procedure.file, step.line, "check", what, mend)


def _too_small(procedure: Procedure, rules: Rules, step: Step) -> Iterator[Fault]:
    for role in dict.fromkeys(step.seats):
        there = procedure.crew.get(role, 0)
        if step.seats.count(role) > there:
            continue  # a rule of the trade says so already
        for earlier in procedure.steps[: step.number - 1]:
            if role in earlier.seats and earlier.seats.count(role) <= there:
                needed = len(rules.fewest((earlier, step), role))
                if needed > there:
                    yield _fault(procedure, step, earlier, role, needed)


def _fault(procedure: Procedure, step: Step, earlier: Step, role: str, needed: int) -> Fault:
    there = procedure.crew.get(role, 0)
    what = (
        f"Steps {earlier.number} and {step.number} need {needed} people as {role} between them, "
        f"and the least crew has {there}: step {step.number} could not be signed."
    )
    mend = f"Raise {role} in crew to {needed}, or give the seat to another role."
    return Fault(procedure.file, step.line, "sign", what, mend)
