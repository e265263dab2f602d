"""Sign on, change hands, today, opening a run, the watch, the display."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.desk.desk import Desk
from tests.desk.conftest import Clock
from tests.screens.conftest import Tablets, happened
from tests.screens.visitor import words


def test_several_people_are_at_one_tablet_and_one_is_entering(tablets: Tablets) -> None:
    tablet = tablets("AB", "KM")

    told = tablet.tell("/hands", person="AB")
    page = words(tablet.get("/sign-on").text)

    assert told.json()["people"] == ["AB", "KM"]
    assert told.json()["entering"] == "AB"
    assert "AB is entering. Who is next?" in page
    assert "KM enters now" in page


def test_hands_change_only_among_those_at_the_tablet(tablets: Tablets) -> None:
    tablet = tablets("AB")

    answer = tablet.tell("/hands", person="SL")

    assert answer.status_code == 403
    assert answer.json()["code"] == "session.not_here"


def test_a_wrong_secret_signs_nobody_on(tablets: Tablets) -> None:
    tablet = tablets()

    answer = tablet.post("/sign-on", person="AB", secret="not-my-own")

    assert answer.status_code == 403
    assert "That secret is not AB's. 4 tries left" in words(answer.text)
    assert "not-my-own" not in answer.text
    assert tablet.get("/").status_code == 401


def test_whoever_signs_off_is_gone(tablets: Tablets) -> None:
    tablet = tablets("AB", "KM")

    left = tablet.tell("/sign-off", person="KM")
    nobody = tablet.tell("/sign-off", person="AB")

    assert left.json() == {"people": ["AB"], "entering": "", "until": left.json()["until"]}
    assert nobody.json()["people"] == []
    assert tablet.get("/").status_code == 401


def test_when_the_one_entering_has_left_nobody_enters(tablets: Tablets, run: str) -> None:
    tablet = tablets("KM", "AB")
    tablet.tell("/sign-off", person="AB")

    answer = tablet.enter(run, "wind", value="4.2")

    assert answer.status_code == 401
    assert answer.json()["code"] == "session.no_hands"


def test_a_shift_ends(tablets: Tablets, clock: Clock, run: str) -> None:
    tablet = tablets("AB")
    clock.wait(hours=12)

    assert tablet.get(f"/runs/{run}").status_code == 401


def test_today_goes_on_with_the_open_run(tablets: Tablets, run: str) -> None:
    page = words(tablets("AB").get("/").text)

    assert "Go on at step 2 of 8" in page
    assert f"QP-9, run {run}. Open" in page
    assert "Step 2 of 8: Read the gust at the mast." in page
    assert "1 of 8 steps done." in page


class TestOpening:
    """Opening a run, at a site where none is open."""

    @pytest.fixture
    def site(self, founded: Path) -> Path:
        return founded

    def test_a_run_is_opened_by_someone_who_may(self, tablets: Tablets, desk: Desk) -> None:
        tablet = tablets("AB")

        page = words(tablet.get("/").text)
        refused = tablet.tell("/runs", procedure="QP-9", **tablet.as_("AB"))
        opened = tablet.tell("/runs", procedure="QP-9", **tablet.as_("SL"))

        assert "No run is open. Open one" in page
        assert refused.status_code == 403
        assert refused.json()["code"] == "open.role"
        assert opened.status_code == 200
        assert opened.json()["run"] == "R-0001"
        assert opened.json()["step"]["id"] == "brief"
        assert len(happened(desk, "R-0001")) == 1

    def test_a_form_leads_to_the_new_run(self, tablets: Tablets) -> None:
        tablet = tablets("SL")

        answer = tablet.post("/runs", procedure="QP-9", **tablet.as_("SL"))

        assert answer.headers["location"] == "/runs/R-0001"

    def test_what_is_not_released_is_not_opened(self, tablets: Tablets, desk: Desk) -> None:
        tablet = tablets("SL")

        answer = tablet.tell("/runs", procedure="QP-8", **tablet.as_("SL"))

        assert answer.status_code == 404
        assert desk.runs() == ()


def test_a_second_run_of_the_same_mirror_is_refused(tablets: Tablets, run: str) -> None:
    tablet = tablets("SL")

    answer = tablet.tell("/runs", procedure="QP-9", **tablet.as_("SL"))

    assert answer.status_code == 422
    assert answer.json()["code"] == "open.other"
    assert answer.json()["where"] == run


def test_the_watch_answers_at_once_when_there_is_news(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answer = tablet.get(f"/runs/{run}/watch?after=1")

    assert set(answer.json()) == {"run", "seq", "status", "stopped", "at"}
    assert answer.json()["seq"] == tablet.seen(run)
    assert answer.json()["stopped"] is False
    assert tablets().get(f"/runs/{run}/watch").status_code == 200  # the link is not lost
    assert tablet.get(f"/runs/{run}/watch?after=x").status_code == 422


def test_the_watch_waits_and_then_says_that_nothing_is_new(
    tablets: Tablets, run: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    tablet = tablets("AB")
    monkeypatch.setattr("app.web.routes.watch.SECONDS", 0.05)
    seq = tablet.seen(run)

    answer = tablet.get(f"/runs/{run}/watch?after={seq}")

    assert answer.json()["seq"] == seq


def test_a_tablet_keeps_its_light_and_its_controls(tablets: Tablets) -> None:
    tablet = tablets()

    tablet.post("/settings", theme="dome")
    tablet.post("/settings", size="large")
    page = tablet.get("/sign-on").text

    assert 'data-theme="dome"' in page
    assert 'data-size="large"' in page
    assert 'data-theme="day"' in tablets().get("/sign-on").text
    assert tablet.tell("/settings", theme="pink").status_code == 422
