"""The state of a run: the fold of its events, nothing else.

Rules, all of them here:
- an entry is live until it is struck; the entries of an ended round are history, not live;
- a signature stands until it is voided, or until counts differed in its round;
- a step is done from StepDone to StepReopened;
- a step that a choice passed over is settled without being done, until the choice is made anew;
- a trouble shuts its step until it is disposed of; a stop shuts everything until the restart;
- a run that was abandoned is closed, unfinished; a field change answers a withdrawal.
`evolve` is total: it never refuses and never raises on an event of this version.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Literal, cast

from app.procedure.entry import Entry, Verdict
from app.run.events import (
    ActRefused,
    CountsDiffered,
    EntryMade,
    EntryStruck,
    FieldChangeApproved,
    Happened,
    HoldRefused,
    ReleaseWithdrawn,
    RestartSigned,
    RunAbandoned,
    RunClosed,
    RunOpened,
    RunResumed,
    RunSuspended,
    SeatSigned,
    SignatureVoided,
    StepDone,
    StepReopened,
    StepsPassedOver,
    TroubleDisposed,
    TroubleReported,
    WorkRestarted,
    WorkStopped,
)

Status = Literal["none", "open", "suspended", "closed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """One seat, signed by one person, meaning what was shown."""

    seat: int
    role: str
    by: str
    at: datetime
    meaning: str
    how: str
    seq: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A countersigner's refusal, kept with its reason."""

    by: str
    at: datetime
    reason: str
    seq: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Differed:
    """A round of independent entries that did not agree."""

    round: int
    at: datetime
    equal: bool
    seq: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """What has happened on one step."""

    entries: tuple[Entry, ...] = ()  # all of them, struck ones and ended rounds too
    signatures: tuple[Signature, ...] = ()  # those that stand
    round: int = 1
    done_at: datetime | None = None
    done_seq: int = 0
    refusals: tuple[Refused, ...] = ()
    differed: tuple[Differed, ...] = ()
    reopened: str = ""  # why, while open again
    passed_by: str = ""  # the step whose choice closed this one
    changed: int = 0  # the last event that changed what a signer of this step rests on

    @property
    def done(self) -> bool:
        """Say whether the step is done."""
        return self.done_at is not None

    @property
    def settled(self) -> bool:
        """Say whether nothing waits for the step: it is done, or passed over."""
        return self.done or bool(self.passed_by)

    def live(self) -> tuple[Entry, ...]:
        """Return the entries that stand: not struck, and of the present round."""
        return tuple(e for e in self.entries if not e.struck and e.round == self.round)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """Something wrong, who said so, and what was decided."""

    number: int
    step: str
    part: str
    text: str
    by: str
    at: datetime
    disposition: str = ""
    reason: str = ""
    disposed_by: str = ""
    disposed_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Work is stopped: who, when, why, and who has signed for the restart."""

    by: str
    at: datetime
    text: str
    restart: tuple[tuple[str, str], ...] = ()  # (person, role) who signed so far


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """The run's procedure was withdrawn, and nobody has decided yet how the run goes on."""

    by: str
    at: datetime
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldChange:
    """A change for this run alone, as two people approved it."""

    number: int
    seq: int
    by: str
    second: str
    at: datetime
    reason: str
    sha256: str
    steps: tuple[str, ...]
    until: datetime | None
    until_step: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Abandoned:
    """The run was ended unfinished."""

    by: str
    second: str
    at: datetime
    reason: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunState:
    """Everything that is known of one run."""

    run: str = ""
    procedure: str = ""
    revision: int = 0
    title: str = ""
    sha256: str = ""
    asset: str = ""
    status: Status = "none"
    opened_at: datetime | None = None
    opened_by: str = ""
    closed_at: datetime | None = None
    closed_by: str = ""
    stop: Stop | None = None
    suspended: str = ""
    steps: Mapping[str, Progress] = field(default_factory=dict)
    troubles: tuple[Trouble, ...] = ()
    withdrawn: Withdrawn | None = None
    changes: tuple[FieldChange, ...] = ()
    abandoned: Abandoned | None = None
    seq: int = 0

    def progress(self, step: str) -> Progress:
        """Return a step's progress; nothing yet, if nothing happened."""
        return self.steps.get(step, NOTHING_YET)

    def open_troubles(self, step: str = "") -> tuple[Trouble, ...]:
        """Return the troubles not yet disposed of, of one step or of all."""
        return tuple(t for t in self.troubles if not t.disposition and step in ("", t.step))

    def entry(self, number: int) -> Entry | None:
        """Return the entry with this number, or None."""
        for progress in self.steps.values():
            for entry in progress.entries:
                if entry.number == number:
                    return entry
        return None


