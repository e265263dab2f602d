"""Playing a run again: each act is decided anew, and must come to the events that are written.

Rules:
- the events that bear one key are one act, of one person, at one moment;
- what was asked for is read back from the events; the real `decide` answers it, on the state that
  the events before it give, with the people, tools and texts of that moment;
- an answer other than the events written is an objection; the play then goes on from what is
  written, so that a later objection is about a later event;
- what the run did not decide (a withdrawal, a refusal, a kind not known here) is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol, cast

from app.procedure.model import Procedure
from app.procedure.tool import Tool
from app.run.asked import command_of
from app.run.board import Board, post
from app.run.changing import change_steps, followed
from app.run.commands import ChangeSteps
from app.run.crew import Crew
from app.run.decide import decide, decide_open
from app.run.events import (
    ActRefused,
    Event,
    FieldChangeApproved,
    Happened,
    ReleaseWithdrawn,
    RunOpened,
    kind_name,
    to_body,
)
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.state import RunState, evolve

NOT_DECIDED = (ActRefused, ReleaseWithdrawn)  # by the run: the desk and the lead's text make them
IN_WORDS = {
    "RunOpened": "the opening",
    "EntryMade": "an entry",
    "EntryStruck": "a striking",
    "SeatSigned": "a signature",
    "SignatureVoided": "the fall of a signature",
    "CountsDiffered": "the end of a round that differed",
    "StepDone": "the end of a step",
    "StepsPassedOver": "the passing over of steps",
    "StepReopened": "the reopening of a step",
    "HoldRefused": "a refusal to sign",
    "TroubleReported": "a trouble",
    "TroubleDisposed": "a disposition",
    "WorkStopped": "a stop",
    "RestartSigned": "a signature for the restart",
    "WorkRestarted": "the restart",
    "RunSuspended": "a suspension",
    "RunResumed": "a resumption",
    "RunClosed": "the closing",
    "FieldChangeApproved": "a change for this run",
    "RunAbandoned": "the abandoning of the run",
}


class Cast(Protocol):
    """Who and what the site had at a moment."""

    def crew(self, at: datetime) -> Crew:
        """Return the people with the roles that they held then."""
        ...

    def tools(self, at: datetime) -> Mapping[str, Tool]:
        """Return the register of tools as it stood then."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """What a run was played on."""

    released: Procedure
    board: Board  # at the opening
    cast: Cast
    texts: Mapping[str, Procedure] = field(default_factory=dict)  # changed ones, by SHA-256


@dataclass(frozen=True, slots=True)
class Objection:
    """What cannot have happened so, and at which event."""

    seq: int
    sentence: str


def objections(stage: Stage, acts: Sequence[Sequence[Happened]]) -> Iterator[Objection]:
    """Yield what in a run's acts is not what the rules make of them, in order."""
    state, board = RunState(), stage.board
    for act in acts:
        yield from _one_act(act)
        answer = _answered(stage, state, board, act)
        if isinstance(answer, str):
            yield Objection(act[0].seq, answer)
        elif answer is not None:
            yield from _compared(stage.released, act, answer)
        for each in act:
            state = evolve(state, each)
            board = post(board, state.run, each)


def _one_act(act: Sequence[Happened]) -> Iterator[Objection]:
    first = act[0]
    for each in act[1:]:
        if each.at != first.at:
            yield Objection(each.seq, f"Event {each.seq} is of another time than its own act.")
        if each.by != first.by:
            yield Objection(each.seq, f"Event {each.seq} is of another person than its own act.")


def _answered(
    stage: Stage, state: RunState, board: Board, act: Sequence[Happened]
) -> list[Event] | str | None:
    """Return what the rules make of an act; a sentence, if they would not have taken it."""
    first = act[0]
    if isinstance(first.event, NOT_DECIDED):
        return None
    answer = _decided(stage, state, board, act)
    if answer is None:
        words = event_words(stage.released, first)
        return f"{words} stands alone: no act leads to it."
    if isinstance(answer, Refusal):
        words = event_words(stage.released, first)
        return f"{words} by {first.by or 'nobody'}, would have been refused: {answer.sentence}"
    return answer


