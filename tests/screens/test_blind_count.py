"""While a count is blind, no answer of any kind carries the expected number or another's count."""

from __future__ import annotations

import re

from app.desk.desk import Desk
from tests.desk.conftest import Clock
from tests.screens.conftest import EXPECTED, OTHER, Tablets, take_off
from tests.screens.test_door import PAGES
from tests.screens.visitor import JSON, Visitor


def look_everywhere(tablet: Visitor, run: str) -> None:
    """Ask for every page and every answer in data that there is."""
    pages = [page.format(run=run) for page in PAGES if "watch" not in page]
    pages += [f"/runs/{run}?step=count", f"/runs/{run}/_bench?step=count"]
    pages += [f"/runs/{run}/steps/count", f"/runs/{run}/steps/count/trouble"]
    pages += [f"/runs/{run}/entries/{n}/correct" for n in range(1, tablet.seen(run) + 1)]
    pages += [f"/runs/{run}/watch?after=1", f"/records?find={run}", f"/records/{run}/record.pdf"]
    for page in pages:
        tablet.get(page)
        tablet.get(page, headers=JSON)


def found(heard: list[str], number: str) -> list[str]:
    """Return where a number stands in what was heard."""
    return [text.partition("\n")[0] for text in heard if re.search(rf"(?<!\d){number}(?!\d)", text)]


def test_nobody_learns_a_number_while_the_count_is_blind(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    mine, others, office = tablets("AB"), tablets("SL", "KM"), tablets("HL")
    take_off(mine, run)
    for _ in range(2):  # two rounds: the second differs too, which makes a trouble
        for tablet, person, number in (
            (mine, "AB", OTHER),
            (others, "KM", EXPECTED),
            (others, "RS", EXPECTED),
        ):
            clock.wait(minutes=3)
            assert tablet.seal(run, "count", person, count=number).status_code == 200
            for each in (mine, others, office):
                look_everywhere(each, run)
            others.post("/hands", person="SL")
            look_everywhere(others, run)
            others.post("/hands", person="KM")

    seen = desk.run(run)
    assert seen is not None
    assert len(seen.state.progress("count").differed) == 2
    assert seen.state.open_troubles("count")
    for tablet in (mine, others, office):
        assert found(tablet.heard, EXPECTED) == []
        assert found(tablet.heard, OTHER) == []


def test_the_look_would_find_a_number_that_is_there(
    tablets: Tablets, clock: Clock, run: str
) -> None:
    tablet = tablets("AB")
    take_off(tablet, run)
    for person in ("AB", "KM", "RS"):
        clock.wait(minutes=3)
        assert tablet.seal(run, "count", person, count=EXPECTED).status_code == 200

    look_everywhere(tablet, run)

    # The count is done: what was counted may be read again, and this test's own eye sees it.
    assert f"/runs/{run}/steps/count" in found(tablet.heard, EXPECTED)


def test_a_blind_number_is_not_written_back_by_a_refusal(
    tablets: Tablets, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")
    take_off(tablet, run)
    clock.wait(minutes=3)
    tablet.heard.clear()
    where, seen = f"/runs/{run}/steps/count/enter", tablet.seen(run)

    wrong = {"person": "AB", "secret": "not-my-own", "seen": str(seen), "count": OTHER}
    page = tablet.post(where, **wrong)
    data = tablet.tell(where, person="AB", secret="not-my-own", seen=seen, values={"count": OTHER})
    bare = tablet.post(where, seen=str(seen), count=OTHER)

    assert page.status_code == data.status_code == 403
    assert bare.status_code == 403
    assert found(tablet.heard, OTHER) == []


def test_a_sealed_count_cannot_be_corrected_or_even_read(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    tablet = tablets("AB")
    take_off(tablet, run)
    clock.wait(minutes=3)
    tablet.seal(run, "count", "AB", count=OTHER)
    seen = desk.run(run)
    assert seen is not None
    number = seen.state.progress("count").entries[0].number

    page = tablet.get(f"/runs/{run}/entries/{number}/correct")
    sent = tablet.tell(
        f"/runs/{run}/entries/{number}/correct",
        values={"count": EXPECTED},
        reason="Read wrongly",
        seen=tablet.seen(run),
        **tablet.as_("AB"),
    )

    assert page.status_code == sent.status_code == 422
    assert sent.json()["code"] == "count.sealed"
    assert OTHER not in page.text


def test_a_step_in_the_answer_says_who_sealed_and_no_more(
    tablets: Tablets, clock: Clock, run: str
) -> None:
    tablet = tablets("AB")
    take_off(tablet, run)
    clock.wait(minutes=3)

    step = tablet.seal(run, "count", "AB", count=OTHER).json()["step"]

    assert step["blind"] is True
    assert step["seats"][0]["by"] == "AB"
    assert "entries" not in step
