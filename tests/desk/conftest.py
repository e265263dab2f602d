"""A real site in a temporary folder, with a clock that the tests move."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from app.desk.desk import Desk
from app.run.crew import Person
from tests.run.stage import PEOPLE, SITE, START, TEXT

SECRETS = {person: f"{person.lower()}-tells-nobody" for person in PEOPLE}


class Clock:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now

    def wait(self, **span: float) -> None:
        """Let time pass."""
        self.now += timedelta(**span)


@pytest.fixture
def clock() -> Clock:
    """Return a clock at the start of the tests' day."""
    return Clock()


@pytest.fixture
def folder(tmp_path: Path, clock: Clock) -> Path:
    """Return the folder of a founded site with QP-9 released."""
    place = tmp_path / "site"
    Desk.found(
        place,
        SITE.encode(),
        [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()],
        {"QP-9.toml": TEXT.encode()},
        reviewer="SL",
        releaser="HL",
        clock=clock,
    )
    return place


@pytest.fixture
def desk(folder: Path, clock: Clock) -> Iterator[Desk]:
    """Return the open desk of that site."""
    opened = Desk.open(folder, clock=clock)
    yield opened
    opened.close()