NOTHING_YET = Progress()


def fold(happenings: Iterable[Happened]) -> RunState:
    """Return the state after all these events."""
    state = RunState()
    for happened in happenings:
        state = evolve(state, happened)
    return state


def evolve(state: RunState, happened: Happened) -> RunState:
    """Return the state after one more event. Total: it never refuses and never raises."""
    changed = _changed(state, happened)
    return changed if changed.seq == happened.seq else replace(changed, seq=happened.seq)


def _changed(state: RunState, happened: Happened) -> RunState:
    match happened.event:
        case RunOpened() as opened:
            return _opened(state, happened, opened)
        case EntryMade() | EntryStruck() | CountsDiffered():
            return _entered(state, happened)
        case SeatSigned() | SignatureVoided() | HoldRefused():
            return _signed(state, happened)
        case StepDone(step=step):
            return _with(
                state, happened, step, done_at=happened.at, done_seq=happened.seq, reopened=""
            )
        case StepsPassedOver() as passed:
            return _passed_over(state, passed)
        case StepReopened(step=step, reason=reason):
            reopened = _with(state, happened, step, done_at=None, done_seq=0, reopened=reason)
            return _taken_back(reopened, step)
        case TroubleReported() | TroubleDisposed():
            return _troubled(state, happened)
        case WorkStopped() | RestartSigned() | WorkRestarted():
            return _stopped(state, happened)
        case RunSuspended() | RunResumed() | RunClosed():
            return _left_or_taken_up(state, happened)
        case ReleaseWithdrawn() | FieldChangeApproved() | RunAbandoned():
            return _of_the_lead(state, happened)
        case ActRefused():
            return state


def _opened(state: RunState, happened: Happened, opened: RunOpened) -> RunState:
    return replace(
        state,
        run=opened.run,
        procedure=opened.procedure,
        revision=opened.revision,
        title=opened.title,
        sha256=opened.sha256,
        asset=opened.asset,
        status="open",
        opened_at=happened.at,
        opened_by=happened.by,
    )


def _with(state: RunState, happened: Happened, step: str, **changes: object) -> RunState:
    progress = replace(state.progress(step), **changes)  # type: ignore[arg-type]
    return replace(state, seq=happened.seq, steps={**state.steps, step: progress})


def _passed_over(state: RunState, passed: StepsPassedOver) -> RunState:
    closed = {
        step: replace(state.progress(step), passed_by=passed.step)
        for step in passed.steps
        if not state.progress(step).done
    }
    return replace(state, steps={**state.steps, **closed})


def _taken_back(state: RunState, chosen: str) -> RunState:
    """Open again what the choice of a step had closed."""
    again = {
        step: replace(progress, passed_by="")
        for step, progress in state.steps.items()
        if progress.passed_by == chosen
    }
    return replace(state, steps={**state.steps, **again}) if again else state


def _entered(state: RunState, happened: Happened) -> RunState:
    match happened.event:
        case EntryMade() as made:
            entry = Entry(
                number=happened.seq,
                step=made.step,
                part=made.part,
                seat=None if made.seat < 0 else made.seat,
                round=made.round,
                by=happened.by,
                at=happened.at,
                values=made.values,
                computed=made.computed,
                verdict=cast("Verdict", made.verdict),
                saying=made.saying,
                signed=made.signed,
                tablet=made.tablet,
            )
            entries = (*state.progress(made.step).entries, entry)
            return _with(state, happened, made.step, entries=entries, changed=happened.seq)
        case EntryStruck(entry=number, step=step, reason=reason):
            entries = tuple(
                replace(e, struck=reason) if e.number == number else e
                for e in state.progress(step).entries
            )
            return _with(state, happened, step, entries=entries, changed=happened.seq)
        case CountsDiffered(step=step, round=ended, equal=equal):
            differed = (
                *state.progress(step).differed,
                Differed(round=ended, at=happened.at, equal=equal, seq=happened.seq),
            )
            return _with(
                state,
                happened,
                step,
                round=ended + 1,
                signatures=(),
                differed=differed,
                changed=happened.seq,
            )
        case _:
            return state


