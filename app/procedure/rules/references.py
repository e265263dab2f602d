"""What a procedure says of itself must be there: steps, readings, and in an order that can be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from app.calculations.quantity import same_dimension
from app.procedure.faults import Fault
from app.procedure.nearest import did_you_mean

if TYPE_CHECKING:
    from app.procedure.model import Procedure, Step
    from app.procedure.rules.written import Written


def reference_faults(written: Written) -> Iterator[Fault]:
    """Yield a fault for every reference that leads nowhere, or to a step that comes too late."""
    seen: set[str] = set()
    for step in written.procedure.steps:
        if step.id in seen:
            yield written.fault(
                step, "id", f"{step.id} names two steps.", "Give each step its own id."
            )
        seen.add(step.id)
        yield from _after(written, step)
        yield from _earlier(written, step)
        yield from _readings(written, step)


def _after(written: Written, step: Step) -> Iterator[Fault]:
    for other in step.after:
        found = _step(written, step, "after", other)
        if isinstance(found, Fault):
            yield found
        elif found.number >= step.number and not _same_free_section(written.procedure, step, found):
            what = f"{other} comes after this step, so this step can never open."
            yield written.fault(step, "after", what, "Put the steps in the order of the work.")


def _earlier(written: Written, step: Step) -> Iterator[Fault]:
    """Yield faults of references that must lead to an earlier step."""
    named = [("not_same_as", other) for other in step.not_same_as]
    named += [("evidence", other) for other in evidence(written, step)]
    if step.within is not None and step.within.of:
        named.append(("within.of", step.within.of))
    for key, other in named:
        found = _step(written, step, key, other)
        if isinstance(found, Fault):
            yield found
        elif found.number >= step.number:
            what = f"{other} is not an earlier step."
            yield written.fault(step, key, what, "Name a step that is done before this one.")
    if step.within is not None and step.within.if_missed:
        found = _step(written, step, "within.if_missed", step.within.if_missed)
        if isinstance(found, Fault):
            yield found


def evidence(written: Written, step: Step) -> tuple[str, ...]:
    """Return the steps that a hold shows as its evidence."""
    listed = written.raw(step).get("evidence")
    return (
        tuple(each for each in listed if isinstance(each, str)) if isinstance(listed, list) else ()
    )


def _step(written: Written, step: Step, key: str, other: str) -> Step | Fault:
    found = written.procedure.step(other)
    if found is not None:
        return found
    ids = [each.id for each in written.procedure.steps]
    mend = did_you_mean(other, ids, "Name a step of this procedure.")
    return written.fault(step, key, f"{other} is not a step of this procedure.", mend)


def _same_free_section(procedure: Procedure, step: Step, other: Step) -> bool:
    free = procedure.sections[step.section].order == "any"
    return free and step.section == other.section and step.id != other.id


def _readings(written: Written, step: Step) -> Iterator[Fault]:
    """Yield a fault for a fresh reading that no step takes, or that is taken in another dimension."""
    units = {
        name: unit for each in written.procedure.steps for name, unit in _taken(written.raw(each))
    }
    for index, fresh in enumerate(step.fresh):
        if fresh.reading and fresh.reading not in units:
            mend = did_you_mean(
                fresh.reading, units, f'Add a step with reading = "{fresh.reading}".'
            )
            what = f"No step of this procedure reads {fresh.reading}."
            yield written.fault(step, f"fresh[{index}].reading", what, mend)
            continue
        unit = units.get(fresh.reading, "")
        for key, limit in (("at_least", fresh.at_least), ("at_most", fresh.at_most)):
            if limit is not None and unit and not same_dimension(limit.unit, unit):
                what = f"{limit} cannot be compared with {fresh.reading}, which is read in {unit}."
                yield written.fault(step, f"fresh[{index}].{key}", what, f"Give it in {unit}.")


def _taken(raw: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """Return the readings that a step puts on the board, each with its unit as written."""
    several = raw.get("readings")
    for each in (raw, *(several if isinstance(several, list) else ())):
        if isinstance(each, Mapping) and isinstance(each.get("reading"), str):
            yield each["reading"], str(each.get("unit", ""))
