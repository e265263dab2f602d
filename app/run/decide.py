"""Deciding: what a person asks for becomes events, or a refusal. Pure; one function per command.

The heavy ones stand in modules of their own: entering, signing, correcting, pausing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from app.procedure.model import Procedure
from app.procedure.tool import Tool
from app.run.abandoning import abandon
from app.run.board import Board
from app.run.commands import (
    Abandon,
    Close,
    Command,
    Correct,
    DisposeTrouble,
    Enter,
    RefuseHold,
    ReportTrouble,
    Resume,
    Sign,
    SignRestart,
    StopWork,
    Suspend,
)
from app.run.correcting import correct, dispose, report
from app.run.crew import Crew
from app.run.entering import enter
from app.run.events import Event, RunOpened
from app.run.interlocks import fact_sentence
from app.run.pausing import close, restart, resume, stop, suspend
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.signing import refuse_hold, sign
from app.run.state import RunState

NO_TOOLS: Mapping[str, Tool] = {}  # where nothing is registered, tools are only named
SIGNATURES = (
    Sign,
    RefuseHold,
    Correct,
    DisposeTrouble,
    SignRestart,
    Suspend,
    Resume,
    Close,
    Abandon,
)


def decide(  # noqa: PLR0913, PLR0917 - the things a decision looks at, and the ask
    procedure: Procedure,
    state: RunState,
    board: Board,
    command: Command,
    crew: Crew,
    now: datetime,
    tools: Mapping[str, Tool] = NO_TOOLS,
) -> list[Event] | Refusal:
    """Return the events of a command, or why it is refused. A refusal changes nothing."""
    scene = Scene(procedure=procedure, state=state, board=board, crew=crew, now=now, tools=tools)
    answer = _decided(scene, command)
    if isinstance(answer, Refusal):
        return replace(answer, recorded=_is_kept(procedure, command, answer))
    return answer


def _decided(scene: Scene, command: Command) -> list[Event] | Refusal:
    match command:
        case Enter():
            return enter(scene, command)
        case Sign():
            return sign(scene, command)
        case RefuseHold():
            return refuse_hold(scene, command)
        case Correct():
            return correct(scene, command)
        case ReportTrouble():
            return report(scene, command)
        case DisposeTrouble():
            return dispose(scene, command)
        case StopWork():
            return stop(scene, command)
        case SignRestart():
            return restart(scene, command)
        case Suspend():
            return suspend(scene, command)
        case Resume():
            return resume(scene, command)
        case Close():
            return close(scene, command)
        case Abandon():
            return abandon(scene, command)


def _is_kept(procedure: Procedure, command: Command, refusal: Refusal) -> bool:
    """Say whether the attempt itself belongs in the record: signatures and critical steps.

    What could not be read as typed is not kept anywhere, and a closed run takes nothing more.
    """
    if refusal.code in ("run.closed", "run.none") or refusal.code.startswith("typed."):
        return False
    step = procedure.step(getattr(command, "step", refusal.step))
    return isinstance(command, SIGNATURES) or (step is not None and step.critical)


def decide_open(  # noqa: PLR0913 - the same, for a run that is not yet there
    procedure: Procedure,
    board: Board,
    crew: Crew,
    *,
    run: str,
    by: str,
    open_runs: Sequence[RunState],
) -> list[Event] | Refusal:
    """Return the event that opens a run, or why it may not be opened.

    A run is opened by someone who may release holds, on an asset on which no other run is open,
    and only when the hardware is as the procedure starts with.
    """
    if not crew.may(by, "release-hold"):
        who = crew.who_may("release-hold")
        return Refusal(
            code="open.role", sentence=f"Only a {who} opens a run. Nothing was opened.", who=who
        )
    for other in open_runs:
        if other.asset == procedure.asset.id and other.status in ("open", "suspended"):
            return Refusal(
                code="open.other",
                sentence=(
                    f"Run {other.run}, {other.procedure}, is still open on the "
                    f"{procedure.asset.title.lower()}. Close it first."
                ),
                who=crew.who_may("release-hold"),
                where=other.run,
            )
    for test in procedure.starts_with:
        if not test.holds(board.value(test.fact)):
            return Refusal(
                code="open.starts_with",
                sentence=f"{procedure.id} cannot be opened. {fact_sentence(board, test)}",
                who=crew.who_may("accept-deviation"),
                where="the board",
            )
    facts = {name: now.value for name, now in board.facts.items() if now.value is not None}
    return [
        RunOpened(
            run=run,
            procedure=procedure.id,
            revision=procedure.revision,
            title=procedure.title,
            sha256=procedure.sha256,
            asset=procedure.asset.id,
            facts=facts,
        )
    ]
