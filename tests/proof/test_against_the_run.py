"""The proof against the run itself: every order and every set of wrong entries, through `decide`.

A small procedure is drawn by lot. Its runs are played out one after another: from every board on
which it may be opened, every step is tried in every order, each by real commands on the real state
and board. Beside it stands what is true, changed as a right or a wrong entry would change it. What
comes out is compared with the proof, which uses neither commands nor every order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import chain, combinations, product

from hypothesis import HealthCheck, example, given, settings

from app.procedure.loader import load_procedure
from app.procedure.model import FactValue, Procedure, Step
from app.procedure.registry import kind_of
from app.proof.cut_sets import members
from app.proof.hazards import Danger, cuts_of, shortest_way
from app.proof.orders import all_orders
from app.run.board import Board, FactNow, post
from app.run.commands import Command, Enter, Sign
from app.run.crew import Crew, Person
from app.run.decide import decide, decide_open
from app.run.events import Event, Happened
from app.run.refusal import Refusal
from app.run.state import RunState, evolve
from tests.proof.by_lot import (
    BEFORE_IT_IS_FREE,
    BEFORE_ITS_CONFIRMATION,
    DONE_OR_PASSED_OVER,
    ONE_AFTER_ANOTHER,
    SMALL_SITE,
    VALUES,
    WHILE_IT_IS_SO,
    texts_by_lot,
)

NOW = datetime(2027, 5, 6, 8, 0, tzinfo=UTC)
CREW = Crew(
    people={k: Person(id=k, name=k, roles=frozenset({"technician", "lead"})) for k in ("AB", "KM")},
    abilities=SMALL_SITE.roles,
)


@dataclass
class Played:
    """One run as far as it has gone."""

    procedure: Procedure
    board: Board
    state: RunState = field(default_factory=RunState)

    def after(self, events: list[Event], by: str) -> Played:
        state, board = self.state, self.board
        for event in events:
            happened = Happened(seq=state.seq + 1, at=NOW, by=by, event=event)
            state, board = evolve(state, happened), post(board, "R-0001", happened)
        return Played(self.procedure, board, state)

    def opened(self) -> Played | None:
        events = decide_open(self.procedure, self.board, CREW, run="R-0001", by="AB", open_runs=())
        return None if isinstance(events, Refusal) else self.after(events, "AB")

    def take(self, step: Step) -> Iterator[Played]:
        """Do a whole step in each way that there is; nothing comes of it if the run refuses."""
        for way in kind_of(step).branches(step, self.procedure) or {"": ()}:
            played = self.taken(step, way)
            if played is not None:
                yield played

    def taken(self, step: Step, way: str) -> Played | None:
        played = self
        for act, by in _acts(step, way):
            seen = played.state.seq
            command: Command = (
                Sign(by=by, step=step.id, signed=True, seen=seen)
                if act == "sign"
                else Enter(by=by, step=step.id, values={"branch": way, "why": "By lot"}, seen=seen)
                if way
                else Enter(by=by, step=step.id, seen=seen)
            )
            answer = decide(self.procedure, played.state, played.board, command, CREW, NOW)
            if isinstance(answer, Refusal):
                return None
            played = played.after(answer, by)
        assert played.state.progress(step.id).done
        return played


def _acts(step: Step, way: str) -> tuple[tuple[str, str], ...]:
    if way:
        return (("enter", "AB"), ("sign", "AB"))
    both = (("sign", "AB"), ("sign", "KM")) if len(step.seats) > 1 else ()
    return (*both, ("enter", "AB"))


@dataclass
class Found:
    """What all runs together came to."""

    taken: set[str] = field(default_factory=set)
    dead_end: bool = False
    finished: bool = False
    left_wrong: bool = False
    harmed: dict[str, set[frozenset[str]]] = field(default_factory=dict)  # hazard -> sets of wrong


Truths = frozenset[tuple[tuple[tuple[str, FactValue], ...], frozenset[str]]]  # truth, who is wrong


def _play(played: Played, truths: Truths, found: Found) -> None:
    left = [s for s in played.procedure.steps if not played.state.progress(s.id).settled]
    went_on = False
    for step in left:
        for following in played.take(step):
            went_on = True
            found.taken.add(step.id)
            _play(following, _after(played.procedure, step, truths, found), found)
    if not left:
        found.finished = True
        wrong = [t for t in played.procedure.leaves if not t.holds(played.board.value(t.fact))]
        found.left_wrong = found.left_wrong or bool(wrong)
    elif not went_on:
        found.dead_end = True


def _after(procedure: Procedure, step: Step, truths: Truths, found: Found) -> Truths:
    """Return every truth after the step, with who was wrong; a hazard is noted and not pursued."""
    after = set()
    for truth, wrong in truths:
        true = dict(truth)
        agrees = all(test.holds(true[test.fact]) for test in step.confirms)
        for part in chain.from_iterable(
            combinations(step.sets, n) for n in range(len(step.sets) + 1)
        ):
            right = agrees and len(part) == len(step.sets)
            who = wrong if right else wrong | {step.id}
            new = {**true, **{fact: step.sets[fact] for fact in part}}
            after.add((tuple(sorted(new.items())), who))
    for hazard in procedure.asset.hazards:
        for truth, wrong in after:
            if all(test.holds(dict(truth)[test.fact]) for test in hazard.never):
                found.harmed.setdefault(hazard.id, set()).add(wrong)
    return frozenset(after)


def _boards() -> Iterator[tuple[Board, dict[str, FactValue]]]:
    for chosen in product(*VALUES.values()):
        facts: dict[str, FactValue] = dict(zip(VALUES, chosen, strict=True))
        now = {name: FactNow(value=value) for name, value in facts.items()}
        yield Board(asset="primary", facts=now), facts


def _played_out(procedure: Procedure, hazard: str) -> Found:
    """Play every run that may be opened; for the hazard, those in which it is not there already."""
    found = Found()
    never = next(h.never for h in procedure.asset.hazards if h.id == hazard)
    for board, facts in _boards():
        played = Played(procedure, board).opened()
        there = all(test.holds(facts[test.fact]) for test in never)
        if played is not None:
            truths = {(tuple(sorted(facts.items())), frozenset[str]())} if not there else set()
            _play(played, frozenset(truths), found)
    return found


@example(text=BEFORE_ITS_CONFIRMATION)
@example(text=BEFORE_IT_IS_FREE)
@example(text=WHILE_IT_IS_SO)
@example(text=ONE_AFTER_ANOTHER)
@example(text=DONE_OR_PASSED_OVER)
@given(text=texts_by_lot())
@settings(
    max_examples=120,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
def test_the_proof_and_the_run_agree(text: str) -> None:
    procedure, faults = load_procedure(text, "QP-9.toml", SMALL_SITE)
    assert procedure is not None, [str(fault) for fault in faults]
    orders = all_orders(procedure, 10_000)

    for hazard in procedure.asset.hazards:
        found = _played_out(procedure, hazard.id)
        danger = Danger(orders, hazard)
        cuts = cuts_of(danger, 100_000)
        proved = {frozenset(procedure.steps[i].id for i in members(cut)) for cut in cuts.family}
        harmed = found.harmed.get(hazard.id, set())
        assert proved == {s for s in harmed if not any(other < s for other in harmed)}

        assert found.taken == {
            procedure.steps[i].id for moves in orders.moves.values() for i, _ in moves
        }
        assert found.dead_end == any(True for _ in orders.stuck())
        assert found.finished == any(True for _ in orders.ends())
        wrong = (
            not test.holds(orders.standing(end).value(test.fact))
            for end in orders.ends()
            for test in procedure.leaves
        )
        assert found.left_wrong == any(wrong)

        for cut in cuts.family:
            way = shortest_way(danger, cut)
            assert {act.place for act in way if act.wrong} == set(members(cut))
