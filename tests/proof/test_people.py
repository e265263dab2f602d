"""The least number of people against the run itself: every cast, through `decide`.

A procedure of a few signed steps is drawn by lot. Its run is played with two people who hold every
role, then with three, and so on, each act tried by each of them, until some cast reaches the end.
The proof must name that very number for all of its steps together.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.procedure.model import Procedure
from app.proof.people import Rules, casts, shared_out
from app.proof.scenes import Part
from app.run.board import Board, first_board
from app.run.commands import Command, Enter, Sign
from app.run.crew import Crew, Person
from app.run.decide import decide
from app.run.events import Event, Happened, RunOpened
from app.run.refusal import Refusal
from app.run.signing import AT_MIRROR
from app.run.state import RunState, evolve
from tests.proof.by_lot import HEAD
from tests.proof.texts import GOOD, SITE, the_procedure, the_site

THE_SITE = the_site(SITE)
NAMES = ("AA", "BB", "CC", "DD", "EE", "FF")
ROLES = frozenset({"technician", "supervisor", "lead"})
CREW = Crew(
    people={name: Person(id=name, name=name, roles=ROLES) for name in NAMES},
    abilities=THE_SITE.roles,
)
NOW = datetime(2027, 5, 6, 8, 0, tzinfo=UTC)
SHAPES = (
    'kind = "tick"',
    'kind = "tick"\nsign = ["technician", "supervisor"]',
    'kind = "tick"\nsign = ["technician", "lead"]\ncheck = "before"',
    'kind = "tick"\nsign = ["technician"]\ncheck = "before"\ncritical = true\nno_return = true',
    'kind = "count"\nof = "clips"\nexpect = 0\nsign = ["technician", "technician"]\ncheck = "independent"',
    'kind = "hold"\nstatement = "It is so."\nsign = ["supervisor"]',
    'kind = "hold"\nstatement = "It is so."\nsign = ["technician", "lead"]',
)


@st.composite
def _texts(draw: st.DrawFn) -> str:
    order = draw(st.sampled_from(["strict", "strict", "any"]))
    text = HEAD + f'[[sections]]\ntitle = "S"\norder = "{order}"\n'
    for n in range(draw(st.integers(1, 3))):
        shape = draw(st.sampled_from(SHAPES))
        text += f'[[sections.steps]]\nid = "s{n}"\ndo = "Look."\n{shape}\n'
        kept: bool = draw(st.booleans())
        if n and kept and order == "strict":
            text += f'not_same_as = ["s{draw(st.integers(0, n - 1))}"]\n'
    return text


def _commands(procedure: Procedure, state: RunState, people: int) -> Iterator[Command]:
    for step in procedure.steps:
        if state.progress(step.id).done:
            continue
        for by in NAMES[:people]:
            values = {"count": "0"} if step.kind == "count" else {}
            signed = step.kind == "count"
            yield Enter(by=by, step=step.id, values=values, signed=signed, seen=state.seq)
            yield Sign(by=by, step=step.id, how=AT_MIRROR, signed=True, seen=state.seq)


def _can_end(procedure: Procedure, people: int) -> bool:
    """Say whether so many people can do the whole procedure, every act tried by each of them."""
    board: Board = first_board(procedure.asset)
    opened = RunOpened(
        run="R-0001", procedure="QP-9", revision=1, title="", sha256="", asset="primary", facts={}
    )
    start = _after(RunState(), [opened], "AA")
    waiting, seen = [start], {_key(start)}
    for state in waiting:
        if all(state.progress(step.id).done for step in procedure.steps):
            return True
        for command in _commands(procedure, state, people):
            answer = decide(procedure, state, board, command, CREW, NOW)
            if isinstance(answer, Refusal):
                continue
            after = _after(state, answer, command.by)
            if _key(after) not in seen:
                seen.add(_key(after))
                waiting.append(after)
    return False


def _after(state: RunState, events: list[Event], by: str) -> RunState:
    for event in events:
        state = evolve(state, Happened(seq=state.seq + 1, at=NOW, by=by, event=event))
    return state


def _key(state: RunState) -> frozenset[object]:
    """Return who has done what, whatever the order."""
    acts: set[object] = set()
    for name, progress in state.steps.items():
        acts |= {(name, "entered", entry.by, entry.seat) for entry in progress.entries}
        acts |= {(name, "signed", s.by, s.seat) for s in progress.signatures}
        acts |= {(name, "done")} if progress.done else set()
    return frozenset(acts)


@given(text=_texts())
@settings(max_examples=40, deadline=None)
def test_the_proof_names_the_fewest_people_with_whom_the_run_can_be_done(text: str) -> None:
    procedure = the_procedure(text)

    fewest = len(Rules(procedure, THE_SITE).fewest(procedure.steps))

    assert _can_end(procedure, fewest)
    assert fewest == 1 or not _can_end(procedure, fewest - 1)


def _part(procedure: Procedure, step_id: str, seat: int = 0) -> Part:
    step = procedure.step(step_id)
    assert step is not None
    return next(iter(casts(step)))[seat]


@pytest.mark.parametrize(
    ("one", "other", "clash"),
    [
        (("brackets-off", 0), ("count", 0), False),
        (("brackets-off", 0), ("hold", 0), True),  # entered since the last hold
        (("count", 0), ("count", 1), True),  # two seats of one step
        (("count", 2), ("hold", 0), True),
        (("hold", 0), ("lift", 1), False),
        (("brief", 0), ("hold", 0), False),  # who says they were there has done no work
        (("lift", 0), ("lift", 1), True),
    ],
)
def test_two_parts_clash_as_the_run_says(
    one: tuple[str, int], other: tuple[str, int], clash: bool
) -> None:
    procedure = the_procedure(GOOD)

    found = Rules(procedure, THE_SITE).clash(_part(procedure, *one), _part(procedure, *other))

    assert found is clash


def test_whoever_agrees_before_the_act_and_does_not_do_it_may_release_the_hold() -> None:
    """Of two who agree, one enters; the other has entered nothing, so two people are enough."""
    text = HEAD + '[[sections]]\ntitle = "S"\n'
    for n, shape in enumerate((SHAPES[2], SHAPES[5])):
        text += f'[[sections.steps]]\nid = "s{n}"\ndo = "Look."\n{shape}\n'
    procedure = the_procedure(text)

    assert len(Rules(procedure, THE_SITE).fewest(procedure.steps)) == 2


def test_people_are_shared_out_exactly_and_not_as_they_come() -> None:
    """A crown: six parts, each clashing with two of the other side. Taken as they come it needs three."""
    crown = [[i % 2 != j % 2 and i // 2 != j // 2 for j in range(6)] for i in range(6)]

    assert shared_out(crown, range(6), 1) is None
    shared = shared_out(crown, range(6), 2)
    assert shared is not None
    assert {frozenset(mine) for mine in shared} == {frozenset({0, 2, 4}), frozenset({1, 3, 5})}
