"""Every address, every role: what each is answered, and the table of it in DEVELOPERS.md."""

from __future__ import annotations

import asyncio
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from app.desk.desk import Desk
from app.web.app import create_app
from tests.desk.conftest import SECRETS, Clock
from tests.screens import matrix
from tests.screens.matrix import OWN, ROLES, SAMPLES, Address, Sample
from tests.screens.visitor import Visitor

FOR_ANYONE = {  # without signing on: what keeps people safe, and the door itself
    ("GET", "/sign-on"), ("POST", "/sign-on"), ("GET", "/settings"), ("POST", "/settings"),
    ("POST", "/stop"), ("POST", "/runs/{run_id}/stop"), ("GET", "/stopped"),
    ("GET", "/runs/{run_id}/stopped"), ("GET", "/runs/{run_id}/watch"),
    ("GET", "/worker.js"), ("GET", "/offline"),
    ("GET", "/manifest.webmanifest"),
    ("GET", "/runs/{run_id}/outcome"),
}  # fmt: skip
OF_THE_TABLET = {("POST", "/hands"), ("POST", "/sign-off")}
NOTHING = Sample()

Found = dict[Address, dict[str, str]]


class House:
    """A site of which a fresh copy is opened whenever an act has changed it."""

    def __init__(self, site: Path, folder: Path, loop: asyncio.AbstractEventLoop) -> None:
        self._site, self._folder, self._loop = site, folder, loop
        self._count = 0
        self.desk: Desk | None = None

    def fresh(self, person: str) -> Visitor:
        """Open a copy, and return a tablet at it with this person signed on."""
        self.close()
        self._count += 1
        folder = Path(shutil.copytree(self._site, self._folder / str(self._count)))
        self.desk = Desk.open(folder, clock=Clock())
        tablet = Visitor(create_app(self.desk), self._loop, SECRETS)
        tablet.sign_on("KM")
        tablet.enter("R-0001", "wind", value="99.5")
        tablet.tell("/runs/R-0001/steps/doors/trouble", text="One sticks.")
        tablet.client.cookies.clear()
        if person:
            tablet.sign_on(person)
        return tablet

    def close(self) -> None:
        """Close the copy that is open."""
        while going_on := asyncio.all_tasks(self._loop):  # a record that is being sealed
            self._loop.run_until_complete(asyncio.wait(going_on))
        if self.desk is not None:
            self.desk.close()


@pytest.fixture(scope="module")
def found(briefed: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Found]:
    """Return what every role was answered at every address."""
    loop = asyncio.new_event_loop()
    house = House(briefed, tmp_path_factory.mktemp("houses"), loop)
    try:
        yield _asked(house)
    finally:
        house.close()
        loop.run_until_complete(loop.shutdown_default_executor())
        loop.close()


def _asked(house: House) -> Found:
    answers: Found = {}
    for role, person in ROLES.items():
        tablet = house.fresh(person)
        assert house.desk is not None
        for address in sorted(set(matrix.addresses(create_app(house.desk))), key=_order):
            status = _ask(tablet, house.desk, address, person)
            answers.setdefault(address, {})[role] = matrix.word_of(status)
            if address[0] == "POST" and status < 400:
                tablet = house.fresh(person)
    return answers


def _order(address: Address) -> tuple[str, str]:
    return address[1], address[0]


def _ask(tablet: Visitor, desk: Desk, address: Address, person: str) -> int:
    method, path = address
    sample = SAMPLES.get(address, NOTHING)
    filled = path.format_map({**matrix.NAMES, **sample.names})
    if method == "GET":
        return tablet.get(filled).status_code
    asks: Callable[[str], str] = lambda name: (  # noqa: E731
        SECRETS.get(person, "nobody-has-it") if "secret" in name else person or "AB"
    )
    released = desk.released()[0].sha256
    body = {
        name: asks(name) if value == OWN else released if value == "TEXT" else value
        for name, value in sample.body.items()
    }
    return tablet.post(filled, **body).status_code


def test_every_address_that_acts_has_a_sample(found: Found) -> None:
    acting = {address for address in found if address[0] != "GET"}

    assert acting == set(SAMPLES)


def test_nobody_gets_past_the_door_but_to_what_keeps_people_safe(found: Found) -> None:
    let_in = {address for address, told in found.items() if told["nobody"] != "sign on"}

    assert let_in == FOR_ANYONE


def test_an_auditor_reads_and_does_nothing_but_stop_work(found: Found) -> None:
    acts = {a for a, told in found.items() if a[0] != "GET" and told["auditor"] != "no"}

    assert acts == {a for a in FOR_ANYONE if a[0] == "POST"} | OF_THE_TABLET


def test_opening_deciding_and_releasing_are_not_for_technicians(found: Found) -> None:
    for path in ("/runs", "/runs/{run_id}/troubles/{number}"):
        assert found["POST", path]["technician"] == "no", path
    for act in ("review", "release", "withdraw"):
        assert found["POST", f"/procedures/{{procedure}}/{act}"]["technician"] == "no", act


def test_what_each_role_may_stands_in_the_guide(found: Found) -> None:
    table = matrix.table(found)
    if os.environ.get("WRITE_MATRIX"):
        matrix.write(table)

    assert matrix.written() == table
