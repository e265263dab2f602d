"""A signature whose answer was lost; a run that is closed while a tablet holds entries back."""

from __future__ import annotations

from app.desk.desk import Desk
from app.run.events import ActRefused, RunClosed, SeatSigned
from tests.desk.conftest import SECRETS, Clock
from tests.run.stage import START
from tests.screens.conftest import Tablets, happened
from tests.screens.visitor import words


def test_what_became_of_a_signature_can_be_asked_and_its_secret_is_not_looked_at_again(
    tablets: Tablets, desk: Desk, run: str
) -> None:
    visitor = tablets("AB")
    assert visitor.enter(run, "wind", value="4.2").status_code == 200
    wrong = {"person": "SL", "secret": "not the secret", "seen": "99", "key": "sheet-1"}

    first = visitor.tell(f"/runs/{run}/steps/gap/sign", **wrong)
    again = visitor.tell(f"/runs/{run}/steps/gap/sign", **{**wrong, "secret": SECRETS["SL"]})
    told = visitor.see(f"/runs/{run}/outcome?key=sheet-1")

    assert first.status_code == 403
    assert again.json() == first.json()
    assert told["outcome"] == "refused"
    assert told["sentence"] == first.json()["sentence"]
    refused = [e for e in happened(desk, run) if isinstance(e.event, ActRefused)]
    assert len(refused) == 1


def test_a_sheet_that_is_asked_for_before_it_arrives_signs_nothing(
    tablets: Tablets, desk: Desk, run: str
) -> None:
    visitor = tablets("AB")
    before = len(happened(desk, run))
    told = visitor.see(f"/runs/{run}/outcome?key=sheet-2")

    late = visitor.tell(
        f"/runs/{run}/suspend", key="sheet-2", state="All is quiet.", **visitor.as_("SL")
    )

    assert told["outcome"] == "given up"
    assert late.status_code == 409
    assert late.json()["code"] == "sheet.given_up"
    assert len(happened(desk, run)) == before
    assert not [e for e in happened(desk, run)[before:] if isinstance(e.event, SeatSigned)]


def test_a_tablets_unsent_entries_are_shown_where_the_run_is_closed(
    tablets: Tablets, clock: Clock, run: str
) -> None:
    away, visitor = tablets("AB"), tablets("SL")
    assert clock.now == START or clock.now > START
    away.get(f"/runs/{run}/watch?after=-1&unsent=3")

    page = words(visitor.get(f"/runs/{run}/close").text)
    assert "last reported 3 unsent entries at" in page
    assert "Why the run is closed without them" in page

    away.get(f"/runs/{run}/watch?after=-1&unsent=0")
    assert "unsent" not in words(visitor.get(f"/runs/{run}/close").text)


def test_the_reason_is_no_way_round_what_is_not_done(
    tablets: Tablets, desk: Desk, run: str
) -> None:
    visitor = tablets("SL")
    answer = visitor.tell(f"/runs/{run}/close", seen="99", reason="x", **visitor.as_("SL"))

    assert answer.status_code == 422
    assert not [e for e in happened(desk, run) if isinstance(e.event, RunClosed)]
