"""Stop work: one tap, by anyone; and the way back, which takes two people."""

from __future__ import annotations

import pytest

from app.desk.desk import Desk
from app.run.pausing import make_safe_lines
from tests.screens.conftest import Tablets, happened
from tests.screens.visitor import Visitor, words


def lines(desk: Desk, run: str) -> list[str]:
    """Return the lines that must be confirmed."""
    seen = desk.run(run)
    assert seen is not None
    return list(make_safe_lines(seen.procedure, seen.state))


def restart(tablet: Visitor, desk: Desk, run: str, person: str) -> dict[str, object]:
    """Sign the restart as one person."""
    answer = tablet.tell(
        f"/runs/{run}/restart",
        confirmed=lines(desk, run),
        reason="The strap was moved.",
        **tablet.as_(person),
    )
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_a_tablet_with_nobody_signed_on_stops_work(tablets: Tablets, run: str) -> None:
    tablet = tablets()

    answer = tablet.post(f"/runs/{run}/stop")
    page = tablet.get(f"/runs/{run}/stopped")

    assert answer.status_code == 303
    assert answer.headers["location"] == f"/runs/{run}/stopped"
    assert page.status_code == 200
    text = words(page.text)
    assert "WORK IS STOPPED" in text
    assert "By someone who was not signed on at 08:00:00 UTC." in text
    assert "Step 2 of 8: Read the gust at the mast." in text
    assert "Load on the supports." in text
    assert "Two people, one of them supervisor or lead." in text
    assert "Nobody has signed yet" in text


def test_a_tablet_that_shows_no_run_stops_every_run(tablets: Tablets, run: str) -> None:
    tablet = tablets()

    answer = tablet.post("/stop")
    page = tablet.get("/stopped")

    assert answer.headers["location"] == "/stopped"
    assert "WORK IS STOPPED" in page.text
    assert "Load on the supports." in page.text
    assert f"/runs/{run}/stopped" in page.text


def test_stop_is_told_as_data(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    one = tablet.tell(f"/runs/{run}/stop", text="Strap is loose")
    all_of_them = tablet.tell("/stop")

    assert one.json()["stop"]["by"] == "AB"
    assert one.json()["stop"]["text"] == "Strap is loose"
    assert [each["run"] for each in all_of_them.json()["stopped"]] == [run]


def test_while_work_is_stopped_nothing_is_taken(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    tablet.post(f"/runs/{run}/stop")
    before = happened(desk, run)

    answer = tablet.enter(run, "wind", value="4.2")

    assert answer.status_code == 422
    assert answer.json()["code"] == "run.stopped"
    assert answer.json()["where"] == "the stop page"
    assert happened(desk, run) == before


def test_two_people_restart(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB", "SL")
    tablet.post(f"/runs/{run}/stop")

    first = restart(tablet, desk, run, "AB")
    waiting = words(tablet.get(f"/runs/{run}/stopped").text)
    second = restart(tablet, desk, run, "SL")

    assert first["stop"]
    assert "AB has signed, technician" in waiting
    assert second["stop"] is None
    assert "Work goes on" in words(tablet.get(f"/runs/{run}/stopped").text)


def test_the_same_person_does_not_restart_twice(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("SL")
    tablet.post(f"/runs/{run}/stop")
    restart(tablet, desk, run, "SL")

    answer = tablet.tell(
        f"/runs/{run}/restart", confirmed=lines(desk, run), reason="Safe.", **tablet.as_("SL")
    )

    assert answer.json()["code"] == "restart.same_person"
    assert tablet.see(f"/runs/{run}")["stop"]


def test_two_technicians_do_not_restart(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    tablet.post(f"/runs/{run}/stop")

    restart(tablet, desk, run, "AB")
    after = restart(tablet, desk, run, "KM")

    assert after["stop"]


def test_a_line_that_was_not_looked_at_keeps_work_stopped(tablets: Tablets, run: str) -> None:
    tablet = tablets("SL")
    tablet.post(f"/runs/{run}/stop")

    page = tablet.post(f"/runs/{run}/restart", reason="Safe.", **tablet.as_("SL"))

    assert page.status_code == 422
    assert "Look first, then confirm every line." in words(page.text)
    assert "WORK IS STOPPED" in page.text
    assert "Safe." in page.text  # what was typed stays
    assert tablet.see(f"/runs/{run}")["stop"]


def test_a_stop_sent_twice_is_one(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets()

    tablet.post(f"/runs/{run}/stop", key="one-tap")
    before = happened(desk, run)
    again = tablet.post(f"/runs/{run}/stop", key="one-tap")

    assert again.status_code == 303
    assert happened(desk, run) == before


@pytest.mark.parametrize(
    "page",
    [
        "/today",
        "/holds",
        "/sums",
        "/tools",
        "/settings",
        "/sign-on",
        "/runs/{run}",
        "/runs/{run}/steps/hold/countersign",
        "/runs/{run}/steps/wind/trouble",
        "/runs/{run}/close",
        "/runs/{run}/suspend",
    ],
)
def test_stop_work_is_on_every_page_on_which_people_work(
    tablets: Tablets, run: str, page: str
) -> None:
    answer = tablets("SL").get(page.format(run=run))

    assert answer.status_code == 200
    assert 'aria-label="Stop work"' in answer.text
