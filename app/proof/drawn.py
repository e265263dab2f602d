"""A procedure drawn, as plain data: its steps as a ruler, and its facts as lanes along it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.procedure.model import FactTest, FactValue, Procedure
from app.procedure.registry import kind_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """One step on the ruler, with its seats as marks."""

    number: int
    id: str
    do: str
    line: int
    section: int
    kind: str
    critical: bool
    hold: bool
    check: str
    seats: tuple[str, ...]
    weak: bool  # it lies on the weakest path to some hazard


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A fact's value between two steps: it holds after `after` (0: from the start) up to `until`."""

    value: str
    after: int
    until: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One fact along the ruler: what it is believed to be, who looks at it, who needs it."""

    fact: str
    stretches: tuple[Stretch, ...]
    confirmed: tuple[int, ...]
    needed: tuple[int, ...]
    hazards: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Where a hazard would come about, and how many people must be wrong first; 0: nobody."""

    hazard: str
    step: int
    people: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """The whole drawing."""

    sections: tuple[str, ...]
    ruler: tuple[Notch, ...]
    lanes: tuple[Lane, ...]
    marks: tuple[Mark, ...]


def drawn(procedure: Procedure, marks: Iterable[Mark], weak: frozenset[str]) -> Drawn:
    """Return the drawing of a procedure in its written order."""
    touched = {test.fact for test in (*procedure.starts_with, *procedure.leaves)}
    for step in procedure.steps:
        touched |= set(step.sets) | {test.fact for test in (*step.needs, *step.confirms)}
    return Drawn(
        sections=tuple(section.title for section in procedure.sections),
        ruler=tuple(
            Notch(
                number=step.number,
                id=step.id,
                do=step.do,
                line=step.line,
                section=step.section,
                kind=step.kind,
                critical=step.critical,
                hold=kind_of(step).is_hold,
                check=step.check,
                seats=step.seats,
                weak=step.id in weak,
            )
            for step in procedure.steps
        ),
        lanes=tuple(_lane(procedure, fact) for fact in procedure.asset.facts if fact in touched),
        marks=tuple(marks),
    )


def _lane(procedure: Procedure, fact: str) -> Lane:
    values = procedure.asset.facts[fact].values
    tests = [test for test in procedure.starts_with if test.fact == fact]
    first = [value for value in values if all(test.holds(value) for test in tests)]
    changes: list[tuple[int, FactValue | None]] = [(0, first[0] if len(first) == 1 else None)]
    changes += [(step.number, step.sets[fact]) for step in procedure.steps if fact in step.sets]
    ends = [number for number, _ in changes[1:]] + [len(procedure.steps)]
    return Lane(
        fact=fact,
        stretches=tuple(
            Stretch(value="" if value is None else str(value), after=number, until=end)
            for (number, value), end in zip(changes, ends, strict=True)
        ),
        confirmed=tuple(s.number for s in procedure.steps if _names(s.confirms, fact)),
        needed=tuple(s.number for s in procedure.steps if _names(s.needs, fact)),
        hazards=tuple(h.id for h in procedure.asset.hazards if _names(h.never, fact)),
    )


def _names(tests: tuple[FactTest, ...], fact: str) -> bool:
    return any(test.fact == fact for test in tests)
