"""Every event of a run as one sentence, in the order of the stream."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from app.procedure.registry import kind_of
from app.record.shown import ActShown
from app.run.events import (
    ActRefused,
    CountsDiffered,
    EntryMade,
    EntryStruck,
    FieldChangeApproved,
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

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.entry import Entry
    from app.procedure.model import Procedure
    from app.record.clock import Clock
    from app.run.crew import Crew
    from app.run.events import Event, Happened

UNTOLD = "not told before all have entered and agree"


@dataclass(frozen=True, slots=True)
class Names:
    """How steps, people and entries are called in one record."""

    procedure: Procedure
    crew: Crew
    entries: Mapping[int, Entry] = field(default_factory=dict)  # by their number
    blind: frozenset[str] = frozenset()  # steps whose entries must not be told yet

    def step(self, step_id: str) -> str:
        """Return `step 10`, or the id where the procedure has no such step."""
        step = self.procedure.step(step_id)
        return f"step {step.number}" if step is not None else f"step {step_id}"

    def person(self, person_id: str) -> str:
        """Return `Joaquin Belmarez (JB)`, or the id alone where the name is not known."""
        known = self.crew.people.get(person_id)
        return f"{known.name} ({person_id})" if known is not None else person_id

    def values(self, number: int) -> str:
        """Return the values of one entry, as its kind prints them: `C3: 7.12 kN`."""
        entry = self.entries.get(number)
        step = self.procedure.step(entry.step) if entry is not None else None
        if entry is None or step is None:
            return "not in this record"
        if entry.step in self.blind:
            return UNTOLD
        lines = kind_of(step).lines(step, (entry,))
        told = [f"{line.what}: {line.value}" if entry.part else line.value for line in lines]
        return "; ".join(told) or entry.saying

    def round(self, step_id: str, number: int) -> str:
        """Return what each person entered in one round of a step: `JB 21, AN 20`."""
        if step_id in self.blind:
            return UNTOLD
        entered = [e for e in self.entries.values() if (e.step, e.round) == (step_id, number)]
        return ", ".join(f"{entry.by} {self.values(entry.number)}" for entry in entered)


def act_shown(happened: Happened, names: Names, clock: Clock) -> ActShown:
    """Return one event as a line of the list of all acts."""
    sentence = told(happened.event, names, happened.seq)
    return ActShown(
        seq=happened.seq,
        when=clock.when(happened.at),
        who=happened.by or "nobody",
        device=happened.device,
        sentence=sentence[:1].upper() + sentence[1:],
    )


def told(event: Event, names: Names, number: int) -> str:
    """Return what happened, as a sentence without its subject's name; `number` is the event's."""
    match event:
        case StepsPassedOver(step=step, taken=taken, steps=closed):
            over = ", ".join(names.step(each) for each in closed)
            return f"{names.step(step)}: {taken} was chosen. Not taken: {over}."
        case EntryMade() | EntryStruck() | CountsDiffered() | StepDone() | StepReopened():
            return _told_of_entries(event, names, number)
        case SeatSigned() | SignatureVoided() | HoldRefused() | RestartSigned() | ActRefused():
            return _told_of_signatures(event, names)
        case TroubleReported() | TroubleDisposed():
            return _told_of_troubles(event, names)
        case ReleaseWithdrawn() | FieldChangeApproved() | RunAbandoned():
            return _told_of_the_lead(event, names)
        case _:
            return _told_of_the_run(event)


def _told_of_entries(
    event: EntryMade | EntryStruck | CountsDiffered | StepDone | StepReopened,
    names: Names,
    number: int,
) -> str:
    at = names.step(event.step)
    match event:
        case EntryMade(part=part, saying=saying, replaces=replaced):
            instead = f" In place of entry {replaced}." if replaced else ""
            said = names.values(number) if _is_blind(event, names) else saying
            where = "" if said.startswith(part) else f", {part}"
            return f"{at}{where}: {_ended(said or 'Entered.')}{instead}"
        case EntryStruck(entry=struck, reason=reason):
            return f"{at}: entry {struck} struck. Reason: {_ended(reason)}"
        case CountsDiffered(step=step, round=ended, equal=equal):
            how = "equal, but not what must be" if equal else "not all equal"
            found = names.round(step, ended)
            return f"{at}: round {ended} ended. The entries were {how}: {_ended(found)}"
        case StepDone(sets=sets):
            facts = ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in sets.items())
            return f"{at} done.{f' Now on the board: {facts}.' if facts else ''}"
        case StepReopened(reason=reason):
            return f"{at} open again. Reason: {_ended(reason)}"


def _told_of_signatures(
    event: SeatSigned | SignatureVoided | HoldRefused | RestartSigned | ActRefused, names: Names
) -> str:
    match event:
        case SeatSigned(step=step, seat=seat, role=role, meaning=meaning, how=how):
            checked = f" How it was checked: {_ended(how)}" if how else ""
            return (
                f"{names.step(step)}: seat {seat + 1} signed as {role}. {_ended(meaning)}{checked}"
            )
        case SignatureVoided(step=step, person=person, reason=reason):
            return f"{names.step(step)}: the signature of {person} fell. Reason: {_ended(reason)}"
        case HoldRefused(step=step, reason=reason):
            return f"{names.step(step)}: would not sign. Reason: {_ended(reason)}"
        case RestartSigned(role=role, confirmed=confirmed):
            return f"signed for the restart as {role}. Confirmed: {_listed(confirmed)}"
        case ActRefused(act=act, step=step, sentence=sentence):
            where = f"{names.step(step)}: " if step else ""
            return f"{where}{act} was refused. {_ended(sentence)}"


def _told_of_troubles(event: TroubleReported | TroubleDisposed, names: Names) -> str:
    at = f"{names.step(event.step)}{_of(event.part)}"
    match event:
        case TroubleReported(trouble=number, text=text):
            return f"{at}: trouble {number} reported. {_ended(text)}"
        case TroubleDisposed(trouble=number, disposition=disposition, reason=reason):
            return f"{at}: trouble {number} disposed of: {disposition}. Reason: {_ended(reason)}"


def _told_of_the_run(
    event: RunOpened | WorkStopped | WorkRestarted | RunSuspended | RunResumed | RunClosed,
) -> str:
    match event:
        case RunOpened(procedure=procedure, revision=revision, facts=facts):
            stood = ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in facts.items())
            return f"run opened on {procedure} revision {revision}. The board stood: {stood}."
        case WorkStopped(text=text):
            return f"work stopped. {_ended(text)}" if text else "work stopped."
        case WorkRestarted(reason=reason):
            return f"work restarted. {_ended(reason)}" if reason else "work restarted."
        case RunSuspended(state=state):
            return f"run suspended. State left: {_ended(state)}"
        case RunResumed(confirmed=confirmed):
            return f"run resumed. Confirmed by looking: {_listed(confirmed)}"
        case RunClosed(statement=statement):
            return f"run closed. {_ended(statement)}"


def _told_of_the_lead(
    event: ReleaseWithdrawn | FieldChangeApproved | RunAbandoned, names: Names
) -> str:
    match event:
        case ReleaseWithdrawn(reason=reason):
            return f"the procedure was withdrawn. {_ended(reason)}"
        case FieldChangeApproved() as made:
            steps = ", ".join(names.step(each) for each in made.steps)
            until = f"{names.step(made.until_step)} is done" if made.until_step else made.until
            return (
                f"change {made.change} for this run approved, with {names.person(made.second)}: "
                f"another text of {steps}, until {until}. Reason: {_ended(made.reason)} "
                f"SHA-256 of the text: {made.sha256}."
            )
        case RunAbandoned() as gone:
            return (
                f"run abandoned, with {names.person(gone.second)}. {_ended(gone.statement)} "
                f"Reason: {_ended(gone.reason)} State left: {_ended(gone.state)}"
            )


def _is_blind(made: EntryMade, names: Names) -> bool:
    """Say whether the entry was made blind: then what was said at the time hid its value."""
    step = names.procedure.step(made.step)
    return step is not None and step.check == "independent"


def _of(part: str) -> str:
    return f", {part}" if part else ""


def _listed(lines: tuple[str, ...]) -> str:
    return _ended("; ".join(line.rstrip(".") for line in lines) or "nothing")


def _ended(text: str) -> str:
    """Return the text with a full stop, unless it ends a sentence already."""
    text = text.strip()
    return text if text.endswith((".", "!", "?", '."')) or not text else f"{text}."
