"""A shift of the invented crew: they work a run at the real desk, each with their own secret.

Nothing is written past the desk: every entry and signature is asked for and decided as from a tablet.
Only the clock is theirs, so that a day's work has a day's times.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from app.desk.demo.people import BY_ID, PEOPLE
from app.desk.demo.photos import drawn_photo
from app.desk.demo.readings import typed
from app.procedure.attached import attached_fields
from app.procedure.registry import kind_of
from app.run.commands import Enter, Sign
from app.run.refusal import Refusal
from app.run.scene import needs_signatures
from app.run.signing import AT_MIRROR

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from app.desk.desk import Desk
    from app.desk.seen import Done, Seen
    from app.procedure.model import Step
    from app.run.commands import Command

PACE_S = (9, 14, 7, 22, 11, 17)  # between two presses of a crew that is not in a hurry
TABLET = "demo00000001"


class Stuck(Exception):  # noqa: N818 - it is the crew that is stuck, and says on what
    """The invented crew cannot go on: their story does not fit the procedure any more."""


class Clock:
    """The time of an invented day."""

    def __init__(self, start: datetime) -> None:
        self.now = start
        self._presses = 0

    def __call__(self) -> datetime:
        """Return the time."""
        return self.now

    def press(self) -> None:
        """Let the time between two presses pass."""
        self.now += timedelta(seconds=PACE_S[self._presses % len(PACE_S)])
        self._presses += 1

    def wait(self, span: timedelta) -> None:
        """Let some time pass."""
        self.now += span


class Shift:
    """The crew on one run."""

    def __init__(self, desk: Desk, clock: Clock, run: str) -> None:
        self.desk = desk
        self.clock = clock
        self.run = run
        self._keys = 0

    @classmethod
    async def opened(cls, desk: Desk, clock: Clock, procedure: str, by: str) -> Shift:
        """Open a run, and return the shift that works it."""
        key = f"demo-open-{len(desk.runs()) + 1}"
        secret = BY_ID[by].secret
        told = await desk.open_run(procedure, by=by, secret=secret, key=key, device=TABLET)
        if isinstance(told, Refusal):
            raise Stuck(told.sentence)
        return cls(desk, clock, told.seen.state.run)

    @property
    def seen(self) -> Seen:
        """Return the run as it stands."""
        seen = self.desk.run(self.run)
        if seen is None:
            raise Stuck(f"There is no run {self.run}.")
        return seen

    @property
    def seq(self) -> int:
        """Return up to where everyone has read."""
        return self.seen.state.seq

    async def ask(self, command: Command) -> Done:
        """Ask the desk for an act that needs no secret."""
        self.clock.press()
        told = await self.desk.act(self.run, command, key=self._key(), device=TABLET)
        return self._done(told, command)

    async def sign(self, command: Command) -> Done:
        """Ask the desk for an act that is signed with the person's own secret."""
        self.clock.press()
        secret, key = BY_ID[command.by].secret, self._key()
        told = await self.desk.sign_act(self.run, command, secret=secret, key=key, device=TABLET)
        return self._done(told, command)

    async def work(self, name: str) -> None:
        """Do a whole step, as its seats and its check demand."""
        step = self._step(name)
        who = tuple(self._people(step))
        if kind_of(step).presence:
            await self._brief(step)
            await self._sign_all(step, who if needs_signatures(step) else ())
        elif kind_of(step).is_hold:
            await self._sign_all(step, who)
        elif step.check == "before":
            await self._sign_all(step, who)
            await self.fill(step.id, who[0])
        elif step.check == "independent":
            for person in who:
                await self.alone(step.id, person)
        else:
            await self.fill(step.id, who[0])
            if needs_signatures(step):
                await self._sign_all(step, who)

    async def alone(self, name: str, person: str, **instead: str) -> None:
        """Make one person's own entries on an independent step, and seal them."""
        step = self._step(name)
        self.clock.wait(step.apart)
        await self.fill(name, person, **instead)
        if len(self._parts(step)) > 1:
            await self._sign_all(step, (person,))

    async def fill(self, name: str, person: str, **instead: str) -> None:
        """Enter every part of a step; `instead` gives values other than the usual ones."""
        for part in self._parts(self._step(name)):
            await self.enter(name, person, part, **instead)

    async def enter(self, name: str, person: str, part: str = "", **instead: str) -> None:
        """Enter one part of a step."""
        step = self._step(name)
        least: timedelta | None = getattr(step.own, "at_least", None) if part == "stop" else None
        self.clock.wait((least or timedelta(0)) + timedelta(seconds=5 if least else 0))
        alone = step.check == "independent" and len(self._parts(step)) == 1
        values = self._values(step, part, instead)
        command = Enter(by=person, step=name, part=part, values=values, seen=self.seq)
        await (self.sign(command) if alone else self.ask(command))

    async def _brief(self, step: Step) -> None:
        for each in PEOPLE:
            if each.briefed:
                await self.sign(Enter(by=each.id, step=step.id, part=each.id, seen=self.seq))

    async def _sign_all(self, step: Step, who: tuple[str, ...]) -> None:
        how = AT_MIRROR if kind_of(step).is_hold else ""
        for person in who:
            await self.sign(Sign(by=person, step=step.id, how=how, signed=False, seen=self.seq))

    def _people(self, step: Step) -> Iterator[str]:
        """Choose someone for each seat; technicians take turns, step by step."""
        taken: set[str] = set()
        here = [each for each in PEOPLE if each.briefed]
        turn = step.number % len(here)
        for role in step.seats:
            found = (e.id for e in here[turn:] + here[:turn] if role in e.roles)
            person = next(each for each in found if each not in taken)
            taken.add(person)
            yield person

    def _values(self, step: Step, part: str, instead: Mapping[str, str]) -> dict[str, str]:
        parts = self._parts(step)
        at = self.desk.circumstances(self.seen, "")
        values: dict[str, str] = {}
        for place, field in enumerate(
            (*kind_of(step).card(step, part, at).fields, *attached_fields(step))
        ):
            if field.control == "photo":
                photo = drawn_photo(part or step.id, self.run)
                values[field.name] = self.desk.blobs.keep(photo, ".jpg")
                continue
            which = parts.index(part) if len(parts) > 1 else place
            value = instead.get(field.name, typed(step.id, field, which))
            if value is None and field.required:
                raise Stuck(f"{step.id}: nobody knows what to type for {field.label}.")
            values |= {field.name: value} if value is not None else {}
        return values

    def _parts(self, step: Step) -> tuple[str, ...]:
        return tuple(kind_of(step).parts(step, self.desk.circumstances(self.seen, "")))

    def _step(self, name: str) -> Step:
        step = self.seen.procedure.step(name)
        if step is None:
            raise Stuck(f"{self.seen.procedure.id} has no step {name}.")
        return step

    def _key(self) -> str:
        self._keys += 1
        return f"demo-{self.run}-{self._keys}"

    def _done(self, told: Done | Refusal, command: Command) -> Done:
        if isinstance(told, Refusal):
            raise Stuck(f"{command.by} was refused on {told.step or self.run}: {told.sentence}")
        return told
