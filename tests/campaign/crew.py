"""The invented crew at a tablet: every act of theirs is a request to the real application."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta

import httpx

from app.desk.demo.campaign import typed
from app.desk.demo.people import BY_ID, PEOPLE
from app.desk.demo.photos import drawn_photo
from app.desk.demo.shift import Clock, Shift, Stuck
from app.desk.desk import Desk
from app.procedure.attached import attached_fields
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.procedure.usual import latest_of
from app.run.commands import Close, Command, Enter, Sign

JSON = {"Accept": "application/json"}
AT_THE_TABLET = tuple(each.id for each in PEOPLE if each.roles != ("auditor",))
# Who takes a seat first, by role; on a hold it is somebody who has not worked since the last one.
FIRST = {"supervisor": ("TW", "LK")}
AT_A_HOLD = {"supervisor": ("LK", "TW")}
LONGEST_PRESS = timedelta(seconds=3)
CLOCKED = ("dwell", "trend")


class Tablet:
    """A browser's side of the door, with its cookies; it reads JSON."""

    def __init__(self, client: httpx.AsyncClient) -> None:
        self._client = client
        self.entering = ""
        self.requests = 0

    async def sign_on(self, person: str) -> None:
        """Sign a person on."""
        await self.tell("/sign-on", person=person, secret=BY_ID[person].secret)
        self.entering = person

    async def hands(self, person: str) -> None:
        """Give the tablet to somebody who is signed on at it."""
        if self.entering != person:
            await self.tell("/hands", person=person)
            self.entering = person

    async def tell(self, path: str, **body: object) -> dict[str, object]:
        """Send JSON; whatever is refused ends the story, but a tablet that lay untouched is taken up."""
        self.requests += 1
        answer = await self._client.post(path, json=body, headers=JSON)
        if answer.status_code == 401 and answer.json()["code"] == "session.idle":
            await self.sign_on(self.entering)
            answer = await self._client.post(path, json=body, headers=JSON)
        if answer.status_code != 200:
            raise Stuck(f"{path} as {self.entering}: {answer.status_code} {answer.text} {body}")
        told: dict[str, object] = answer.json()
        return told

    async def see(self, path: str) -> dict[str, object]:
        """Ask for the JSON of a page."""
        self.requests += 1
        answer = await self._client.get(path, headers=JSON)
        if answer.status_code == 401:
            await self.sign_on(self.entering)
            answer = await self._client.get(path, headers=JSON)
        assert answer.status_code == 200, answer.text
        told: dict[str, object] = answer.json()
        return told

    async def fetch(self, path: str) -> bytes:
        """Take a file away."""
        answer = await self._client.get(path)
        assert answer.status_code == 200, answer.text
        return answer.content


