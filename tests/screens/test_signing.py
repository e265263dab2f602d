"""Signing and countersigning, through the door."""

from __future__ import annotations

import pytest

from app.desk.desk import Desk
from app.run.events import ActRefused, HoldRefused
from tests.desk.conftest import Clock
from tests.screens.conftest import Tablets, count, happened, take_off
from tests.screens.visitor import Visitor, words

MIRROR = "I stood at the mirror"


@pytest.fixture
def tablet(tablets: Tablets, run: str, clock: Clock) -> Visitor:
    """Return a tablet at the gap, which two people sign."""
    picked = tablets("SL", "AB")
    take_off(picked, run)
    count(picked, run, clock, "7346", "7346", "7346")
    assert picked.enter(run, "gap", value="1.5").status_code == 200
    return picked


def test_two_people_sign_a_step(tablet: Visitor, run: str) -> None:
    first = tablet.sign(run, "gap", "AB").json()
    second = tablet.sign(run, "gap", "SL").json()

    assert [seat["by"] for seat in first["step"]["seats"]] == ["AB", ""]
    assert first["step"]["state"] == "open"
    assert [seat["by"] for seat in second["step"]["seats"]] == ["AB", "SL"]
    assert second["step"]["state"] == "done"


def test_one_person_does_not_fill_two_seats(tablet: Visitor, desk: Desk, run: str) -> None:
    tablet.sign(run, "gap", "AB")
    before = happened(desk, run)

    answer = tablet.sign(run, "gap", "AB")

    assert answer.json()["code"] == "seat.same_person"
    assert answer.json()["sentence"].startswith("AB has already signed step 6.")
    added = happened(desk, run)[len(before) :]
    assert [type(each.event) for each in added] == [ActRefused]


def test_with_a_seat_missing_the_next_step_stays_shut(tablet: Visitor, run: str) -> None:
    tablet.sign(run, "gap", "AB")

    answer = tablet.sign(run, "hold", "AB")

    assert answer.json()["code"] == "order.not_open"
    assert "1 of 2 have signed" in answer.json()["sentence"]


def test_a_wrong_secret_signs_nothing(tablet: Visitor, desk: Desk, run: str) -> None:
    before = happened(desk, run)

    answer = tablet.tell(
        f"/runs/{run}/steps/gap/sign", person="SL", secret="not-my-own", seen=tablet.seen(run)
    )

    assert answer.status_code == 403
    assert answer.json()["sentence"] == (
        "That secret is not SL's. 4 tries left, then SL is locked for 10 min."
    )
    added = happened(desk, run)[len(before) :]
    assert [type(each.event) for each in added] == [ActRefused]
    assert "not-my-own" not in str(list(desk.ledger.read_all()))


def test_five_wrong_secrets_lock_the_person_but_not_stop_work(tablet: Visitor, run: str) -> None:
    where, seen = f"/runs/{run}/steps/gap/sign", tablet.seen(run)
    for _ in range(5):
        tablet.tell(where, person="SL", secret="not-my-own", seen=seen)

    locked = tablet.sign(run, "gap", "SL")
    stopped = tablet.tell(f"/runs/{run}/stop")

    assert locked.status_code == 423
    assert locked.json()["code"] == "pin.locked"
    assert stopped.status_code == 200


def test_a_secret_is_never_written_back(tablet: Visitor, run: str) -> None:
    secret = tablet.as_("KM")["secret"]

    answer = tablet.post(
        f"/runs/{run}/steps/gap/sign", person="KM", secret=secret, seen=str(tablet.seen(run))
    )

    assert answer.status_code >= 400
    assert secret not in answer.text


def test_without_a_name_or_a_secret_nothing_is_signed(tablet: Visitor, run: str) -> None:
    where = f"/runs/{run}/steps/gap/sign"

    nameless = tablet.tell(where, secret="a-secret-of-mine", seen=1)
    silent = tablet.tell(where, person="SL", seen=1)

    assert nameless.json()["sentence"] == "Say who signs. Nothing was saved."
    assert silent.json()["sentence"] == "SL signs with SL's own secret. Nothing was saved."


def test_a_signature_on_a_page_that_has_changed_is_not_taken(tablet: Visitor, run: str) -> None:
    seen = tablet.seen(run)
    entry = tablet.see(f"/runs/{run}/steps/gap")["step"]["entries"][0]["entry"]
    corrected = tablet.tell(
        f"/runs/{run}/entries/{entry}/correct",
        values={"value": "1.6"},
        reason="Read wrongly",
        seen=seen,
        **tablet.as_("AB"),
    )

    answer = tablet.tell(f"/runs/{run}/steps/gap/sign", seen=seen, **tablet.as_("AB"))

    assert corrected.status_code == 200
    assert answer.status_code == 409
    assert answer.json()["code"] == "hold.changed"


def test_a_hold_is_listed_read_and_countersigned(tablet: Visitor, run: str) -> None:
    tablet.sign(run, "gap", "AB")
    tablet.sign(run, "gap", "SL")
    tablet.sign(run, "hold", "AB")

    queue = tablet.get("/holds")
    page = tablet.get(f"/runs/{run}/steps/hold/countersign")
    photos_only = tablet.sign(run, "hold", "HL", how="Photos and readings only")
    signed = tablet.sign(run, "hold", "HL", how=MIRROR)

    assert "1 hold" in words(queue.text)
    assert f"/runs/{run}/steps/hold/countersign" in queue.text
    assert "All brackets are off." in page.text
    assert photos_only.json()["code"] == "hold.how"
    assert signed.json()["step"]["state"] == "done"


def test_a_hold_is_refused_with_its_reason(tablet: Visitor, desk: Desk, run: str) -> None:
    tablet.sign(run, "gap", "AB")
    tablet.sign(run, "gap", "SL")
    tablet.sign(run, "hold", "AB")
    where = f"/runs/{run}/steps/hold/refuse"

    silent = tablet.tell(where, seen=tablet.seen(run), **tablet.as_("HL"))
    told = tablet.tell(
        where, seen=tablet.seen(run), reason="Pad 9 still touches.", **tablet.as_("HL")
    )

    assert silent.status_code == 422
    assert told.status_code == 200
    assert told.json()["step"]["seats"][0]["by"] == ""
    events = [each.event for each in happened(desk, run)]
    assert HoldRefused(step="hold", reason="Pad 9 still touches.") in events


def test_a_refusal_on_the_countersign_page_is_told_on_that_page(tablet: Visitor, run: str) -> None:
    answer = tablet.post(
        f"/runs/{run}/steps/hold/sign",
        page="countersign",
        seen=str(tablet.seen(run)),
        how=MIRROR,
        **tablet.as_("HL"),
    )

    assert answer.status_code == 422
    assert "How did you check" in answer.text or "All brackets are off" in answer.text
    assert 'id="told"' in answer.text
