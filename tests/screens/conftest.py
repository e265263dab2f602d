"""A real site in a temporary folder, its application, and tablets to visit it with."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from fastapi import FastAPI

from app.desk.desk import Desk, Done
from app.desk.shelf import happened as as_happened
from app.run.commands import Enter, Sign
from app.run.crew import Person
from app.run.events import Happened
from app.web.app import create_app
from tests.desk.conftest import SECRETS, Clock
from tests.run.stage import PEOPLE, SITE, TEXT
from tests.screens.visitor import Visitor

EXPECTED = "7346"  # of the blind count; found nowhere else in a page by chance
OTHER = "8129"
RUN = "R-0001"
PROCEDURE = TEXT.replace("expect = 0", f"expect = {EXPECTED}").replace(
    "supervisor = 1 }", "supervisor = 1, lead = 1 }"
)

Tablets = Callable[..., Visitor]


@pytest.fixture
def clock() -> Clock:
    """Return a clock at the start of the tests' day."""
    return Clock()


@pytest.fixture(scope="session")
def founded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a founded site with QP-9 released; tests open copies of it."""
    folder = tmp_path_factory.mktemp("founded") / "site"
    Desk.found(
        folder,
        SITE.encode(),
        [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()],
        {"QP-9.toml": PROCEDURE.encode()},
        reviewer="SL",
        releaser="HL",
        clock=Clock(),
    )
    return folder


@pytest.fixture(scope="session")
def briefed(founded: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of that site with run R-0001 open and everyone briefed."""
    folder = tmp_path_factory.mktemp("briefed") / "site"
    shutil.copytree(founded, folder)
    desk = Desk.open(folder, clock=Clock())
    asyncio.run(brief(desk))
    desk.close()
    return folder


async def brief(desk: Desk) -> None:
    """Open a run and brief everyone who is to work on it."""
    opened = await desk.open_run("QP-9", by="HL", secret=SECRETS["HL"], key="open", device="")
    assert isinstance(opened, Done)
    for person in ("AB", "KM", "RS", "SL", "HL"):
        said = Enter(by=person, step="brief", part=person, seen=99)
        await desk.sign_act(RUN, said, secret=SECRETS[person], key=f"brief-{person}", device="")
    signed = Sign(by="SL", step="brief", signed=False, seen=99)
    done = await desk.sign_act(RUN, signed, secret=SECRETS["SL"], key="brief", device="")
    assert isinstance(done, Done)
    assert done.seen.state.progress("brief").done


@pytest.fixture
def site(briefed: Path) -> Path:
    """Return the folder from which this test's site is copied; a module may choose another."""
    return briefed


@pytest.fixture
def desk(site: Path, tmp_path: Path, clock: Clock) -> Iterator[Desk]:
    """Return the open desk of a copy of the site."""
    folder = tmp_path / "site"
    shutil.copytree(site, folder)
    opened = Desk.open(folder, clock=clock)
    opened.sessions._idle.limit = timedelta(days=1)  # the clock jumps; no tablet is left alone
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
def run() -> str:
    """Return the run that is open, with everyone briefed, at its second step."""
    return RUN


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


def happened(desk: Desk, run: str) -> list[Happened]:
    """Return what has happened in a run, from the ledger itself."""
    return [as_happened(stored) for stored in desk.ledger.read(f"run/{run}")]
