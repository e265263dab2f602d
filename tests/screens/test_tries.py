"""Whoever tries secret after secret from one place has to wait; stop work never waits."""

from __future__ import annotations

import asyncio

import pytest
from starlette.types import Message, Receive, Scope, Send

from app.desk.desk import Desk
from app.web.tries import MOST, SPAN_S, FewTries
from tests.screens.conftest import Tablets

PEOPLE = ("AB", "KM", "RS", "TW", "SL", "HL", "AU")


def test_thirty_wrong_secrets_over_several_people_close_the_door_for_a_while(
    tablets: Tablets, desk: Desk, run: str
) -> None:
    tablet = tablets()
    unknown = [f"Z{letter}" for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"]
    tries = [*PEOPLE, *unknown][:MOST]
    for person in tries:
        answer = tablet.tell("/sign-on", person=person, secret="not theirs at all")
        assert answer.status_code == 403, answer.text

    right = tablet.tell("/sign-on", **tablet.as_("AB"))
    page = tablet.get("/sign-on")
    stop = tablet.tell(f"/runs/{run}/stop")

    assert right.status_code == 429
    assert right.json() == {
        "code": "door.tries",
        "sentence": (
            "Too many acts from here were turned away. Wait 5 min. Nothing was saved. "
            "Stop work still works."
        ),
        "who": "",
        "where": "",
    }
    assert page.status_code == stop.status_code == 200
    seen = desk.run(run)
    assert seen is not None
    assert seen.state.stop is not None


@pytest.fixture
def turned_away() -> list[int]:
    """Return the statuses with which the door itself refused."""
    return []


def test_the_door_opens_again_and_each_address_has_its_own_count(turned_away: list[int]) -> None:
    now = [0.0]

    async def not_this_person(_: Scope, __: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 403, "headers": []})

    async def refuse(*told: object) -> None:
        turned_away.append(int(str(told[3])))

    async def silent(_: Message) -> None:
        return

    async def nothing() -> Message:
        return {"type": "http.request"}

    door = FewTries(not_this_person, refuse=refuse, clock=lambda: now[0])

    def act(address: str, path: str = "/sign-on") -> None:
        scope = {"type": "http", "method": "POST", "path": path, "client": (address, 1)}
        asyncio.run(door(scope, nothing, silent))

    for _ in range(MOST):
        act("10.0.0.7")
    act("10.0.0.8")
    assert turned_away == []
    act("10.0.0.7")
    assert turned_away == [429]
    act("10.0.0.7", "/runs/R-0001/stop")
    assert turned_away == [429]
    now[0] = SPAN_S
    act("10.0.0.7")

    assert turned_away == [429]
