"""Which steps of a section of free order have to do with each other.

Steps of different groups commute: neither opens or shuts the other, neither changes what the other
looks at, and no hazard is touched by both. So the groups may be taken one after another.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of


def groups(procedure: Procedure) -> Mapping[str, int]:
    """Return the group of each step, numbered in written order."""
    leader = {step.id: step.number for step in procedure.steps}
    for section in procedure.sections:
        free = section.steps if section.order == "any" else ()
        for one, other in combinations(free, 2):
            low, high = sorted((leader[one.id], leader[other.id]))
            if low != high and _bound_together(procedure, one, other):
                leader |= {step.id: low for step in free if leader[step.id] == high}
    return leader


def _bound_together(procedure: Procedure, one: Step, other: Step) -> bool:
    if other.id in _decides(procedure, one) or one.id in _decides(procedure, other):
        return True
    for mine, theirs in ((one, other), (other, one)):
        if set(mine.sets) & (_looks_at(theirs) | set(theirs.sets)):
            return True
        for hazard in procedure.asset.hazards:
            facts = {test.fact for test in hazard.never}
            touched = set(theirs.sets) | {test.fact for test in theirs.confirms}
            if facts & set(mine.sets) and facts & touched:
                return True
    return False


def _decides(procedure: Procedure, step: Step) -> frozenset[str]:
    """Return the steps for which this one waits, and those that it may pass over."""
    waits = (*step.after, *((step.within.of,) if step.within else ()))
    ways = kind_of(step).branches(step, procedure).values()
    return frozenset((*waits, *(name for names in ways for name in names)))


def _looks_at(step: Step) -> frozenset[str]:
    return frozenset(test.fact for test in (*step.needs, *step.confirms))
