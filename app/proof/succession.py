"""Whether procedures can follow one another: each `leaves` meets the next `starts_with`.

A fact that a procedure sets is known after it only by what its `leaves` says; one that it does not
touch stays as it was. Procedures of different assets do not follow each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from app.procedure.faults import Fault
from app.procedure.model import FactTest, FactValue, Procedure

Known = dict[str, frozenset[FactValue]]  # what each fact may be, as far as the texts say


def chain_faults(procedures: Sequence[Procedure]) -> Iterator[Fault]:
    """Yield a fault for every start that the procedure before it does not lead to."""
    last: dict[str, tuple[Procedure, Known]] = {}
    for procedure in procedures:
        asset = procedure.asset.id
        if asset in last:
            yield from _meets(procedure, *last[asset])
        else:
            last[asset] = (procedure, _anything(procedure))
        last[asset] = (procedure, _after(procedure, last[asset][1]))


def _meets(procedure: Procedure, before: Procedure, known: Known) -> Iterator[Fault]:
    for test in procedure.starts_with:
        wrong = [value for value in _ordered(procedure, test.fact, known) if not test.holds(value)]
        if wrong:
            left = ", ".join(str(value) for value in wrong[:3]) + (", ..." if wrong[3:] else "")
            said = any(test.fact == each.fact for each in before.leaves)
            name = test.fact.replace("_", " ")
            how = f"leaves {name}" if said else f"does not say so: {name} may be"
            what = f"{procedure.id} starts with {test.words()}, and {before.id} before it {how} {left}."
            mend = f"Change leaves of {before.id}, or put a procedure between them."
            yield Fault(procedure.file, 0, f"starts_with.{test.fact}", what, mend)


def _anything(procedure: Procedure) -> Known:
    return {name: frozenset(fact.values) for name, fact in procedure.asset.facts.items()}


def _after(procedure: Procedure, known: Known) -> Known:
    changed = {fact for step in procedure.steps for fact in step.sets}
    after: Known = {}
    for name, fact in procedure.asset.facts.items():
        if name in changed:
            after[name] = _meeting(procedure.leaves, name, frozenset(fact.values))
        else:
            left = (*procedure.starts_with, *procedure.leaves)
            after[name] = _meeting(left, name, known[name])
    return after


def _meeting(
    tests: Sequence[FactTest], name: str, values: frozenset[FactValue]
) -> frozenset[FactValue]:
    return frozenset(v for v in values if all(test.holds(v) for test in tests if test.fact == name))


def _ordered(
    procedure: Procedure, name: str, known: Mapping[str, frozenset[FactValue]]
) -> tuple[FactValue, ...]:
    return tuple(value for value in procedure.asset.facts[name].values if value in known[name])
