"""Who must sign, and when: the rules of the trade about seats, holds and acts that cannot be undone.

- An act that cannot be undone has two or more seats, and a way back (or says that there is none).
- It is signed before it is done: the second person is there to stop it, not to regret it. The same
  goes for an act that brings about a condition of a hazard, as taking the load on the hooks does.
- A seat is of a role that may perform; a hold has a seat that may release it.
- The crew that must be briefed can fill the seats of every step.

Source: concurrent and independent verification, DOE-STD-1036-93; the rest is common practice.
"""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from typing import TYPE_CHECKING

from app.procedure.registry import kinds

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.rules.written import Written


def seat_faults(written: Written, step: Step) -> Iterator[Fault]:
    """Yield the faults of one step against the rules above."""
    yield from _critical(written, step)
    yield from _signed_too_late(written, step)
    yield from _roles(written, step)
    yield from _crew(written, step)
    yield from _independent(written, step)


def _critical(written: Written, step: Step) -> Iterator[Fault]:
    if not step.critical:
        return
    if len(step.seats) < 2:
        what = "An act that cannot be undone has one seat."
        yield written.fault(step, "critical", what, "Name two or more roles in sign.")
    if not step.back_out and not step.no_return:
        what = "An act that cannot be undone says no way back to a safe state."
        yield written.fault(step, "critical", what, "Write back_out, or no_return = true.")


def arming(procedure: Procedure, step: Step) -> str:
    """Return the hazard of which the step brings about a condition, or ""."""
    for hazard in procedure.asset.hazards:
        for test in hazard.never:
            if test.holds(step.sets.get(test.fact)):
                return hazard.id
    return ""


def _signed_too_late(written: Written, step: Step) -> Iterator[Fault]:
    """An act without entries of its own (a hold, a briefing) is nothing but its signatures."""
    if step.check != "after" or kinds()[step.kind].closing == "signature":
        return
    hazard = arming(written.procedure, step)
    if hazard:
        what = f"This act leads towards {hazard}, and is signed only after it is done."
        yield written.fault(step, "check", what, 'Write check = "before".')
    elif step.critical:
        what = "An act that cannot be undone is signed only after it is done."
        yield written.fault(step, "check", what, 'Write check = "before".')


def _roles(written: Written, step: Step) -> Iterator[Fault]:
    abilities = written.site.roles
    for role in sorted(set(step.seats)):
        if "perform" not in abilities.get(role, frozenset()):
            what = f"The role {role} may not perform, so it cannot fill a seat."
            yield written.fault(step, "sign", what, "Name a role that has the ability perform.")
    may_release = any("release-hold" in abilities.get(role, frozenset()) for role in step.seats)
    if kinds()[step.kind].is_hold and not may_release:
        roles = " or ".join(role for role, may in abilities.items() if "release-hold" in may)
        what = "No seat of this hold may release it."
        yield written.fault(step, "sign", what, f"Give a seat to a {roles}.")


def _crew(written: Written, step: Step) -> Iterator[Fault]:
    for role, seats in Counter(step.seats).items():
        there = written.procedure.crew.get(role, 0)
        if seats > there and "perform" in written.site.roles.get(role, frozenset()):
            what = f"This step seats {seats} of {role}, and the crew has {there}."
            yield written.fault(step, "sign", what, f"Raise {role} in crew to {seats} or more.")


def _independent(written: Written, step: Step) -> Iterator[Fault]:
    if step.check == "independent" and len(step.seats) < 2:
        what = "One person cannot be independent of themselves."
        yield written.fault(step, "check", what, "Name two or more roles in sign.")
    if step.check != "independent" and step.apart > timedelta(0):
        what = "Only independent entries can be kept apart in time."
        yield written.fault(step, "apart", what, 'Write check = "independent", or take apart out.')
