"""What was asked for, read back from the events that it came to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from app.run.commands import (
    Abandon,
    Close,
    Command,
    Correct,
    DisposeTrouble,
    Disposition,
    Enter,
    RefuseHold,
    ReportTrouble,
    Resume,
    Sign,
    SignRestart,
    StopWork,
    Suspend,
)
from app.run.events import (
    EntryMade,
    EntryStruck,
    Happened,
    HoldRefused,
    RestartSigned,
    RunAbandoned,
    RunClosed,
    RunResumed,
    RunSuspended,
    SeatSigned,
    TroubleDisposed,
    TroubleReported,
    WorkRestarted,
    WorkStopped,
)
from app.run.state import RunState

NOT_KEPT = "Not kept by the first of the two."  # why work may go on is kept once, at the restart


def command_of(act: Sequence[Happened], state: RunState) -> Command | None:
    """Return what was asked for, as by a page that showed everything; None if no act begins so."""
    event, by, seen = act[0].event, act[0].by, state.seq
    match event:
        case EntryMade():
            return _entered(event, act, by, seen)
        case SeatSigned(step=step, how=how):
            return Sign(by=by, step=step, how=how, signed=True, seen=seen)
        case HoldRefused(step=step, reason=reason):
            return RefuseHold(by=by, step=step, reason=reason, signed=True, seen=seen)
        case TroubleReported(step=step, part=part, text=text):
            return ReportTrouble(by=by, step=step, part=part, text=text)
        case TroubleDisposed() as made:
            return DisposeTrouble(
                by=by,
                trouble=made.trouble,
                disposition=cast("Disposition", made.disposition),
                reason=made.reason,
                signed=True,
            )
        case _:
            return _of_the_run(act, by, seen)


def _entered(made: EntryMade, act: Sequence[Happened], by: str, seen: int) -> Command:
    if made.replaces:
        reasons = [
            each.event.reason
            for each in act
            if isinstance(each.event, EntryStruck) and each.event.entry == made.replaces
        ]
        return Correct(
            by=by,
            entry=made.replaces,
            values=made.values,
            reason=reasons[0] if reasons else "",
            signed=made.signed,
            seen=seen,
        )
    return Enter(
        by=by,
        step=made.step,
        part=made.part,
        values=made.values,
        signed=made.signed,
        seen=seen,
        tablet=made.tablet,
    )


def _of_the_run(act: Sequence[Happened], by: str, seen: int) -> Command | None:
    match act[0].event:
        case WorkStopped(text=text):
            return StopWork(by=by, text=text)
        case RestartSigned(confirmed=confirmed):
            reasons = [e.event.reason for e in act if isinstance(e.event, WorkRestarted)]
            reason = reasons[0] if reasons else NOT_KEPT
            return SignRestart(by=by, confirmed=confirmed, reason=reason, signed=True)
        case RunSuspended(state=left):
            return Suspend(by=by, state=left, signed=True)
        case RunResumed(confirmed=confirmed):
            return Resume(by=by, confirmed=confirmed, signed=True)
        case RunClosed():
            return Close(by=by, signed=True, seen=seen)
        case RunAbandoned(reason=reason, state=left, second=second):
            return Abandon(by=by, second=second, reason=reason, state=left, signed=True)
        case _:
            return None
