"""The steps of a record: every entry with its fate, every signature, standing or fallen."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from app.procedure.registry import kind_of
from app.record.acts import UNTOLD
from app.record.parts.conditions import conditions
from app.record.parts.plots import plots
from app.record.shown import EntryShown, LineShown, SeatShown, SectionShown, StepShown
from app.run.events import (
    CountsDiffered,
    EntryMade,
    EntryStruck,
    SeatSigned,
    SignatureVoided,
    TroubleDisposed,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.kind import Line
    from app.procedure.model import Procedure, Section, Step
    from app.record.acts import Names
    from app.record.clock import Clock
    from app.record.shown import Mark
    from app.run.events import Happened
    from app.run.state import Progress, RunState

CHECKS = {
    "after": "signed after the act",
    "before": "signed before the act",
    "independent": "each on their own, blind to the others",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fates:
    """What became of entries and signatures, gathered from the events once."""

    struck: Mapping[int, Happened] = field(default_factory=dict)  # entry -> its striking
    instead: Mapping[int, Happened] = field(default_factory=dict)  # entry -> what replaced it
    signed: Mapping[str, tuple[SeatShown, ...]] = field(default_factory=dict)  # step -> seats
    accepted: Mapping[tuple[str, str], Happened] = field(default_factory=dict)  # (step, part)


def fates_of(happened: Sequence[Happened], names: Names, clock: Clock) -> Fates:
    """Return the fates of all entries and signatures of a run."""
    signed: dict[str, tuple[SeatShown, ...]] = {}
    struck: dict[int, Happened] = {}
    instead: dict[int, Happened] = {}
    accepted: dict[tuple[str, str], Happened] = {}
    for each in happened:
        match each.event:
            case EntryMade(replaces=replaced) if replaced:
                instead[replaced] = each
            case EntryStruck(entry=number):
                struck[number] = each
            case TroubleDisposed(step=step, part=part, disposition="use as is"):
                accepted[step, part] = each
            case SeatSigned() as seat:
                shown = _seat(seat, each, names, clock)
                signed[seat.step] = (*signed.get(seat.step, ()), shown)
            case SignatureVoided(step=step, person=person, reason=reason):
                signed[step] = _fallen(signed.get(step, ()), reason, person)
            case CountsDiffered(step=step, round=ended):
                why = f"Round {ended} differed: everyone starts again."
                signed[step] = _fallen(signed.get(step, ()), why)
            case _:
                pass
    return Fates(struck=struck, instead=instead, signed=signed, accepted=accepted)


def _seat(signed: SeatSigned, happened: Happened, names: Names, clock: Clock) -> SeatShown:
    known = names.crew.people.get(happened.by)
    return SeatShown(
        role=signed.role,
        meaning=signed.meaning,
        how=signed.how,
        who=happened.by,
        name=known.name if known is not None else "",
        when=clock.when(happened.at),
    )


def _fallen(seats: tuple[SeatShown, ...], why: str, person: str = "") -> tuple[SeatShown, ...]:
    return tuple(
        replace(seat, fell=why) if not seat.fell and person in ("", seat.who) else seat
        for seat in seats
    )


@dataclass(frozen=True, slots=True)
class StepsBook:
    """Writes the steps of one run."""

    state: RunState
    fates: Fates
    names: Names
    clock: Clock
    at: Circumstances

    def sections(self, procedure: Procedure) -> tuple[SectionShown, ...]:
        """Return every section with its steps."""
        return tuple(self._section(section) for section in procedure.sections)

    def _section(self, section: Section) -> SectionShown:
        order = "In the order written" if section.order == "strict" else "In any order"
        steps = tuple(self._step(step) for step in section.steps)
        return SectionShown(title=section.title, order=order, steps=steps)

    def _step(self, step: Step) -> StepShown:
        progress = self.state.progress(step.id)
        kind = kind_of(step)
        mark, word = self._standing(progress)
        return StepShown(
            number=step.number,
            id=step.id,
            kind=kind.title,
            do=step.do,
            cautions=_cautions(step),
            seating=_seating(step),
            mark=mark,
            word=word,
            entries=tuple(self._entry(step, entry, progress) for entry in progress.entries),
            sums=() if step.id in self.names.blind else _sums(step, progress),
            seats=self._seats(step, progress),
            remarks=self._remarks(step, progress),
            conditions=conditions(step, self.names.procedure),
            critical=step.critical,
            drawings=() if step.id in self.names.blind else plots(step, self.at),
        )

    def _standing(self, progress: Progress) -> tuple[Mark, str]:
        if progress.passed_by:
            return "open", "Not taken"
        if progress.done_at is None:
            return "open", "Open again" if progress.reopened else "Not done"
        changed = progress.differed or progress.refusals or any(e.struck for e in progress.entries)
        return "corrected" if changed else "done", f"Done {self.clock.when(progress.done_at)}"

    def _entry(self, step: Step, entry: Entry, progress: Progress) -> EntryShown:
        blind = step.id in self.names.blind
        lines = () if blind else kind_of(step).lines(step, (entry,))
        ended = entry.round < progress.round
        fated = bool(ended or entry.struck or entry.accepted)  # the notes say what became of it
        return EntryShown(
            number=entry.number,
            lines=tuple(_line(line, told=fated) for line in lines)
            or (_bare_line(entry, UNTOLD if blind else entry.saying),),
            who=entry.by,
            when=self.clock.when(entry.at),
            mark=_entry_mark(entry, ended=ended),
            signed=entry.signed,
            photos=_photos(entry),
            round=_round_words(entry, progress),
            notes=self._notes(entry),
        )

    def _notes(self, entry: Entry) -> tuple[str, ...]:
        notes = []
        if entry.estimated is not None:
            notes.append(
                f"Entered {self.clock.when(entry.estimated)} on a tablet without a link, as far as "
                "the clocks tell; the time beside it is that of receipt."
            )
        if entry.struck:
            notes.append(self._struck(entry))
        if entry.accepted:
            notes.append(self._accepted(entry))
        return tuple(notes)

    def _struck(self, entry: Entry) -> str:
        striking = self.fates.struck.get(entry.number)
        new = self.fates.instead.get(entry.number)
        by = f" {self.clock.when(striking.at)} by {striking.by}" if striking is not None else ""
        now = f" Entry {new.seq} took its place." if new is not None else ""
        return f"Struck{by}. Reason: {entry.struck.rstrip('.')}.{now}"

    def _accepted(self, entry: Entry) -> str:
        decided = self.fates.accepted.get((entry.step, entry.part))
        by = f" {self.clock.when(decided.at)} by {decided.by}" if decided is not None else ""
        return f"Accepted as it is{by}. Reason: {entry.accepted.rstrip('.')}."

    def _seats(self, step: Step, progress: Progress) -> tuple[SeatShown, ...]:
        signed = self.fates.signed.get(step.id, ())
        standing = {seat.who for seat in signed if not seat.fell}
        own = tuple(
            self._entered_seat(step, entry)
            for entry in progress.live()
            if entry.signed and entry.seat is not None and entry.by not in standing
        )
        return (*signed, *own)

    def _entered_seat(self, step: Step, entry: Entry) -> SeatShown:
        """A signed entry of one's own seat is the signature of that seat."""
        known = self.names.crew.people.get(entry.by)
        role = step.seats[entry.seat] if entry.seat is not None else ""
        return SeatShown(
            role=role,
            meaning=f"Entry {entry.number} is mine, made on my own.",
            how="",
            who=entry.by,
            name=known.name if known is not None else "",
            when=self.clock.when(entry.at),
        )

    def _remarks(self, step: Step, progress: Progress) -> tuple[str, ...]:
        when = self.clock.when
        rounds = [
            f"Round {d.round} ended {when(d.at)}: "
            + ("equal, but not what must be." if d.equal else "not all equal.")
            for d in progress.differed
        ]
        refusals = [
            f"{r.by} would not sign at {when(r.at)}: “{r.reason}”" for r in progress.refusals
        ]
        troubles = [
            f"Trouble {t.number}, {t.by} at {when(t.at)}: “{t.text}” "
            + (
                f"Disposed of by {t.disposed_by}: {t.disposition}. Reason: {t.reason.rstrip('.')}."
                if t.disposition
                else "Not disposed of."
            )
            for t in self.state.troubles
            if t.step == step.id
        ]
        return (*rounds, *refusals, *troubles)


