"""A second, plain telling of a run: written from the rules alone, it asks nothing of the core.

It sees each event just before it takes effect and says, from what it has seen so far, whether that
event may be. It keeps its own books, so that the core's fold can be compared with them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from app.procedure.model import FactTest, Procedure, Step
from app.run.commands import Command, Correct, Enter
from app.run.crew import Crew
from app.run.events import (
    ActRefused,
    CountsDiffered,
    EntryMade,
    EntryStruck,
    Happened,
    HoldRefused,
    RestartSigned,
    RunClosed,
    RunOpened,
    RunResumed,
    RunSuspended,
    SeatSigned,
    SignatureVoided,
    StepDone,
    StepReopened,
    TroubleDisposed,
    TroubleReported,
    WorkRestarted,
    WorkStopped,
)

HOLDS = frozenset({"hold"})
PRESENCE = frozenset({"brief"})
BY_SIGNATURE = HOLDS | PRESENCE  # what is closed by a signature even with one seat


@dataclass(slots=True)
class Line:
    """One entry in the witness's own book."""

    number: int
    made: EntryMade
    by: str
    at: datetime
    struck: bool = False
    accepted: bool = False

    @property
    def good(self) -> bool:
        return self.made.verdict == "good" or self.accepted


@dataclass(slots=True)
class Book:
    """What the witness has written down of one step."""

    lines: list[Line] = field(default_factory=list)
    seats: dict[int, tuple[str, int]] = field(default_factory=dict)  # seat -> who, event
    round: int = 1
    done_at: datetime | None = None
    changed: int = 0
    struck_now: list[Line] = field(default_factory=list)  # by the act that is being told

    @property
    def live(self) -> list[Line]:
        return [e for e in self.lines if not e.struck and e.made.round == self.round]

    def latest(self, seat: int | None = None) -> dict[str, Line]:
        return {e.made.part: e for e in self.live if seat in (None, e.made.seat)}


