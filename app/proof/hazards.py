"""How each hazard could come about: which entries must be wrong, and in what order.

Rules, with the allowed orders given:
- a step signed rightly makes its `sets` true; with `confirms` it passes only if they are true,
  otherwise the crew finds out, and that is the safe end of the search;
- a step signed wrongly passes whatever is true, and makes any part of its `sets` true, or nothing;
- a hazard is there when its `never` holds of what is true; what comes after does not matter.
Only the hazard's own facts can usefully be other than believed: of all others, belief is truth.
A run does not open while the hazard is there already.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product
from typing import NamedTuple

from app.procedure.model import FactValue, Hazard, Step
from app.proof.cut_sets import NEVER, Family, either, with_event
from app.proof.orders import Orders, State, opening_values

Truth = tuple[FactValue, ...]


class Outcome(NamedTuple):
    """What a step can come to: the truth after it, and whether its entry was wrong."""

    truth: Truth
    wrong: bool


class Point(NamedTuple):
    """A state with what is true in it."""

    state: State
    truth: Truth


class Act(NamedTuple):
    """One step of an order: its place in the text, whether it was signed wrongly, what was true."""

    place: int
    wrong: bool
    before: Truth
    after: Truth


@dataclass(frozen=True, slots=True)
class Cuts:
    """The minimal sets of wrong entries with which a hazard comes about."""

    family: Family
    states: int  # how many were looked at
    whole: bool  # False: the bound was reached first


class Danger:
    """One hazard, with the facts that it rests on."""

    def __init__(self, orders: Orders, hazard: Hazard) -> None:
        self.orders = orders
        self.hazard = hazard
        self.facts = tuple(dict.fromkeys(test.fact for test in hazard.never))
        self._known: dict[tuple[int, Truth], tuple[Outcome, ...]] = {}

    def is_there(self, truth: Truth) -> bool:
        """Say whether the hazard is there."""
        true = dict(zip(self.facts, truth, strict=True))
        return all(test.holds(true[test.fact]) for test in self.hazard.never)

    def starts(self) -> Iterator[Point]:
        """Yield every state in which a run can open without the hazard being there."""
        carried = self.orders.facts
        for state in self.orders.starts:
            believed = dict(zip(carried, state.believed, strict=True))
            choices = []
            for fact in self.facts:
                value = believed.get(fact)
                known = (value,) if value is not None else None
                choices.append(known or opening_values(self.orders.procedure, fact))
            for truth in product(*choices):
                if not self.is_there(truth):
                    yield Point(state, truth)

    def outcomes(self, place: int, truth: Truth) -> tuple[Outcome, ...]:
        """Return all that a step can come to, the right entry first; no wrong one that gains nothing."""
        key = place, truth
        if key not in self._known:
            step = self.orders.procedure.steps[place]
            self._known[key] = tuple(dict.fromkeys(self._outcomes(step, truth)))
        return self._known[key]

    def _outcomes(self, step: Step, truth: Truth) -> Iterator[Outcome]:
        true = dict(zip(self.facts, truth, strict=True))
        right = self._after(step, truth, tuple(step.sets))
        agrees = all(test.holds(true[test.fact]) for test in step.confirms if test.fact in true)
        if agrees:
            yield Outcome(right, wrong=False)
        else:
            yield Outcome(right, wrong=True)
        mine = [fact for fact in step.sets if fact in true]
        for many in range(len(mine)):
            for part in combinations(mine, many):
                after = self._after(step, truth, part)
                if after != right:
                    yield Outcome(after, wrong=True)

    def _after(self, step: Step, truth: Truth, made: tuple[str, ...]) -> Truth:
        return tuple(
            step.sets[fact] if fact in made else value
            for fact, value in zip(self.facts, truth, strict=True)
        )


def cuts_of(danger: Danger, bound: int) -> Cuts:
    """Return the minimal cut sets of a hazard, over every allowed order."""
    orders, found, states = danger.orders, NEVER, 0
    there: dict[State, dict[Truth, Family]] = {}
    for start in danger.starts():
        there.setdefault(start.state, {})[start.truth] = (0,)
    for state, moves in orders.moves.items():
        truths = there.pop(state, {})
        states += sum(len(family) for family in truths.values())
        if states > bound:
            return Cuts(found, states, whole=False)
        for place, following in moves:
            after = there.setdefault(following, {})
            for truth, family in truths.items():
                for outcome in danger.outcomes(place, truth):
                    wrong = with_event(family, 1 << place) if outcome.wrong else family
                    if outcome.truth != truth and danger.is_there(outcome.truth):
                        found = either(found, wrong)
                    else:
                        after[outcome.truth] = either(after.get(outcome.truth, NEVER), wrong)
    return Cuts(found, states, whole=orders.whole)


def shortest_way(danger: Danger, wrong: int) -> tuple[Act, ...]:
    """Return the shortest order to the hazard in which no other entries than these are wrong."""
    came: dict[Point, tuple[Point, Act]] = {}
    waiting = list(danger.starts())
    seen = set(waiting)
    for point in waiting:  # grows as points are found: breadth first
        for place, following in danger.orders.moves.get(point.state, ()):
            for outcome in danger.outcomes(place, point.truth):
                if outcome.wrong and not wrong >> place & 1:
                    continue
                act = Act(place, outcome.wrong, point.truth, outcome.truth)
                if outcome.truth != point.truth and danger.is_there(outcome.truth):
                    return _needed(danger.orders, (*_back(came, point), act))
                after = Point(following, outcome.truth)
                if after not in seen:
                    seen.add(after)
                    came[after] = (point, act)
                    waiting.append(after)
    return ()


def _back(came: dict[Point, tuple[Point, Act]], point: Point) -> tuple[Act, ...]:
    acts: list[Act] = []
    while point in came:
        point, act = came[point]
        acts.append(act)
    return tuple(reversed(acts))


def _needed(orders: Orders, acts: tuple[Act, ...]) -> tuple[Act, ...]:
    """Leave out what was taken beside the last act's group, in its section of free order."""
    steps, group = orders.procedure.steps, orders.group
    last = steps[acts[-1].place]
    if orders.procedure.sections[last.section].order != "any":
        return acts
    return tuple(
        act
        for act in acts
        if steps[act.place].section != last.section or group[steps[act.place].id] == group[last.id]
    )