class Crew(Shift):
    """The crew on one run. They look at the procedure, and act through the door alone."""

    def __init__(self, desk: Desk, clock: Clock, tablet: Tablet, run: str) -> None:
        super().__init__(desk, clock, run)
        self.tablet = tablet

    @classmethod
    async def open(cls, desk: Desk, clock: Clock, tablet: Tablet, procedure: str) -> Crew:
        """Open a run of a procedure."""
        told = await tablet.tell(
            "/runs", procedure=procedure, person="TW", secret=BY_ID["TW"].secret
        )
        return cls(desk, clock, tablet, str(told["run"]))

    async def send(self, command: Command, *, own: bool) -> None:
        """Send one act, with the person's own secret or as whoever holds the tablet."""
        seen = str(self.seq)
        who = {"person": command.by, "secret": BY_ID[command.by].secret} if own else {}
        if not own:
            await self.tablet.hands(command.by)
        match command:
            case Enter(step=step, part=part, values=values):
                path = f"/runs/{self.run}/steps/{step}/enter"
                await self.tablet.tell(path, part=part, values=dict(values), seen=seen, **who)
            case Sign(step=step, how=how):
                path = f"/runs/{self.run}/steps/{step}/sign"
                await self.tablet.tell(path, how=how, seen=seen, **who)
            case Close():
                await self.tablet.tell(f"/runs/{self.run}/close", seen=seen, **who)
            case _:
                raise Stuck(f"This crew does not know {command}.")

    async def ask(self, command: Command) -> None:  # type: ignore[override]
        """Act as whoever holds the tablet."""
        self.clock.press()
        await self.send(command, own=False)

    async def sign(self, command: Command) -> None:  # type: ignore[override]
        """Act with one's own secret."""
        self.clock.press()
        await self.send(command, own=True)

    async def carry_out(self) -> None:
        """Work every step that is taken, and close the run."""
        for step in self.seen.procedure.steps:
            if self.seen.state.progress(step.id).settled:
                continue
            self.clock.wait(timedelta(seconds=40))
            self._not_before(step)
            await self.work(step.id)
            if not self.seen.state.progress(step.id).done:
                raise Stuck(f"{self.seen.procedure.id}: {step.id} is not done. {self._said(step)}")
        await self.sign(Close(by="TW", signed=False, seen=self.seq))

    async def fill(self, name: str, person: str, **instead: str) -> None:
        """Enter every part; those of a trend come one by one, when they are due."""
        step = self._step(name)
        if step.kind == "defects":  # nothing new was found
            for part in self._parts(step):
                if not part.startswith("new "):
                    await self.enter(name, person, part, **instead)
            return None
        if step.kind != "trend":
            return await super().fill(name, person, **instead)
        for _ in range(50):
            if self.seen.state.progress(name).done:
                return None
            await self.enter(name, person, self._parts(step)[-1])
            self.clock.wait(step.own.every)  # type: ignore[attr-defined]
        raise Stuck(f"{name} does not end.")

    async def enter(self, name: str, person: str, part: str = "", **instead: str) -> None:
        """Enter one part; a dwell is stopped between its limits."""
        step = self._step(name)
        if step.kind == "dwell" and part == "stop":
            own = step.own
            least, most = own.at_least, own.at_most  # type: ignore[attr-defined]
            span = (least + most) / 2 if least and most else least or most / 2
            begun = latest_of(self.seen.state.progress(name).live())["start"].at
            self.clock.now = begun + span + (timedelta(seconds=1) if most is None else timedelta())
            await self.send(self._entry(step, person, part, instead), own=False)
            return
        alone = step.check == "independent" and len(self._parts(step)) == 1
        command = self._entry(step, person, part, instead)
        await (self.sign(command) if alone else self.ask(command))

    def _entry(self, step: Step, person: str, part: str, instead: Mapping[str, str]) -> Enter:
        values = self._values(step, part, instead)
        return Enter(by=person, step=step.id, part=part, values=values, seen=self.seq)

    async def _brief(self, step: Step) -> None:
        for person in AT_THE_TABLET:
            await self.sign(Enter(by=person, step=step.id, part=person, seen=self.seq))

    def _people(self, step: Step) -> Iterator[str]:
        first = AT_A_HOLD if kind_of(step).is_hold else FIRST
        taken: set[str] = set()
        turn = step.number % len(AT_THE_TABLET)
        around = AT_THE_TABLET[turn:] + AT_THE_TABLET[:turn]
        for seat, role in enumerate(step.seats):
            owner = self._owner(step) if seat == 0 else ()
            named = (*owner, *first.get(role, ()), *around)
            fit = (p for p in named if role in BY_ID[p].roles and p not in taken)
            person = next(fit, None)
            if person is None:
                raise Stuck(f"{step.id}: nobody is left for the seat of a {role}.")
            taken.add(person)
            yield person

    def _owner(self, step: Step) -> tuple[str, ...]:
        """Return whose locks a step takes off."""
        if step.kind != "restore":
            return ()
        of: str = step.own.of  # type: ignore[attr-defined]
        return (self.seen.state.progress(of).live()[0].by,)

    def _values(self, step: Step, part: str, instead: Mapping[str, str]) -> dict[str, str]:
        parts, at = self._parts(step), self.desk.circumstances(self.seen, "")
        fields = (*kind_of(step).card(step, part, at).fields, *attached_fields(step))
        values: dict[str, str] = {}
        for place, field in enumerate(fields):
            if field.control == "photo":
                photo = drawn_photo(part or step.id, self.run)
                values[field.name] = self.desk.blobs.keep(photo, ".jpg")
                continue
            which = parts.index(part) if len(parts) > 1 else place
            procedure = self.seen.procedure.id
            value = instead.get(
                field.name, typed(procedure, step.id, part, field, which, step.tool)
            )
            if value is None and field.required:
                raise Stuck(f"{procedure}, {step.id}, {part}: what is typed for {field.name}?")
            values |= {field.name: value} if value is not None else {}
        return values

    def _not_before(self, step: Step) -> None:
        """Wait for a step that may not come too soon after another."""
        within = step.within
        if within is None or within.at_least is None:
            return
        done = self.seen.state.progress(within.of).done_at
        if done is not None:
            self.clock.now = max(self.clock.now, done + within.at_least)

    def _said(self, step: Step) -> str:
        progress = self.seen.state.progress(step.id)
        return " ".join(entry.saying for entry in progress.entries[-3:])