def _signed(state: RunState, happened: Happened) -> RunState:
    match happened.event:
        case SeatSigned(step=step, seat=seat, role=role, meaning=meaning, how=how):
            signature = Signature(
                seat=seat,
                role=role,
                by=happened.by,
                at=happened.at,
                meaning=meaning,
                how=how,
                seq=happened.seq,
            )
            return _with(
                state, happened, step, signatures=(*state.progress(step).signatures, signature)
            )
        case SignatureVoided(step=step, seat=seat, person=person):
            left = tuple(
                s for s in state.progress(step).signatures if (s.seat, s.by) != (seat, person)
            )
            return _with(state, happened, step, signatures=left, changed=happened.seq)
        case HoldRefused(step=step, reason=reason):
            refused = Refused(by=happened.by, at=happened.at, reason=reason, seq=happened.seq)
            refusals = (*state.progress(step).refusals, refused)
            return _with(state, happened, step, refusals=refusals, changed=happened.seq)
        case _:
            return state


def _troubled(state: RunState, happened: Happened) -> RunState:
    match happened.event:
        case TroubleReported(trouble=number, step=step, part=part, text=text):
            trouble = Trouble(
                number=number, step=step, part=part, text=text, by=happened.by, at=happened.at
            )
            reported = replace(state, troubles=(*state.troubles, trouble))
            return _with(reported, happened, step, changed=happened.seq)
        case TroubleDisposed() as disposed:
            troubles = tuple(
                replace(
                    t,
                    disposition=disposed.disposition,
                    reason=disposed.reason,
                    disposed_by=happened.by,
                    disposed_at=happened.at,
                )
                if t.number == disposed.trouble
                else t
                for t in state.troubles
            )
            decided = replace(state, troubles=troubles)
            if disposed.disposition != "use as is":
                return _with(decided, happened, disposed.step, changed=happened.seq)
            entries = tuple(
                replace(e, accepted=disposed.reason)
                if e.verdict == "out" and not e.struck and e.part == disposed.part
                else e
                for e in decided.progress(disposed.step).entries
            )
            return _with(decided, happened, disposed.step, entries=entries, changed=happened.seq)
        case _:
            return state


def _stopped(state: RunState, happened: Happened) -> RunState:
    match happened.event:
        case WorkStopped(text=text) if state.stop is None:
            return replace(state, stop=Stop(by=happened.by, at=happened.at, text=text))
        case WorkStopped():
            return replace(state, stop=replace(cast("Stop", state.stop), restart=()))
        case RestartSigned(role=role) if state.stop is not None:
            restart = (*state.stop.restart, (happened.by, role))
            return replace(state, stop=replace(state.stop, restart=restart))
        case WorkRestarted():
            return replace(state, stop=None)
        case _:
            return state


def _left_or_taken_up(state: RunState, happened: Happened) -> RunState:
    match happened.event:
        case RunSuspended(state=words):
            return replace(state, status="suspended", suspended=words)
        case RunResumed():
            return replace(state, status="open", suspended="")
        case RunClosed():
            return replace(state, status="closed", closed_at=happened.at, closed_by=happened.by)
        case _:
            return state


def _of_the_lead(state: RunState, happened: Happened) -> RunState:
    by, at = happened.by, happened.at
    match happened.event:
        case ReleaseWithdrawn(reason=reason):
            return replace(state, withdrawn=Withdrawn(by=by, at=at, reason=reason))
        case FieldChangeApproved() as made:
            change = FieldChange(
                number=made.change,
                seq=happened.seq,
                by=by,
                second=made.second,
                at=at,
                reason=made.reason,
                sha256=made.sha256,
                steps=made.steps,
                until=datetime.fromisoformat(made.until) if made.until else None,
                until_step=made.until_step,
            )
            # Who changes a withdrawn text for this run has decided that the run goes on.
            return replace(state, changes=(*state.changes, change), withdrawn=None)
        case RunAbandoned(reason=reason, second=second, state=left):
            gone = Abandoned(by=by, second=second, at=at, reason=reason, state=left)
            return replace(
                state, status="closed", closed_at=at, closed_by=by, abandoned=gone, stop=None
            )
        case _:
            return state
