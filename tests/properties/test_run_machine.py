"""Any people, any acts, any values, any order, any time: the laws of a run hold after each.

Each event is judged by a witness that shares no code with the core; at the end a relief crew must be
able to bring whatever is left to a closed run.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from app.ledger.canonical import canonical
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.board import first_board, post
from app.run.commands import (
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
from app.run.crew import Crew, Person
from app.run.decide import decide, decide_open
from app.run.events import ActRefused, Event, Happened, from_body, kind_name, to_body
from app.run.pausing import last_state_lines, make_safe_lines
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.signing import AT_MIRROR, FROM_RECORD
from app.run.state import RunState, evolve, fold
from tests.properties.small_lift import (
    CREW,
    EXPECTED,
    GOOD,
    ODD,
    ONES_OWN_SECRET,
    RELIEF,
    RESTS,
    the_procedure,
    the_site,
)
from tests.properties.witness import Witness

SITE = the_site()
LIFT = the_procedure()
RUN = "R-0001"
START = datetime(2027, 5, 6, 8, 0, tzinfo=UTC)
MOST_MOVES = 400  # far more than a relief crew has ever needed

people = st.sampled_from([*(person.id for person in CREW for _ in range(3)), "XX", ""])
orders = st.permutations([person.id for person in CREW if person.active])
likely = st.sampled_from([*[True] * 9, False])  # mostly given
ages = st.sampled_from([0, 0, 0, 0, 1, 3, 20])  # how many events ago the page was drawn
waits = st.sampled_from([1, 5, 60, 119, 120, 121, 300, 900, 2400, 2401, 7200, 11000])  # seconds
reasons = st.sampled_from(["It was read again.", "Misread.", "Look again.", "So be it.", " "])
hows = st.sampled_from([AT_MIRROR, AT_MIRROR, FROM_RECORD, "", "by radio"])
dispositions: st.SearchStrategy[Disposition] = st.sampled_from(
    ["use as is", "redo", "repair", "reject"]
)
GONE = {"seat.begun", "seat.performer", "seat.not_agreed"}  # it waits for someone who has left
PAUSES = ("stop", "restart", "restart", "suspend", "resume", "close")
# A step: one of those about to be done, or just done, or any.
places = st.one_of(
    st.tuples(st.just("near"), st.integers(-1, 2)),
    st.tuples(st.just("near"), st.just(0)),
    st.tuples(st.just("any"), st.integers(0, len(LIFT.steps) - 1)),
)


class Running(RuleBasedStateMachine):
    """One run of the small lift."""

    def __init__(self) -> None:
        super().__init__()
        self.crew = Crew(people={p.id: p for p in CREW}, abilities=SITE.roles)
        self.now = START
        self.state = RunState()
        self.board = first_board(LIFT.asset)
        self.happened: list[Happened] = []
        self.read: list[Happened] = []  # the same, as the ledger would give it back
        self.witness = Witness(LIFT)
        self.sound = True  # no law is broken so far: else what is left of the run says nothing

    @initialize(moves=st.integers(0, 45), order=orders)
    def begin(self, moves: int, order: list[str]) -> None:
        opened = decide_open(LIFT, self.board, self.crew, run=RUN, by="SL", open_runs=())
        assert not isinstance(opened, Refusal)
        self.happen(opened, None, "SL")
        for _ in range(moves):
            self.move(order)

    # -- what people do

    @rule(order=orders)
    def the_work_goes_on(self, order: list[str]) -> None:
        self.move(order)

    @rule(order=orders, moves=st.integers(2, 12))
    def the_work_goes_on_for_a_while(self, order: list[str], moves: int) -> None:
        for _ in range(moves):
            self.move(order)

    @rule(seconds=waits)
    def time_passes(self, seconds: int) -> None:
        self.now += timedelta(seconds=seconds)

    @rule(by=people, place=places, data=st.data(), signed=likely, age=ages)
    def enter(
        self, by: str, place: tuple[str, int], data: st.DataObject, *, signed: bool, age: int
    ) -> None:
        step = self.step_at(place)
        parts = [*kind_of(step).parts(step, self.scene().circumstances(by)), "", by, "nowhere"]
        values = data.draw(st.sampled_from([GOOD.get(step.id, {}), *ODD.get(step.id, ())]))
        part = data.draw(st.sampled_from(parts))
        seen = self.state.seq - age
        self.ask(Enter(by=by, step=step.id, part=part, values=values, signed=signed, seen=seen))

    @rule(by=people, place=places, how=hows, signed=likely, age=ages)
    def sign(self, by: str, place: tuple[str, int], how: str, *, signed: bool, age: int) -> None:
        step = self.step_at(place)
        self.ask(Sign(by=by, step=step.id, how=how, signed=signed, seen=self.state.seq - age))

    @rule(by=people, place=places, reason=reasons, signed=likely, age=ages)
    def refuse_hold(
        self, by: str, place: tuple[str, int], reason: str, *, signed: bool, age: int
    ) -> None:
        step, seen = self.step_at(place), self.state.seq - age
        self.ask(RefuseHold(by=by, step=step.id, reason=reason, signed=signed, seen=seen))

    @rule(by=people, back=st.integers(0, 12), data=st.data(), reason=reasons, signed=likely)
    def correct(
        self, by: str, back: int, data: st.DataObject, reason: str, *, signed: bool
    ) -> None:
        entries = [e for book in self.witness.books.values() for e in book.lines]
        entries.sort(key=lambda line: line.number)
        line = entries[-1 - back] if back < len(entries) else None
        step = line.made.step if line else ""
        who = data.draw(st.sampled_from([by, line.by])) if line else by
        values = data.draw(st.sampled_from([GOOD.get(step, {}), *ODD.get(step, ())]))
        self.ask(
            Correct(
                by=who,
                entry=line.number if line else 1,
                values=values,
                reason=reason,
                signed=signed,
                seen=self.state.seq - data.draw(ages),
            )
        )

    @rule(by=people, place=places, part=st.sampled_from(["", "B01", "north"]), text=reasons)
    def report(self, by: str, place: tuple[str, int], part: str, text: str) -> None:
        self.ask(ReportTrouble(by=by, step=self.step_at(place).id, part=part, text=text))

    @rule(by=people, back=st.integers(0, 2), disposition=dispositions, reason=reasons)
    def dispose(self, by: str, back: int, disposition: Disposition, reason: str) -> None:
        number = len(self.state.troubles) - back
        self.ask(
            DisposeTrouble(
                by=by, trouble=number, disposition=disposition, reason=reason, signed=True
            )
        )

    @rule(by=people, act=st.sampled_from(PAUSES), words=reasons, looked=likely, signed=likely)
    def pause(self, by: str, act: str, words: str, *, looked: bool, signed: bool) -> None:
        safe = make_safe_lines(LIFT, self.state) if looked else ()
        last = last_state_lines(LIFT, self.state, self.board) if looked else ()
        asked: dict[str, Command] = {
            "stop": StopWork(by=by, text=words),
            "restart": SignRestart(by=by, confirmed=safe, reason=words, signed=signed),
            "suspend": Suspend(by=by, state=words, signed=signed),
            "resume": Resume(by=by, confirmed=last, signed=signed),
            "close": Close(by=by, signed=signed, seen=self.state.seq),
        }
        self.ask(asked[act])

    @rule(order=orders, data=st.data())
    def someone_able_enters_something_odd(self, order: list[str], data: st.DataObject) -> None:
        step = self.step_at(("near", 0))
        values = data.draw(st.sampled_from([GOOD.get(step.id, {}), *ODD.get(step.id, ())]))
        self.first_taken(
            replace(each, values=values)
            for by in order
            for each in self.on(step, by)
            if isinstance(each, Enter)
        )

    @rule(back=st.integers(0, 6), data=st.data(), reason=reasons)
    def someone_able_corrects(self, back: int, data: st.DataObject, reason: str) -> None:
        lines = [e for book in self.witness.books.values() for e in book.latest().values()]
        lines = sorted(lines, key=lambda line: -line.number)[back : back + 1]
        for line in lines:
            step, seen = line.made.step, self.state.seq
            values = data.draw(st.sampled_from([GOOD.get(step, {}), *ODD.get(step, ())]))
            self.first_taken(
                Correct(
                    by=by, entry=line.number, values=values, reason=reason, signed=True, seen=seen
                )
                for by in (line.by, *data.draw(orders))
            )

    @rule(order=orders, disposition=dispositions, reason=reasons)
    def someone_able_disposes(
        self, order: list[str], disposition: Disposition, reason: str
    ) -> None:
        self.first_taken(
            DisposeTrouble(
                by=by, trouble=each.number, disposition=disposition, reason=reason, signed=True
            )
            for each in self.state.open_troubles()
            for by in order
        )

    @rule(person=st.sampled_from(CREW), roles=st.sampled_from([None, "technician", "lead"]))
    def roles_change(self, person: Person, roles: str | None) -> None:
        after = replace(person, active=False) if roles is None else person
        if roles is not None:
            after = replace(person, roles=frozenset({roles}))
        self.crew = replace(self.crew, people={**self.crew.people, person.id: after})

    # -- the laws

    @invariant()
    def the_state_kept_at_hand_is_the_fold_of_what_was_written(self) -> None:
        for each in self.happened[len(self.read) :]:
            self.read.append(replace(each, event=written_and_read(each.event)))
        board = first_board(LIFT.asset)
        for each in self.read:
            board = post(board, RUN, each)

        assert self.read == self.happened
        assert fold(self.read) == self.state
        assert board == self.board

    @invariant()
    def the_state_says_what_the_witness_saw(self) -> None:
        for step in LIFT.steps:
            progress, book = self.state.progress(step.id), self.witness.books[step.id]
            seats = {s.seat: (s.by, s.seq) for s in progress.signatures}
            assert (progress.done_at, progress.round, seats) == (
                book.done_at,
                book.round,
                book.seats,
            )
            assert len(seats) == len(progress.signatures)
            assert [e.number for e in progress.entries] == [e.number for e in book.lines]
            assert [e.number for e in progress.live()] == [e.number for e in book.live]
        assert {t.number for t in self.state.open_troubles()} == set(self.witness.troubles)
        assert (self.state.stop is None) == (self.witness.restart is None)
        assert self.state.status == self.witness.status

    @invariant()
    def the_board_says_what_the_witness_saw_and_never_a_hazard(self) -> None:
        for name, value in self.witness.facts.items():
            doubted = name in self.witness.doubted
            assert self.board.value(name) == (None if doubted else value)
        found = {name: line.number for name, line in self.witness.readings.items()}
        assert {name: now.entry for name, now in self.board.readings.items()} == found
        assert {n: now.at for n, now in self.board.readings.items()} == {
            n: self.witness.read_at[n] for n in found
        }
        for hazard in LIFT.asset.hazards:
            assert not all(test.holds(self.board.value(test.fact)) for test in hazard.never)

    @invariant()
    def nobody_sees_what_is_blind(self) -> None:
        for step in LIFT.steps:
            if step.check != "independent" or self.witness.books[step.id].done_at is not None:
                continue
            for viewer in ("", "AB", "KM", "SL", "NN"):
                scene = self.scene().circumstances(viewer, blind=True)
                assert all(e.by == viewer and not e.signed for e in scene.of(step.id))
                shown = "".join(repr(kind_of(s).card(s, "", scene)) for s in LIFT.steps)
                assert not [word for word in self.hidden(step, viewer) if word in shown]

    def hidden(self, step: Step, viewer: str) -> set[str]:
        """Return the values that this person must not be able to see."""
        book = self.witness.books[step.id]
        typed = {(e.by, v) for e in book.live for v in e.made.values.values() if len(v) > 3}
        own = {value for by, value in typed if by == viewer}
        return ({value for _, value in typed} - own) | ({EXPECTED} if step.id == "count" else set())

    def teardown(self) -> None:
        if self.happened and self.sound:
            self.a_relief_crew_can_finish()

    def a_relief_crew_can_finish(self) -> None:
        fresh = {person.id: person for person in (*CREW, *RELIEF)}
        self.crew = replace(self.crew, people=fresh)
        order = [*(p.id for p in RELIEF), *(p.id for p in CREW if p.active)]
        for _ in range(MOST_MOVES):
            if self.state.status == "closed":
                return
            self.move(order, briefing=True)
        raise AssertionError("the run cannot be finished")

    # -- how it is done

    def scene(self) -> Scene:
        return Scene(
            procedure=LIFT, state=self.state, board=self.board, crew=self.crew, now=self.now
        )

    def step_at(self, place: tuple[str, int]) -> Step:
        how, number = place
        if how == "any":
            return LIFT.steps[number]
        steps = LIFT.steps
        first = next((s.number for s in steps if not self.state.progress(s.id).done), len(steps))
        return steps[max(0, min(first - 1 + number, len(steps) - 1))]

    def ask(self, command: Command) -> list[Event] | Refusal:
        before = self.state, self.board
        answer = self.decide(command)
        assert (self.state, self.board) == before
        assert self.decide(command) == answer
        if isinstance(answer, Refusal):
            self.refused(command, answer)
        else:
            assert answer
            self.happen(answer, command, command.by)
        return answer

    def decide(self, command: Command) -> list[Event] | Refusal:
        return decide(LIFT, self.state, self.board, command, self.crew, self.now)

    def refused(self, command: Command, refusal: Refusal) -> None:
        assert refusal.code
        assert refusal.sentence.strip().endswith((".", "”", ":", "!", "?"))
        for step in LIFT.steps:
            if step.check == "independent" and self.witness.books[step.id].done_at is None:
                typed = set(getattr(command, "values", {}).values())
                told = self.hidden(step, "") - typed
                assert not [word for word in told if word in refusal.sentence]
        if refusal.recorded:
            event = ActRefused(
                act=type(command).__name__,
                step=getattr(command, "step", refusal.step),
                rule=refusal.code,
                sentence=refusal.sentence,
            )
            self.happen([event], command, command.by)

    def happen(self, events: list[Event], command: Command | None, by: str) -> None:
        self.sound = False
        for event in events:
            each = Happened(seq=self.state.seq + 1, at=self.now, by=by, event=event)
            self.witness.see(each, command, self.crew)
            self.happened.append(each)
            self.state = evolve(self.state, each)
            self.board = post(self.board, RUN, each)
        self.witness.settle(RESTS)
        self.sound = True

    def move(self, order: list[str], *, briefing: bool = False) -> None:
        """Do the next sensible thing that someone may do; if there is none, wait or report."""
        refusals = self.first_taken(self.sensible(order, briefing=briefing))
        if refusals is not None:
            self.clear_the_way(refusals)

    def first_taken(self, commands: Iterable[Command]) -> list[Refusal] | None:
        """Ask the first of these that is not refused; return all the refusals if there is none."""
        refusals: list[Refusal] = []
        for command in commands:
            answer = self.decide(command)
            if not isinstance(answer, Refusal):
                self.ask(command)
                return None
            refusals.append(answer)
        return refusals

    def sensible(self, order: list[str], *, briefing: bool) -> list[Command]:
        seq, state = self.state.seq, self.state
        if state.stop is not None:
            lines = make_safe_lines(LIFT, state)
            return [
                SignRestart(by=by, confirmed=lines, reason="Made safe.", signed=True)
                for by in order
            ]
        if state.status == "suspended":
            lines = last_state_lines(LIFT, state, self.board)
            return [Resume(by=by, confirmed=lines, signed=True) for by in order]
        redo: list[Command] = [
            DisposeTrouble(by=by, trouble=t.number, disposition="redo", reason="Anew.", signed=True)
            for t in state.open_troubles()
            for by in order
        ]
        todo = [s for s in LIFT.steps if not state.progress(s.id).done]
        if not todo:
            return [*redo, *(Close(by=by, signed=True, seen=seq) for by in order)]
        here = sorted(
            (s for s in todo if s.section == todo[0].section),
            key=lambda s: s.number,
            reverse=order[0] > order[-1],  # where order is free, now from one end, now the other
        )
        late: list[Command] = [
            Enter(by=p.id, step="brief", part=p.id, signed=True, seen=seq)
            for p in RELIEF
            if briefing
        ]
        return [*redo, *late, *(c for s in here for by in order for c in self.on(s, by))]

    def on(self, step: Step, by: str) -> list[Command]:
        seq = self.state.seq
        at = self.scene().circumstances(by, blind=True)
        mine = {e.part for e in at.of(step.id) if e.verdict == "good" or e.accepted}
        parts = [part for part in kind_of(step).parts(step, at) if part not in mine]
        sign = Sign(by=by, step=step.id, how=AT_MIRROR, signed=True, seen=seq)
        values, secret = GOOD.get(step.id, {}), step.id in ONES_OWN_SECRET
        return [
            *(
                Enter(by=by, step=step.id, part=part, values=values, signed=secret, seen=seq)
                for part in parts
            ),
            sign,
        ]

    def clear_the_way(self, refusals: list[Refusal]) -> None:
        """What is too early is waited for; what is stale or late is done again, by way of a trouble."""
        codes = {refusal.code for refusal in refusals}
        again = {"reading.stale": "wind", "reading.missing": "wind", "within.late": "lift"}
        steps = [step for code, step in again.items() if code in codes]
        gone = [r.step for r in refusals if r.code in GONE]
        if gone and "seat.apart" not in codes:
            steps = gone[:1]
        if steps and not self.state.open_troubles(steps[0]):
            self.ask(ReportTrouble(by="KM", step=steps[0], text="Do it again."))
            return
        self.now += timedelta(minutes=2)


def written_and_read(event: Event) -> Event:
    """Return the event after it has been through the ledger's form."""
    body = to_body(event)
    return from_body(kind_name(event), json.loads(canonical(body)))


TestRunning = Running.TestCase
TestRunning.settings = settings(
    max_examples=60, stateful_step_count=40, deadline=None, report_multiple_bugs=False
)
