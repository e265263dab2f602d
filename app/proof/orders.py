"""Every order in which a procedure's interlocks let its steps be taken.

Rules of the search:
- the interlocks look at what is believed, and a step signed rightly or wrongly changes what is
  believed in the same way: so the allowed orders are one graph, whoever is wrong;
- a state is the steps done and the believed facts that some interlock reads; a step is taken once;
- a run opens with every value that `starts_with` allows of a fact which is read before it is set,
  one of each sort that some condition tells apart; other facts that it does not name are in doubt;
- a step that chooses a branch is followed by one state for each of its branches, in which the steps
  of the others count as done without having made anything true;
- within a section of free order, steps that have nothing to do with each other (no fact in common
  that one of them sets, no hazard that both touch, no `after` between them) are taken one group
  after another: every other order reaches the same hazards, dead ends and steps.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple

from app.procedure.model import FactTest, FactValue, Procedure, Step
from app.procedure.registry import kind_of
from app.proof.groups import groups
from app.run.branching import closed_by, may_be_passed_over
from app.run.locks import in_order, locks

Beliefs = tuple[FactValue | None, ...]


class State(NamedTuple):
    """The steps done, as bits by written order, and what is believed of the facts that are read."""

    done: int
    believed: Beliefs


@dataclass(frozen=True, slots=True)
class Orders:
    """The graph of all allowed orders; states stand in the order of how many steps are done."""

    procedure: Procedure
    facts: tuple[str, ...]  # those believed facts that a state carries
    starts: tuple[State, ...]
    group: Mapping[str, int]  # of each step: those of one group have to do with each other
    moves: Mapping[State, tuple[tuple[int, State], ...]]
    came: Mapping[State, tuple[State, int]] = field(default_factory=dict)
    whole: bool = True  # False: the bound was reached before the search was over

    def standing(self, state: State) -> Standing:
        """Return a state as the interlocks look at it."""
        return Standing(self.procedure, self.facts, state)

    def ends(self) -> Iterator[State]:
        """Yield the states in which every step is done."""
        everything = (1 << len(self.procedure.steps)) - 1
        return (state for state in self.moves if state.done == everything)

    def stuck(self) -> Iterator[State]:
        """Yield the states in which steps are left, and none of them opens."""
        everything = (1 << len(self.procedure.steps)) - 1
        return (s for s, moves in self.moves.items() if not moves and s.done != everything)

    def way(self, state: State) -> tuple[int, ...]:
        """Return the steps, by place in the text, that led to a state."""
        steps: list[int] = []
        while state in self.came:
            state, step = self.came[state]
            steps.append(step)
        return tuple(reversed(steps))


class Standing:
    """A state of the search, asked by the interlocks of the run."""

    def __init__(self, procedure: Procedure, facts: tuple[str, ...], state: State) -> None:
        self._done = {
            step.id for place, step in enumerate(procedure.steps) if state.done >> place & 1
        }
        self._believed = dict(zip(facts, state.believed, strict=True))

    def is_done(self, step: str) -> bool:
        """Say whether a step is done."""
        return step in self._done

    def value(self, fact: str) -> FactValue | None:
        """Return what is believed of a fact."""
        return self._believed.get(fact)


def all_orders(procedure: Procedure, bound: int) -> Orders:
    """Return every allowed order, up to so many states."""
    facts = tuple(sorted(_read(procedure)))
    group = groups(procedure)
    starts: list[State] = []
    for believed in product(*(_opening(procedure, fact) for fact in facts)):
        if len(starts) == bound:
            return Orders(procedure, facts, tuple(starts), group, {}, whole=False)
        starts.append(State(0, believed))
    moves: dict[State, tuple[tuple[int, State], ...]] = {}
    came: dict[State, tuple[State, int]] = {}
    waiting, seen = list(starts), set(starts)
    for state in waiting:  # grows as states are found: breadth first
        if len(moves) == bound:
            return Orders(procedure, facts, tuple(starts), group, moves, came, whole=False)
        found = tuple(_moves(procedure, facts, group, state))
        moves[state] = found
        for place, following in found:
            if following not in seen:
                seen.add(following)
                came[following] = (state, place)
                waiting.append(following)
    # A choice settles several steps at once, so the order of finding is not that of how many are done.
    ordered = dict(sorted(moves.items(), key=lambda each: each[0].done.bit_count()))
    return Orders(procedure, facts, tuple(starts), group, ordered, came)


def _moves(
    procedure: Procedure, facts: tuple[str, ...], group: Mapping[str, int], state: State
) -> Iterator[tuple[int, State]]:
    at = Standing(procedure, facts, state)
    open_now = [s for s in in_order(procedure, at) if not any(locks(procedure, s, at))]
    first = min((group[step.id] for step in open_now), default=0)
    for step in open_now:
        if group[step.id] == first:
            place = step.number - 1
            believed = tuple(
                step.sets.get(fact, value)
                for fact, value in zip(facts, state.believed, strict=True)
            )
            for closed in _closed(procedure, step):
                yield place, State(state.done | 1 << place | closed, believed)


def _closed(procedure: Procedure, step: Step) -> tuple[int, ...]:
    """Return, for each way on from a step, the steps that are passed over, as bits."""
    ways = kind_of(step).branches(step, procedure)
    if not ways:
        return (0,)
    numbers = {each.id: each.number - 1 for each in procedure.steps}
    closed = (closed_by(procedure, step, taken) for taken in ways)
    return tuple(sum(1 << numbers[name] for name in names) for names in closed)


def _read(procedure: Procedure) -> frozenset[str]:
    """Return the facts that some interlock, or the end, looks at."""
    read = {test.fact for step in procedure.steps for test in (*step.needs, *step.confirms)}
    return frozenset(read | {test.fact for test in procedure.leaves})


def _opening(procedure: Procedure, fact: str) -> tuple[FactValue | None, ...]:
    """Return what may be believed of a fact when a run opens."""
    values = opening_values(procedure, fact)
    if len(values) == 1 or read_before_set(procedure, fact):
        return values
    return (None,)


def opening_values(procedure: Procedure, fact: str) -> tuple[FactValue, ...]:
    """Return one value of each sort that a fact can have when a run opens."""
    tests = _tests(procedure, fact)
    sorts: dict[tuple[bool, ...], FactValue] = {}
    for value in procedure.asset.facts[fact].values:
        if all(test.holds(value) for test in procedure.starts_with if test.fact == fact):
            sorts.setdefault(tuple(test.holds(value) for test in tests), value)
    return tuple(sorts.values())


def _tests(procedure: Procedure, fact: str) -> tuple[FactTest, ...]:
    written = [test for step in procedure.steps for test in (*step.needs, *step.confirms)]
    written += [test for hazard in procedure.asset.hazards for test in hazard.never]
    return tuple({test: None for test in (*written, *procedure.leaves) if test.fact == fact})


def read_before_set(procedure: Procedure, fact: str) -> bool:
    """Say whether some order may read a fact as it stood when the run opened."""
    open_ways = may_be_passed_over(procedure)
    setters = [step for step in procedure.steps if fact in step.sets]
    if not any(setter.id not in open_ways for setter in setters) and any(
        test.fact == fact for test in procedure.leaves
    ):
        return True  # the end looks at it
    return any(
        not any(
            setter.id not in open_ways and _surely_before(procedure, setter, reader)
            for setter in setters
        )
        for reader in procedure.steps
        if any(test.fact == fact for test in (*reader.needs, *reader.confirms))
    )


def _surely_before(procedure: Procedure, one: Step, other: Step) -> bool:
    if one.section == other.section and procedure.sections[one.section].order == "any":
        return False
    return one.number < other.number
