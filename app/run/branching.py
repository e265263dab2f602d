"""Branches: which steps a choice closes, and which it opens.

Rules, all of them here:
- a choice opens the steps of one branch; those of its other branches are passed over;
- where a step that is passed over would itself have chosen, all its branches are passed over too;
- a choice is not changed once a step of the branch that it opened has been begun.
"""

from __future__ import annotations

from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of


def closed_by(procedure: Procedure, step: Step, taken: str) -> tuple[str, ...]:
    """Return, in written order, the steps that are passed over when a branch is taken."""
    branches = kind_of(step).branches(step, procedure)
    opened = set(branches.get(taken, ()))
    closed = {name for names in branches.values() for name in names} - opened
    for each in procedure.steps:  # a choice opens only later steps: one pass suffices
        if each.id in closed:
            inner = kind_of(each).branches(each, procedure)
            closed |= {name for names in inner.values() for name in names}
    return tuple(each.id for each in procedure.steps if each.id in closed)


def opened_by(procedure: Procedure, step: Step, taken: str) -> tuple[str, ...]:
    """Return the steps of the branch that was taken."""
    return tuple(kind_of(step).branches(step, procedure).get(taken, ()))


def may_be_passed_over(procedure: Procedure) -> frozenset[str]:
    """Return the steps that some choice could close."""
    return frozenset(
        name
        for step in procedure.steps
        for names in kind_of(step).branches(step, procedure).values()
        for name in names
    )
