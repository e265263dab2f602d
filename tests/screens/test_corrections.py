"""Correcting an entry, through the door: both values stay, and what rested on the old one falls."""

from __future__ import annotations

from app.desk.desk import Desk
from tests.desk.conftest import Clock
from tests.screens.conftest import Tablets, count, happened, take_off
from tests.screens.visitor import Visitor, words


def wind(tablet: Visitor, run: str) -> int:
    """Enter the wind and return the entry's number."""
    answer = tablet.enter(run, "wind", value="4.2")
    return int(answer.json()["step"]["entries"][0]["entry"])


def test_a_correction_strikes_and_keeps_both(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    entry = wind(tablet, run)

    page = tablet.get(f"/runs/{run}/entries/{entry}/correct")
    answer = tablet.post(
        f"/runs/{run}/entries/{entry}/correct",
        value="5.2",
        reason="Read wrongly",
        own_reason="Glare on the dial",
        seen=str(tablet.seen(run)),
        **tablet.as_("AB"),
    )

    assert "4.2" in page.text
    assert "It stays in the record, struck through." in words(page.text)
    assert answer.status_code == 303
    old, new = tablet.see(f"/runs/{run}/steps/wind")["step"]["entries"]
    assert old["struck"] == "Read wrongly: Glare on the dial"
    assert old["values"] == {"value": "4.2"}
    assert new["values"] == {"value": "5.2"}


def test_the_page_says_beforehand_what_falls(tablets: Tablets, run: str, clock: Clock) -> None:
    tablet = tablets("SL", "AB")
    entry = wind(tablet, run)
    for bracket in ("B01", "B02", "B03"):
        tablet.enter(run, "brackets-off", bracket, result="off")
    tablet.enter(run, "doors")
    count(tablet, run, clock, "7346", "7346", "7346")
    tablet.enter(run, "gap", value="1.5")
    tablet.sign(run, "gap", "AB")
    tablet.sign(run, "gap", "SL")
    tablet.sign(run, "hold", "AB")
    tablet.sign(run, "hold", "HL", how="I stood at the mirror")

    page = words(tablet.get(f"/runs/{run}/entries/{entry}/correct").text)
    corrected = tablet.tell(
        f"/runs/{run}/entries/{entry}/correct",
        values={"value": "5.2"},
        reason="Read wrongly",
        seen=tablet.seen(run),
        **tablet.as_("AB"),
    )

    assert "Step 7 is opened again, and its signatures fall" in page
    assert corrected.status_code == 200
    hold = tablet.see(f"/runs/{run}/steps/hold")["step"]
    assert hold["state"] == "open"
    assert [seat["by"] for seat in hold["seats"]] == ["", ""]


def test_without_a_reason_nothing_is_corrected(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    entry = wind(tablet, run)
    sent = {"values": {"value": "5.2"}, "seen": tablet.seen(run), **tablet.as_("AB")}

    answer = tablet.tell(f"/runs/{run}/entries/{entry}/correct", **sent)

    assert answer.status_code == 422
    assert answer.json()["sentence"] == "Say why the old value was wrong. Nothing was saved."
    seen = desk.run(run)
    assert seen is not None
    assert not seen.state.progress("wind").entries[0].struck


def test_another_technician_cannot_correct_it(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    entry = wind(tablet, run)
    before = happened(desk, run)

    answer = tablet.tell(
        f"/runs/{run}/entries/{entry}/correct",
        values={"value": "5.2"},
        reason="Read wrongly",
        seen=tablet.seen(run),
        **tablet.as_("KM"),
    )

    assert answer.status_code == 403
    assert answer.json()["code"] == "correct.role"
    assert len(happened(desk, run)) == len(before) + 1  # the attempt, and nothing else


def test_there_is_nothing_to_correct_where_nothing_was_entered(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    take_off(tablet, run)

    assert tablet.get(f"/runs/{run}/entries/9999/correct").status_code == 404
    assert tablet.get(f"/runs/{run}/entries/x/correct").status_code == 422