def _cautions(step: Step) -> tuple[tuple[str, str], ...]:
    said = (
        ("DANGER", step.danger),
        ("WARNING", step.warning),
        ("CAUTION", step.caution),
        ("NOTICE", step.notice),
        ("MIRROR", step.mirror),
    )
    return tuple((word, text) for word, text in said if text)


def _seating(step: Step) -> str:
    if len(step.seats) == 1:
        return f"One seat: {step.seats[0]}"
    return f"{len(step.seats)} seats: {', '.join(step.seats)}; {CHECKS[step.check]}"


def _line(line: Line, *, told: bool = False) -> LineShown:
    verdict = "" if told else line.verdict
    return LineShown(what=line.what, value=line.value, limits=line.limits, verdict=verdict)


def _bare_line(entry: Entry, said: str) -> LineShown:
    """An entry of which its kind has no more to say still stands in the record."""
    return LineShown(what=entry.part, value=said or "Entered", limits="", verdict="")


def _sums(step: Step, progress: Progress) -> tuple[LineShown, ...]:
    """Return the lines that only all standing entries together give: a sum, a difference."""
    live = progress.live()
    kind = kind_of(step)
    single = {line for entry in live for line in kind.lines(step, (entry,))}
    return tuple(_line(line) for line in kind.lines(step, live) if line not in single)


def _round_words(entry: Entry, progress: Progress) -> str:
    if progress.round == 1:
        return ""
    ended = ", which differed" if entry.round < progress.round else ""
    return f"Round {entry.round}{ended}"


def _entry_mark(entry: Entry, *, ended: bool) -> Mark:
    if entry.struck:
        return "corrected"
    if ended:
        return "differs"
    return "out" if entry.verdict == "out" else "done"


def _photos(entry: Entry) -> tuple[str, ...]:
    return tuple(v for k, v in sorted(entry.values.items()) if k.startswith("photo") and v)
