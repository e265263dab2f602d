"""A real site in a temporary folder, its application, and tablets to visit it with."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI

from app.desk.desk import Desk
from app.run.crew import Person
from app.web.app import create_app
from tests.desk.conftest import SECRETS, Clock
from tests.run.stage import PEOPLE, SITE, TEXT
from tests.screens.visitor import Visitor

EXPECTED = "7346"  # of the blind count; found nowhere else in a page by chance
OTHER = "8129"
PROCEDURE = TEXT.replace("expect = 0", f"expect = {EXPECTED}")

Tablets = Callable[..., Visitor]


@pytest.fixture
def clock() -> Clock:
    """Return a clock at the start of the tests' day."""
    return Clock()


@pytest.fixture
def desk(tmp_path: Path, clock: Clock) -> Iterator[Desk]:
    """Return the open desk of a founded site with QP-9 released."""
    folder = tmp_path / "site"
    Desk.found(
        folder,
        SITE.encode(),
        [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()],
        {"QP-9.toml": PROCEDURE.encode()},
        reviewer="SL",
        releaser="HL",
        clock=clock,
    )
    opened = Desk.open(folder, clock=clock)
    yield opened
    opened.close()


@pytest.fixture
def app(desk: Desk) -> FastAPI:
    """Return the application at that desk."""
    return create_app(desk)


@pytest.fixture
def loop() -> Iterator[asyncio.AbstractEventLoop]:
    """Return one loop for a whole test: what goes on in the background goes on between requests."""
    made = asyncio.new_event_loop()
    yield made
    made.run_until_complete(made.shutdown_default_executor())
    made.close()


@pytest.fixture
def tablets(app: FastAPI, loop: asyncio.AbstractEventLoop) -> Iterator[Tablets]:
    """Return a way to pick up a tablet, with the people named signed on at it."""
    picked: list[Visitor] = []

    def pick_up(*people: str) -> Visitor:
        visitor = Visitor(app, loop, SECRETS)
        picked.append(visitor)
        for person in people:
            visitor.sign_on(person)
        return visitor

    yield pick_up
    for visitor in picked:
        visitor.close()


@pytest.fixture
def run(tablets: Tablets) -> str:
    """Return an open run with everyone briefed, at its second step."""
    lead = tablets("HL")
    opened = lead.tell("/runs", procedure="QP-9", **lead.as_("HL"))
    assert opened.status_code == 200, opened.text
    name = str(opened.json()["run"])
    for person in ("AB", "KM", "RS", "SL", "HL"):
        assert lead.seal(name, "brief", person).status_code == 200
    assert lead.sign(name, "brief", "SL").status_code == 200
    return name


def take_off(visitor: Visitor, run: str) -> None:
    """Do everything up to the blind count."""
    assert visitor.enter(run, "wind", value="4.2").status_code == 200
    for bracket in ("B01", "B02", "B03"):
        assert visitor.enter(run, "brackets-off", bracket, result="off").status_code == 200
    assert visitor.enter(run, "doors").status_code == 200


def count(visitor: Visitor, run: str, clock: Clock, *numbers: str) -> None:
    """Let three people count, minutes apart."""
    for person, number in zip(("AB", "KM", "RS"), numbers, strict=True):
        clock.wait(minutes=3)
        answer = visitor.seal(run, "count", person, count=number)
        assert answer.status_code == 200, answer.text