def _decided(
    stage: Stage, state: RunState, board: Board, act: Sequence[Happened]
) -> list[Event] | Refusal | None:
    first = act[0]
    crew, tools = stage.cast.crew(first.at), stage.cast.tools(first.at)
    procedure = followed(stage.released, stage.texts, state, first.at)
    if isinstance(first.event, RunOpened):
        opened = first.event
        return decide_open(
            procedure, board, crew, run=opened.run, by=first.by, open_runs=_before(state)
        )
    if isinstance(first.event, FieldChangeApproved):
        scene = Scene(
            procedure=procedure, state=state, board=board, crew=crew, now=first.at, tools=tools
        )
        return _changed(stage, scene, first)
    command = command_of(act, state)
    if command is None:
        return None
    return decide(procedure, state, board, command, crew, first.at, tools)


def _before(state: RunState) -> tuple[RunState, ...]:
    return () if state.status == "none" else (state,)


def _changed(stage: Stage, scene: Scene, first: Happened) -> list[Event] | Refusal:
    made = cast("FieldChangeApproved", first.event)
    changed = stage.texts.get(made.sha256)
    if changed is None:
        return Refusal(code="change.text", sentence="The changed text is not here to be judged.")
    asked = ChangeSteps(
        by=first.by,
        second=made.second,
        reason=made.reason,
        until=made.until,
        until_step=made.until_step,
        sha256=made.sha256,
        signed=True,
    )
    return change_steps(scene, asked, stage.released, changed)


def _compared(
    procedure: Procedure, act: Sequence[Happened], answer: Sequence[Event]
) -> Iterator[Objection]:
    for found, made in zip(act, answer, strict=False):
        words = event_words(procedure, found)
        if type(found.event) is not type(made):
            said = IN_WORDS.get(kind_name(made), kind_name(made))
            yield Objection(found.seq, f"{words} stands where the rules ask for {said}.")
            return
        yield from _fields(found, made, words)
    last = act[-1]
    if len(answer) > len(act):
        said = IN_WORDS.get(kind_name(answer[len(act)]), kind_name(answer[len(act)]))
        words = event_words(procedure, last)
        yield Objection(last.seq, f"{words} must be followed by {said}, which is missing.")
    for extra in act[len(answer) :]:
        words = event_words(procedure, extra)
        yield Objection(extra.seq, f"{words} does not follow from the act before it.")


def _fields(found: Happened, made: Event, words: str) -> Iterator[Objection]:
    is_written, must_be = to_body(found.event), to_body(made)
    for name in dict.fromkeys((*is_written, *must_be)):
        if is_written.get(name) != must_be.get(name):
            yield Objection(
                found.seq,
                f"{words} says {name.replace('_', ' ')} {_said(is_written.get(name))}; by the "
                f"rules it is {_said(must_be.get(name))}.",
            )


def event_words(procedure: Procedure, happened: Happened) -> str:
    """Return an event as `Event 31, an entry on step 10, B14,`."""
    what = IN_WORDS.get(kind_name(happened.event), kind_name(happened.event))
    step = procedure.step(getattr(happened.event, "step", ""))
    where = f" on step {step.number}" if step is not None else ""
    part = getattr(happened.event, "part", "")
    return f"Event {happened.seq}, {what}{where}{f', {part}' if part else ''},"


def _said(value: object) -> str:
    match value:
        case None | "" | () | []:
            return "nothing"
        case dict():
            return ", ".join(f"{k} {_said(v)}" for k, v in value.items()) or "nothing"
        case list() | tuple():
            return ", ".join(_said(each) for each in value)
        case _:
            return f"“{value}”"
