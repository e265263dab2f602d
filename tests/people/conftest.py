"""A site's folder with a real database, a clock that the test moves, and cheap hashes."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from app.ledger.ledger import Ledger
from app.people.checking import Checked
from app.people.register import Register
from app.people.secrets import Hashing, Strength
from app.people.sessions import Sessions
from app.run.crew import Person

NOON = datetime(2026, 12, 1, 12, 0, tzinfo=UTC)
SECRET = "wind in the dome"
WRONG = "wind in the hall"


@dataclass(slots=True)
class House:
    """The people's part of a house, that can be closed and opened again."""

    folder: Path
    now: datetime = NOON
    hashing: Callable[[], Hashing] = lambda: Hashing(Strength(memory_kib=8, passes=1), threads=2)
    ledger: Ledger = field(init=False)
    register: Register = field(init=False)
    sessions: Sessions = field(init=False)

    def open(self) -> None:
        self.ledger = Ledger.open(self.folder, lambda: self.now)
        self.register = Register(self.ledger, self.hashing())
        self.sessions = Sessions(self.ledger)

    def close(self) -> None:
        self.register.close()
        self.ledger.close()

    def restart(self) -> None:
        self.close()
        self.open()

    def pass_time(self, **span: int) -> None:
        self.now += timedelta(**span)

    def add(self, person: str = "JB", *roles: str, secret: str = SECRET) -> None:
        whole = Person(id=person, name=f"Name {person}", roles=frozenset(roles or {"technician"}))
        assert self.register.add(whole, secret, by="KP") == whole

    def check(self, person: str = "JB", secret: str = SECRET) -> Checked:
        return asyncio.run(self.register.check(person, secret, self.now))

    def events(self) -> list[tuple[str, dict[str, object]]]:
        return [(each.kind, dict(each.body)) for each in self.ledger.read("site")]


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    Ledger.create(tmp_path)
    house = House(tmp_path)
    house.open()
    yield house
    house.close()
