"""A step as the technician will see it, before anyone works by it: marked, and nothing can be done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from app.desk.seen import Seen
from app.people.sessions import Session
from app.procedure.entry import Entry
from app.procedure.model import FactValue, Procedure, Step
from app.procedure.registry import kind_of
from app.run.board import Board, FactNow, ReadingNow, first_board
from app.run.crew import Crew, Person
from app.run.scene import Scene
from app.run.state import Progress, RunState
from app.web.views.bench import BenchView, bench_view
from app.web.views.frame import Frame, Way, frame_of

RUN = "PREVIEW"
YOU = "YOU"  # whoever would stand at the tablet


@dataclass(frozen=True, slots=True, kw_only=True)
class PreviewView:
    """The page: the bench's own view of a step, and where it comes from."""

    frame: Frame
    bench: BenchView
    answer: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class _Tablet:
    people: tuple[str, ...]
    entering: str


def preview_view(
    procedure: Procedure, step: Step, site_roles: Crew, session: Session, now: datetime
) -> PreviewView:
    """Return a step of a text as it will look when it is next."""
    scene = _scene(procedure, step, site_roles, now)
    seen = Seen(state=scene.state, procedure=procedure, board=scene.board)
    at = scene.circumstances(YOU, blind=True)
    view = bench_view(seen, at, scene.crew, _Tablet((YOU,), YOU), now, step.id)
    base = f"/procedures/{procedure.id}"
    text = f"?text={procedure.sha256}"
    beside = {each.number: f"{base}/preview/{each.id}{text}" for each in procedure.steps}
    return PreviewView(
        frame=frame_of(
            session,
            where="PREVIEW",
            sub=f"{procedure.id} revision {procedure.revision}. Step {step.number} of {len(procedure.steps)}",
            links=(
                Way(words="Check report", href=f"{base}{text}"),
                Way(words="Procedures", href="/procedures"),
            ),
            stop="/stop",
        ),
        bench=replace(
            view, parts=(), before=None, after=None, countersign="", entries=(), wrong=""
        ),
        answer=view.bar.words,
        before=beside.get(step.number - 1, ""),
        after=beside.get(step.number + 1, ""),
    )


def _scene(procedure: Procedure, step: Step, crew: Crew, now: datetime) -> Scene:
    done_at = now - (step.within.at_least if step.within and step.within.at_least else timedelta(0))
    people = {YOU: Person(id=YOU, name="You", roles=frozenset(step.seats[:1]))}
    for number, role in enumerate(step.seats[1:], start=2):
        other = f"P{number}"
        people[other] = Person(id=other, name=f"Person {number}", roles=frozenset({role}))
    steps = {
        each.id: _progress(each, people, done_at)
        for each in procedure.steps
        if each.number < step.number
    }
    state = RunState(
        run=RUN,
        procedure=procedure.id,
        revision=procedure.revision,
        title=procedure.title,
        sha256=procedure.sha256,
        asset=procedure.asset.id,
        status="open",
        opened_at=now,
        steps=steps,
    )
    fake = Crew(people=people, abilities=crew.abilities)
    board = _board(procedure, step, now)
    return Scene(procedure=procedure, state=state, board=board, crew=fake, now=now)


def _progress(step: Step, people: Mapping[str, Person], done_at: datetime) -> Progress:
    """Return a step as done; at a briefing everyone has said that they were there."""
    spoken = people if kind_of(step).presence else {}
    entries = tuple(
        Entry(
            number=number,
            step=step.id,
            part=person,
            seat=None,
            round=1,
            by=person,
            at=done_at,
            values={},
            computed={},
            verdict="good",
            saying="",
            signed=True,
        )
        for number, person in enumerate(spoken, start=1)
    )
    return Progress(entries=entries, done_at=done_at, done_seq=step.number)


def _board(procedure: Procedure, step: Step, now: datetime) -> Board:
    board = first_board(procedure.asset)
    facts: dict[str, FactValue | None] = {name: board.value(name) for name in board.facts}
    for test in procedure.starts_with:
        values = procedure.asset.facts[test.fact].values
        facts[test.fact] = next((v for v in values if test.holds(v)), None)
    for each in procedure.steps:
        if each.number < step.number:
            facts.update(each.sets)
    readings = {
        need.reading: ReadingNow(
            value=str(limit.value), unit=limit.unit, at=now, run=RUN, entry=0, good=True
        )
        for need in step.fresh
        if (limit := need.at_most or need.at_least) is not None
    }
    return replace(
        board,
        facts={name: FactNow(value=value) for name, value in facts.items()},
        readings=readings,
    )
