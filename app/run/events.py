"""What can have happened in a run, each in the past tense; and their plain form for the ledger.

No floats: what was measured stands as the decimal text that the person typed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import Any

from app.procedure.model import FactValue


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOpened:
    """A run of a released procedure was opened on an asset."""

    run: str
    procedure: str
    revision: int
    title: str
    sha256: str  # of the procedure's exact bytes
    asset: str
    facts: Mapping[str, FactValue]  # the board as it stood


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryMade:
    """Something was entered on one part of a step; an out-of-limit value is kept as such."""

    step: str
    part: str
    seat: int  # -1: no seat of its own
    round: int
    values: Mapping[str, str]
    computed: Mapping[str, str]
    readings: Mapping[str, Mapping[str, str]]  # put on the board: name -> value, unit
    verdict: str
    saying: str
    signed: bool
    replaces: int  # the entry it corrects, 0 if none
    # The tablet's own times, where it kept the entry before it was sent; none in older events.
    tablet: Mapping[str, str] = field(default_factory=dict, metadata={"unless": "empty"})


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryStruck:
    """An entry was struck, never erased."""

    entry: int
    step: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatSigned:
    """One person put their name to one seat of a step, with their own secret."""

    step: str
    seat: int
    role: str
    meaning: str
    how: str  # how a countersigner checked, "" elsewhere


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatureVoided:
    """A signature no longer stands, because what it rested on has changed."""

    step: str
    seat: int
    person: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CountsDiffered:
    """Independent entries were not all equal, or not as they must be: everyone starts again."""

    step: str
    round: int
    equal: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDone:
    """All entries are good and all seats are filled."""

    step: str
    sets: Mapping[str, FactValue]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepsPassedOver:
    """A choice was made: the steps of the branches not taken are closed until it is made anew."""

    step: str  # where it was chosen
    taken: str  # the branch
    steps: tuple[str, ...]  # those closed


@dataclass(frozen=True, slots=True, kw_only=True)
class StepReopened:
    """A done step is open again; the facts it had set are in doubt until it is done anew."""

    step: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldRefused:
    """A countersigner would not sign, and said why."""

    step: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleReported:
    """Something is wrong on a step; it is shut until someone else disposes of it."""

    trouble: int
    step: str
    part: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleDisposed:
    """Someone else decided what becomes of a trouble."""

    trouble: int
    step: str
    part: str
    disposition: str  # use as is, redo, repair, reject
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkStopped:
    """Someone stopped work. No rank, no secret, no reason needed."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RestartSigned:
    """One of the two who restart has signed that the make-safe lines are done."""

    role: str
    confirmed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRestarted:
    """Two people, one of whom may restart, have signed: work goes on."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSuspended:
    """Work was left at a safe point, in a described state."""

    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunResumed:
    """Work was taken up again after the last state was confirmed by looking."""

    confirmed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunClosed:
    """Every step is done and the hardware is as the procedure promised to leave it."""

    statement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseWithdrawn:
    """The procedure of the run was withdrawn: work goes on to the next safe point, no further."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldChangeApproved:
    """Two people approved another text of some steps, for this run alone."""

    change: int
    second: str  # who approved it besides the person of the event
    reason: str
    sha256: str  # of the changed text's exact bytes
    steps: tuple[str, ...]  # those that are changed
    until: str  # the moment at which it ends, UTC, or ""
    until_step: str  # the step with which it ends, or ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunAbandoned:
    """The run cannot be finished; two people say why, and how everything is left."""

    reason: str
    state: str
    second: str
    statement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ActRefused:
    """An act was tried and refused; only the rule and its sentence are kept, no value."""

    act: str
    step: str
    rule: str
    sentence: str


Event = (
    RunOpened
    | EntryMade
    | EntryStruck
    | SeatSigned
    | SignatureVoided
    | CountsDiffered
    | StepDone
    | StepsPassedOver
    | StepReopened
    | HoldRefused
    | TroubleReported
    | TroubleDisposed
    | WorkStopped
    | RestartSigned
    | WorkRestarted
    | RunSuspended
    | RunResumed
    | RunClosed
    | ReleaseWithdrawn
    | FieldChangeApproved
    | RunAbandoned
    | ActRefused
)

EVENTS: dict[str, type[Event]] = {
    kind.__name__: kind
    for kind in (
        RunOpened,
        EntryMade,
        EntryStruck,
        SeatSigned,
        SignatureVoided,
        CountsDiffered,
        StepDone,
        StepsPassedOver,
        StepReopened,
        HoldRefused,
        TroubleReported,
        TroubleDisposed,
        WorkStopped,
        RestartSigned,
        WorkRestarted,
        RunSuspended,
        RunResumed,
        RunClosed,
        ReleaseWithdrawn,
        FieldChangeApproved,
        RunAbandoned,
        ActRefused,
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """An event with its place in the stream: who, when (server's UTC), on which tablet."""

    seq: int
    at: datetime
    by: str
    event: Event
    device: str = field(default="")


def kind_name(event: Event) -> str:
    """Return the event's name in the ledger."""
    return type(event).__name__


def to_body(event: Event) -> dict[str, Any]:
    """Return the event as JSON-ready data: text, whole numbers, truth values, lists, objects."""
    body: dict[str, Any] = {}
    for each in fields(event):
        value = getattr(event, each.name)
        if not value and each.metadata.get("unless") == "empty":
            continue  # as it was written before there was such a field
        if isinstance(value, tuple):
            value = list(value)
        elif isinstance(value, Mapping):
            value = {k: dict(v) if isinstance(v, Mapping) else v for k, v in value.items()}
        body[each.name] = value
    return body


def from_body(kind: str, body: Mapping[str, Any]) -> Event:
    """Return the event that `to_body` wrote.

    Raises:
        KeyError: the kind of event is not known to this version.
        TypeError: the body has other fields than the event.
    """
    shape: Callable[..., Event] = EVENTS[kind]
    return shape(**{k: tuple(v) if isinstance(v, list) else v for k, v in body.items()})
