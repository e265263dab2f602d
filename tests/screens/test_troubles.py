"""Reporting a trouble and deciding on it, through the door."""

from __future__ import annotations

from app.desk.desk import Desk
from tests.screens.conftest import Tablets, happened
from tests.screens.visitor import Visitor, words


def report(tablet: Visitor, run: str) -> None:
    """Report a trouble on the wind."""
    answer = tablet.tell(f"/runs/{run}/steps/wind/trouble", text="The mast sensor hangs.")
    assert answer.status_code == 200
    assert answer.json()["step"]["troubles"][0]["text"] == "The mast sensor hangs."


def test_a_trouble_shuts_its_step_and_says_who_decides(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    report(tablet, run)

    answer = tablet.enter(run, "wind", value="4.2")

    assert answer.status_code == 422
    assert answer.json()["code"] == "trouble.open"
    assert answer.json()["who"] == "supervisor or lead"
    assert answer.json()["where"] == "trouble 1"


def test_a_trouble_without_words_is_refused(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    before = happened(desk, run)

    answer = tablet.post(f"/runs/{run}/steps/wind/trouble", text="  ")

    assert answer.status_code == 422
    assert 'id="told"' in answer.text
    assert happened(desk, run) == before


def test_someone_else_decides_and_work_goes_on(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    report(tablet, run)

    page = tablet.get(f"/runs/{run}/troubles/1")
    decided = tablet.tell(
        f"/runs/{run}/troubles/1",
        disposition="redo",
        reason="Sensor freed.",
        **tablet.as_("SL"),
    )

    assert "The mast sensor hangs." in page.text
    assert 'value="AB"' not in page.text  # whoever reported it does not decide
    assert decided.status_code == 200
    assert decided.json()["step"]["troubles"] == []
    assert tablet.enter(run, "wind", value="4.2").status_code == 200
    assert "SL decided “redo”" in words(tablet.get(f"/runs/{run}/troubles").text)


def test_whoever_reported_it_does_not_decide(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("SL")
    report(tablet, run)

    answer = tablet.tell(
        f"/runs/{run}/troubles/1", disposition="redo", reason="Well.", **tablet.as_("SL")
    )

    assert answer.status_code == 422
    assert answer.json()["code"] == "trouble.own"
    seen = desk.run(run)
    assert seen is not None
    assert seen.state.open_troubles("wind")


def test_a_role_that_may_not_decide_is_refused(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    report(tablet, run)

    answer = tablet.tell(
        f"/runs/{run}/troubles/1", disposition="use as is", reason="Well.", **tablet.as_("SL")
    )

    assert answer.status_code == 403
    assert answer.json()["code"] == "trouble.role"
    assert answer.json()["who"] == "lead"


def test_no_other_decision_can_be_made(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    report(tablet, run)

    answer = tablet.tell(f"/runs/{run}/troubles/1", disposition="forget", **tablet.as_("SL"))

    assert answer.status_code == 422
    assert answer.json()["sentence"].startswith("Say what becomes of it")
    assert tablet.get(f"/runs/{run}/troubles/9").status_code == 404
