"""Who may act at all: nobody without a session, no auditor; and what becomes of what was typed."""

from __future__ import annotations

import pytest

from app.desk.desk import Desk
from tests.screens.conftest import Tablets
from tests.screens.test_door import ACTS
from tests.screens.visitor import Visitor


def test_nobody_signed_on_cannot_act(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets()
    before = len(list(desk.ledger.read_all()))
    sent = {**tablet.as_("HL"), "seen": 1, "procedure": "QP-9"}

    answers = [tablet.tell(act.format(run=run), **sent) for act in ACTS]

    for answer in answers:
        assert answer.status_code == 401
        assert answer.json() == {
            "code": "session.none",
            "sentence": "Nobody is signed on at this tablet now. Nothing was saved.",
            "who": "",
            "where": "Sign on, then do it again.",
        }
    assert len(list(desk.ledger.read_all())) == before


def test_an_auditor_cannot_act(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AU")
    before = len(list(desk.ledger.read_all()))
    sent = {**tablet.as_("HL"), "seen": 1, "procedure": "QP-9"}

    answers = [tablet.tell(act.format(run=run), **sent) for act in ACTS]

    for answer in answers:
        assert answer.status_code == 403
        assert answer.json()["code"] == "role.reads_only"
    assert len(list(desk.ledger.read_all())) == before


def test_an_auditor_finds_no_form_but_their_own_hands_and_stop(tablets: Tablets, run: str) -> None:
    tablet = tablets("AU")

    for page in ("/", "/records", f"/records/{run}"):
        text = tablet.get(page).text
        assert 'action="/runs' not in text
        assert "hx-post" not in text


def test_a_page_that_waited_too_long_asks_to_sign_on_and_comes_back(
    tablets: Tablets, run: str
) -> None:
    tablet = tablets()

    page = tablet.get(f"/runs/{run}/steps/wind")
    back = tablet.post("/sign-on", back=f"/runs/{run}/steps/wind", **tablet.as_("AB"))

    assert page.status_code == 401
    assert f'name="back" value="/runs/{run}/steps/wind"' in page.text
    assert back.headers["location"] == f"/runs/{run}/steps/wind"


def test_what_was_typed_stays_in_its_form_when_the_session_ended(
    tablets: Tablets, run: str
) -> None:
    tablet = tablets()

    answer = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        data={"value": "4.2", "seen": "1"},
        headers={"HX-Request": "true"},
    )

    # Only the place where refusals are told is swapped; the form is not touched.
    assert answer.status_code == 401
    assert answer.headers["hx-retarget"] == "#told"
    assert answer.headers["hx-reselect"] == "#told"
    assert "What you typed is still here" in answer.text
    assert f'name="back" value="/runs/{run}/steps/wind"' in answer.text


def test_the_watch_of_a_page_left_open_is_told_to_sign_on(tablets: Tablets, run: str) -> None:
    tablet = tablets()

    answer = tablet.get(f"/runs/{run}/_bench", headers={"HX-Request": "true"})

    assert answer.status_code == 401
    assert answer.headers["hx-retarget"] == "#told"
    assert "Nobody is signed on at this tablet now. Sign on to go on." in answer.text


@pytest.mark.parametrize(
    "back", ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere.example", "x"]
)
def test_signing_on_leads_to_no_other_site(tablets: Tablets, back: str) -> None:
    tablet: Visitor = tablets()

    answer = tablet.post("/sign-on", back=back, **tablet.as_("AB"))

    assert answer.headers["location"] == "/"
