"""The typed model of a site and of a procedure: what was written, checked for form, never changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cached_property
from typing import Literal

from app.calculations.quantity import Quantity

FactValue = str | int
Check = Literal["after", "before", "independent"]
Order = Literal["strict", "any"]
Comparison = Literal["is", "not", "at_least", "at_most"]


@dataclass(frozen=True, slots=True)
class FactTest:
    """One condition on one fact of the hardware, as in `brackets = { at_least = 1 }`."""

    fact: str
    comparison: Comparison
    value: FactValue

    def holds(self, found: FactValue | None) -> bool:
        """Say whether the condition holds; a fact that is not known satisfies no condition."""
        if found is None:
            return False
        match self.comparison:
            case "is":
                return found == self.value
            case "not":
                return found != self.value
            case "at_least":
                return (
                    isinstance(found, int) and isinstance(self.value, int) and found >= self.value
                )
            case "at_most":
                return (
                    isinstance(found, int) and isinstance(self.value, int) and found <= self.value
                )

    def words(self) -> str:
        """Return the condition as a person says it: `brackets at most 3`."""
        between = {"is": " ", "not": " not ", "at_least": " at least ", "at_most": " at most "}
        return f"{self.fact.replace('_', ' ')}{between[self.comparison]}{self.value}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """A finite fact of the hardware: a list of words, or a whole-number range."""

    name: str
    values: tuple[FactValue, ...]
    now: FactValue


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """A state of the hardware that must never be, and how many people must be wrong first."""

    id: str
    harm: str
    never: tuple[FactTest, ...]
    people: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Asset:
    """A piece of hardware that procedures are about, with its facts and hazards."""

    id: str
    title: str
    facts: Mapping[str, Fact]
    hazards: tuple[Hazard, ...]

    def hazard_facts(self) -> frozenset[str]:
        """Return the names of the facts on which some hazard rests."""
        return frozenset(test.fact for hazard in self.hazards for test in hazard.never)


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """The observatory: its place, its roles and what each may do, its assets."""

    name: str
    latitude: float
    longitude: float
    elevation: Quantity
    time_zone: str
    roles: Mapping[str, frozenset[str]]
    assets: Mapping[str, Asset]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Named places on the hardware, seen from above, datum up; angles in degrees clockwise."""

    shape: Literal["ring", "rings", "list"]
    names: tuple[str, ...]
    angles: tuple[float, ...] = ()  # one for each name; empty for a list
    rings: tuple[int, ...] = ()  # how many names stand on each ring, inner first


@dataclass(frozen=True, slots=True, kw_only=True)
class Fresh:
    """A reading that must be within a limit and young at the moment of the act."""

    reading: str
    age: timedelta
    at_least: Quantity | None = None
    at_most: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Within:
    """A deadline (or a least wait) counted from another step."""

    of: str
    at_least: timedelta | None = None
    at_most: timedelta | None = None
    if_missed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One act of a procedure, with its limits, interlocks and seats."""

    id: str
    number: int  # from 1, through the whole procedure
    line: int  # where it stands in the file
    section: int  # index into Procedure.sections
    kind: str
    do: str
    own: object  # what the kind read from its own keys
    why: str = ""
    danger: str = ""
    warning: str = ""
    caution: str = ""
    notice: str = ""
    mirror: str = ""
    picture: str = ""
    picture_text: str = ""
    critical: bool = False
    back_out: str = ""
    no_return: bool = False
    safe_point: bool = False  # work may be suspended once this step is done
    seats: tuple[str, ...] = ("technician",)
    check: Check = "after"
    apart: timedelta = timedelta(0)
    not_same_as: tuple[str, ...] = ()
    needs: tuple[FactTest, ...] = ()
    after: tuple[str, ...] = ()
    fresh: tuple[Fresh, ...] = ()
    within: Within | None = None
    tool: str = ""
    present: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    sets: Mapping[str, FactValue] = field(default_factory=dict)
    confirms: tuple[FactTest, ...] = ()
    photo: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A stretch of steps with one title and one rule of order."""

    title: str
    order: Order
    steps: tuple[Step, ...]


@dataclass(frozen=True, kw_only=True)  # no slots: it keeps what it has worked out
class Procedure:
    """A whole procedure, as released: the model of its exact bytes."""

    id: str
    revision: int
    title: str
    purpose: str
    planned: timedelta
    safe_state: str
    crew: Mapping[str, int]
    starts_with: tuple[FactTest, ...]
    leaves: tuple[FactTest, ...]
    sections: tuple[Section, ...]
    asset: Asset
    file: str
    sha256: str

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Return all steps in written order."""
        return tuple(step for section in self.sections for step in section.steps)

    @cached_property
    def by_kind(self) -> Mapping[str, tuple[Step, ...]]:
        """Return the steps of each kind that occurs, in written order."""
        found: dict[str, list[Step]] = {}
        for step in self.steps:
            found.setdefault(step.kind, []).append(step)
        return {kind: tuple(steps) for kind, steps in found.items()}

    @cached_property
    def _by_id(self) -> Mapping[str, Step]:
        return {step.id: step for step in self.steps}

    def step(self, step_id: str) -> Step | None:
        """Return the step with this id, or None."""
        return self._by_id.get(step_id)