class Witness:
    """Watches one run of one procedure on one piece of hardware."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.books = {step.id: Book() for step in procedure.steps}
        self.facts = {name: fact.now for name, fact in procedure.asset.facts.items()} | {}
        self.doubted: set[str] = set()
        self.makers: dict[str, str] = {}
        self.readings: dict[str, Line] = {}
        self.read_at: dict[str, datetime] = {}
        self.troubles: dict[int, tuple[str, str]] = {}  # open ones: step, reporter
        self.reported = 0
        self.restart: list[str] | None = None  # who signed, while work is stopped
        self.status = "none"
        self.seq = 0
        self.crew = Crew()
        self.command: Command | None = None
        self.now = datetime.min.replace(tzinfo=UTC)

    # -- the law, event by event

    def see(self, happened: Happened, command: Command | None, crew: Crew) -> None:
        """Check one event against all that was seen before, then write it down."""
        assert happened.seq == self.seq + 1
        self.seq, self.now, self.crew, self.command = happened.seq, happened.at, crew, command
        event, by = happened.event, happened.by
        assert command is None or by == command.by
        if self.status != "open" or self.restart is not None:
            assert not isinstance(
                event, EntryMade | SeatSigned | StepDone | CountsDiffered | HoldRefused | RunClosed
            ), "nothing goes on while work is stopped, suspended or over"
        match event:
            case EntryMade():
                self._entry(event, by)
            case EntryStruck():
                self._struck(event)
            case SeatSigned():
                self._signed(event, by)
            case SignatureVoided():
                assert self.books[event.step].seats.pop(event.seat)[0] == event.person
            case CountsDiffered():
                self._differed(event)
            case StepDone():
                self._done(event)
            case StepReopened():
                self._reopened(event)
            case HoldRefused():
                self._hold_refused(event, by)
            case TroubleReported() | TroubleDisposed():
                self._trouble(event, by)
            case _:
                self._run(event, by)

    def _entry(self, event: EntryMade, by: str) -> None:
        step, book = self._step(event.step), self.books[event.step]
        assert by
        assert self.crew.roles(by)
        assert event.round == book.round
        assert event.seat == -1 or step.check == "independent"
        if event.replaces:
            self._correction(event, step, by)
        else:
            self._act(event, step, by)
        line = Line(number=self.seq, made=event, by=by, at=self.now)
        for name in event.readings:
            self._read(name, line)
        book.lines.append(line)
        book.changed = self.seq

    def _act(self, event: EntryMade, step: Step, by: str) -> None:
        book = self.books[step.id]
        assert isinstance(self.command, Enter)
        self._open(step, act=True)
        assert step.kind not in HOLDS, "a hold takes no entry"
        if step.kind in PRESENCE:
            assert event.part == by, "everyone speaks for themselves"
            assert event.signed
            return
        assert book.done_at is None
        self._may_take_part(step, by)
        seats = step.seats[:1] if step.check == "after" else step.seats
        assert self.crew.roles(by) & set(seats)
        assert not step.tool or event.values.get("tool")
        mine = book.latest(event.seat if step.check == "independent" else None)
        assert event.part not in mine or not mine[event.part].good, "what is good is not redone"
        if step.check == "before":
            assert set(book.seats) == set(range(len(step.seats))), "all agree before the act"
            assert by in {who for who, _ in book.seats.values()}
        if step.check == "independent":
            self._blind(event, step, by)

    def _blind(self, event: EntryMade, step: Step, by: str) -> None:
        book = self.books[step.id]
        assert step.seats[event.seat] in self.crew.roles(by)
        assert by not in {who for who, _ in book.seats.values()}, "a sealed seat stays sealed"
        for line in book.live:
            assert (line.made.seat == event.seat) == (line.by == by), "a seat is one person's"
            if line.by != by:
                assert self.now - line.at >= step.apart, "entries are made apart"

    def _correction(self, event: EntryMade, step: Step, by: str) -> None:
        assert isinstance(self.command, Correct)
        assert self.command.signed
        old = next(e for e in self.books[step.id].live if e.number == event.replaces)
        assert (old.made.part, old.made.seat) == (event.part, event.seat)
        assert step.check != "independent", "what is sealed is not corrected"
        assert by == old.by or self.crew.may(by, "release-hold")
        assert self.command.seen >= self.books[step.id].changed

    def _struck(self, event: EntryStruck) -> None:
        line = next(e for e in self.books[event.step].live if e.number == event.entry)
        assert event.reason
        line.struck = True
        self.books[event.step].struck_now.append(line)
        self.books[event.step].changed = self.seq
        for name in [n for n, each in self.readings.items() if each is line]:
            del self.readings[name]

    def settle(self, rests: Mapping[str, tuple[str, ...]]) -> None:
        """After a whole act: whatever rested on an entry that was struck has fallen."""
        fallen = {e.made.step for book in self.books.values() for e in book.struck_now}
        for name in self.books:  # in written order: a step rests on earlier ones only
            if fallen & set(rests.get(name, ())):
                fallen.add(name)
                book = self.books[name]
                assert (book.done_at, book.seats, book.live) == (None, {}, []), "it rested on that"
        for book in self.books.values():
            book.struck_now.clear()

    def _signed(self, event: SeatSigned, by: str) -> None:
        step, book = self._step(event.step), self.books[event.step]
        assert self.command is not None
        assert getattr(self.command, "signed", False), "a signature is made with one's own secret"
        assert event.meaning
        assert book.done_at is None
        assert event.seat not in book.seats, "no seat is filled twice"
        assert by not in {who for who, _ in book.seats.values()}, "nobody fills two seats"
        assert event.role == step.seats[event.seat]
        assert event.role in self.crew.roles(by)
        self._open(step, act=step.check == "before" or step.kind in HOLDS)
        self._may_take_part(step, by)
        if step.check != "independent" and not isinstance(self.command, Enter):
            seen = getattr(self.command, "seen", self.seq)
            rests = (step.id, *getattr(step.own, "evidence", ()))
            assert all(self.books[name].changed <= seen for name in rests), "signed unread"
        self._releases(step, event.role, by)
        book.seats[event.seat] = (by, self.seq)

    def _releases(self, step: Step, role: str, by: str) -> None:
        if step.kind in HOLDS and "release-hold" in self.crew.abilities[role]:
            assert by not in self.performed(step), "whoever releases a hold did not perform"

    def _differed(self, event: CountsDiffered) -> None:
        step, book = self._step(event.step), self.books[event.step]
        assert step.check == "independent"
        assert event.round == book.round
        assert set(book.seats) == set(range(len(step.seats)))
        assert event.equal == self._equal(step)
        assert not (event.equal and self._as_expected(step))
        book.round += 1
        book.seats.clear()

    def _done(self, event: StepDone) -> None:
        step, book = self._step(event.step), self.books[event.step]
        assert book.done_at is None, "a step is done once"
        assert dict(event.sets) == dict(step.sets)
        self._open(step, act=False)
        self._whole(step)
        if self.needs_seats(step):
            assert set(book.seats) == set(range(len(step.seats))), "every seat is filled"
            self._seats(step)
        for line in book.live:
            assert self._kept_apart(step, line.by)
        book.done_at = self.now
        for name, value in event.sets.items():
            self.facts[name], self.makers[name] = value, step.id
            self.doubted.discard(name)

    def _whole(self, step: Step) -> None:
        """Every part has an entry, the latest one good."""
        book = self.books[step.id]
        if step.kind in PRESENCE:
            for role, least in self.procedure.crew.items():
                assert sum(role in self.crew.roles(p) for p in self.briefed()) >= least
        elif step.kind not in HOLDS:
            wanted = set(getattr(getattr(step.own, "layout", None), "names", ("",)))
            for seat in range(len(step.seats)) if step.check == "independent" else (None,):
                latest = book.latest(seat)
                assert set(latest) == wanted
                assert all(line.good for line in latest.values())

    def _seats(self, step: Step) -> None:
        book = self.books[step.id]
        who = {seat: by for seat, (by, _) in book.seats.items()}
        assert len(set(who.values())) == len(step.seats)
        entered = {line.by for line in book.lines if line.made.round == book.round}
        for seat, by in who.items():
            self._releases(step, step.seats[seat], by)
        if step.check == "independent":
            assert all(line.by == who[line.made.seat] for line in book.live)
            assert self._equal(step)
            assert self._as_expected(step)
        elif step.check == "before":
            for line in (e for e in book.live if not e.made.replaces):
                assert line.by in who.values(), "one of those who agreed did it"
        elif step.kind not in BY_SIGNATURE:
            for seat, by in who.items():
                if len(step.seats) > 1:
                    assert (by in entered) == (seat == 0), "the others look at another's work"

    def _reopened(self, event: StepReopened) -> None:
        book = self.books[event.step]
        assert book.done_at is not None
        assert event.reason
        book.done_at = None
        self.doubted |= {name for name, maker in self.makers.items() if maker == event.step}

    def _hold_refused(self, event: HoldRefused, by: str) -> None:
        step = self._step(event.step)
        assert step.kind in HOLDS
        assert self.crew.roles(by) & set(step.seats)
        assert event.reason
        assert self.books[step.id].done_at is None

    def _trouble(self, event: TroubleReported | TroubleDisposed, by: str) -> None:
        if isinstance(event, TroubleReported):
            self.reported += 1
            assert event.trouble == self.reported
            assert event.text
            own = not isinstance(self.command, Enter) and getattr(self.command, "text", None)
            self.troubles[event.trouble] = (event.step, by if own else "")
            return
        step_id, reporter = self.troubles.pop(event.trouble)
        step = self._step(step_id)
        assert event.step == step_id
        assert by != reporter, "someone else decides"
        assert event.reason
        as_it_is = event.disposition == "use as is"
        assert self.crew.may(by, "accept-deviation" if as_it_is else "release-hold")
        if not as_it_is:
            return
        risky = self.procedure.asset.hazard_facts()
        assert not risky & (set(step.sets) | {test.fact for test in step.confirms})
        for line in self.books[step_id].lines:
            if line.made.part == event.part and line.made.verdict == "out" and not line.struck:
                line.accepted = True

    def _run(self, event: object, by: str) -> None:
        match event:
            case RunOpened():
                assert self.status == "none"
                self.status = "open"
            case WorkStopped():
                assert self.status in ("open", "suspended")
                self.restart = []
            case RestartSigned():
                assert self.restart is not None
                assert by not in self.restart
                self.restart.append(by)
            case WorkRestarted():
                assert self.restart is not None
                assert len(set(self.restart)) >= 2
                assert any(self.crew.may(each, "restart") for each in self.restart)
                self.restart = None
            case RunSuspended():
                assert (self.status, self.restart) == ("open", None)
                assert self.crew.may(by, "restart")
                self.status = "suspended"
            case RunResumed():
                assert (self.status, self.restart) == ("suspended", None)
                assert self.crew.may(by, "restart")
                self.status = "open"
            case RunClosed():
                assert all(book.done_at is not None for book in self.books.values())
                assert not self.troubles
                assert all(self._holds(test) for test in self.procedure.leaves)
                self.status = "closed"
            case _:
                assert isinstance(event, ActRefused)

    # -- what the rules say

    def _open(self, step: Step, *, act: bool) -> None:
        """Say that no interlock of the step is shut."""
        for earlier in self.procedure.steps[: step.number - 1]:
            free = (
                earlier.section == step.section
                and self.procedure.sections[step.section].order == "any"
            )
            assert free or self.books[earlier.id].done_at is not None, "order"
        assert all(self.books[name].done_at is not None for name in step.after), "after"
        assert all(self._holds(test) for test in (*step.needs, *step.confirms)), "needs"
        assert step.id not in {where for where, _ in self.troubles.values()}, "trouble"
        if act:
            self._in_time(step)

    def _in_time(self, step: Step) -> None:
        for fresh in step.fresh:
            line = self.readings[fresh.reading]
            assert line.good
            assert self.now - self.read_at[fresh.reading] <= fresh.age
            value = Decimal(line.made.readings[fresh.reading]["value"])
            assert fresh.at_most is None or value <= fresh.at_most.value
        if step.within is not None:
            begun = self.books[step.within.of].done_at
            assert begun is not None
            assert self.now - begun >= (step.within.at_least or timedelta(0))
            assert step.within.at_most is None or self.now - begun <= step.within.at_most

    def _may_take_part(self, step: Step, by: str) -> None:
        over = any(self.books[s.id].done_at for s in self.procedure.steps if s.kind in PRESENCE)
        assert not over or by in self.briefed(), "only the briefed act"
        assert self._kept_apart(step, by)

    def _kept_apart(self, step: Step, by: str) -> bool:
        """Say whether the person did nothing on the steps whose people are kept out here."""
        return all(
            by not in {line.by for line in self.books[name].live}
            and by not in {who for who, _ in self.books[name].seats.values()}
            for name in step.not_same_as
        )

    def _holds(self, test: FactTest) -> bool:
        return test.holds(None if test.fact in self.doubted else self.facts[test.fact])

    def _read(self, name: str, line: Line) -> None:
        """Put a reading on the board; a correction is as old as what it corrects."""
        if line.made.replaces:
            old = self.readings.get(name)
            if old is None or old.number != line.made.replaces:
                return
        else:
            self.read_at[name] = line.at
        self.readings[name] = line

    def _equal(self, step: Step) -> bool:
        found = [
            {part: dict(line.made.computed) for part, line in self.books[step.id].latest(n).items()}
            for n in range(len(step.seats))
        ]
        return all(each == found[0] for each in found)

    def _as_expected(self, step: Step) -> bool:
        wanted = {k: str(n) for k, n in getattr(step.own, "wanted", {}).items()}
        return all(
            line.good and (not wanted or dict(line.made.computed) == wanted)
            for seat in range(len(step.seats))
            for line in self.books[step.id].latest(seat).values()
        )

    def needs_seats(self, step: Step) -> bool:
        """Say whether signatures complete the step."""
        return len(step.seats) > 1 or step.critical or step.kind in BY_SIGNATURE

    def briefed(self) -> set[str]:
        """Return everyone who has said that they were briefed."""
        briefs = [s.id for s in self.procedure.steps if s.kind in PRESENCE]
        return {line.made.part for name in briefs for line in self.books[name].live}

    def performed(self, hold: Step) -> set[str]:
        """Return everyone who entered anything since the hold before this one."""
        people: set[str] = set()
        for step in self.procedure.steps[: hold.number - 1]:
            if step.kind in HOLDS:
                people.clear()
            elif step.kind not in PRESENCE:
                people |= {line.by for line in self.books[step.id].lines}
        return people

    def _step(self, name: str) -> Step:
        step = self.procedure.step(name)
        assert step is not None
        return step
