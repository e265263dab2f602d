"""A tablet that nobody touches: it asks for someone's own secret again, and loses nothing."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from app.desk.desk import Desk
from app.people.idle import LIMIT
from tests.desk.conftest import Clock
from tests.screens.conftest import Tablets
from tests.screens.visitor import JSON, Visitor

LONGER = LIMIT.total_seconds() / 60 + 1


@pytest.fixture(autouse=True)
def usual(desk: Desk) -> None:
    """Let tablets lock as they do."""
    desk.sessions._idle.limit = LIMIT


def watched(tablet: Visitor, run: str, *, touched: int, gap: int) -> None:
    answer = tablet.get(f"/runs/{run}/watch?after=-1&touched={touched}&gap={gap}")
    assert answer.status_code == 200


def test_after_ten_minutes_an_act_waits_for_the_persons_own_secret(
    tablets: Tablets, desk: Desk, run: str, clock: Clock
) -> None:
    tablet = tablets("KM", "AB")
    seen = tablet.seen(run)
    clock.wait(minutes=LONGER)
    before = len(list(desk.ledger.read_all()))

    refused = tablet.tell(f"/runs/{run}/steps/wind/enter", values={"value": "4.2"}, seen=seen)
    hands = tablet.tell("/hands", person="KM")
    page = tablet.get(f"/runs/{run}")

    assert refused.status_code == hands.status_code == page.status_code == 401
    assert refused.json() == {
        "code": "session.idle",
        "sentence": "Nobody has touched this tablet for 10 minutes. Nothing was saved.",
        "who": "",
        "where": "Sign on with your own secret, then do it again.",
    }
    assert len(list(desk.ledger.read_all())) == before
    tablet.sign_on("AB")
    assert tablet.enter(run, "wind", value="4.2").status_code == 200
    assert tablet.post("/hands", person="KM").status_code == 303  # who was there is still there


def test_what_was_typed_stays_in_its_form(tablets: Tablets, run: str, clock: Clock) -> None:
    tablet = tablets("AB")
    seen = tablet.seen(run)
    clock.wait(minutes=LONGER)

    answer = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        data={"values.value": "4.2", "seen": str(seen)},
        headers={"HX-Request": "true"},
    )

    assert answer.status_code == 401
    assert answer.headers["hx-retarget"] == "#told"  # the form itself is not swapped
    assert "What you typed is still here." in answer.text
    assert re.search(r'action="/sign-on"', answer.text)


def test_stop_work_works_on_a_locked_tablet(
    tablets: Tablets, desk: Desk, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")
    clock.wait(minutes=LONGER)

    answer = tablet.post(f"/runs/{run}/stop")

    assert answer.status_code == 303
    seen = desk.run(run)
    assert seen is not None
    assert seen.state.stop is not None


def test_a_page_that_only_watches_does_not_keep_a_tablet_open(
    tablets: Tablets, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")

    for minute in range(1, 12):
        clock.wait(minutes=1)
        watched(tablet, run, touched=60 * minute, gap=60 * minute)
        tablet.get(f"/runs/{run}/_bench")

    assert tablet.get(f"/runs/{run}", headers=JSON).status_code == 401


def test_a_finger_that_only_types_keeps_it_open(tablets: Tablets, run: str, clock: Clock) -> None:
    tablet = tablets("AB")

    for _ in range(11):
        clock.wait(minutes=1)
        watched(tablet, run, touched=5, gap=60)

    assert tablet.enter(run, "wind", value="4.2").status_code == 200


def test_a_touch_after_too_long_a_gap_does_not_unlock(
    tablets: Tablets, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")
    clock.wait(minutes=LONGER)

    watched(tablet, run, touched=1, gap=int(timedelta(minutes=LONGER).total_seconds()))

    assert tablet.get(f"/runs/{run}", headers=JSON).status_code == 401


def test_an_entry_said_to_be_kept_does_not_go_round_the_lock(
    tablets: Tablets, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")
    seen = tablet.seen(run)
    clock.wait(minutes=LONGER)
    now = clock().isoformat()
    kept = {"kept-by": "AB", "kept-made": now, "kept-sent": now, "kept-age-ms": "0"}

    answer = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        json={"values": {"value": "4.2"}, "seen": seen},
        headers={**JSON, **kept},
    )

    assert answer.status_code == 401
    assert answer.json()["code"] == "session.idle"
