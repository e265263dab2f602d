"""What the lead decides with another person: a run's end, another text for it; through the door."""

from __future__ import annotations

import httpx
import pytest

from app.desk.desk import Desk
from app.desk.seen import Seen
from app.people.sessions import Session
from app.web.views.decide import change_view
from tests.run.stage import Stage
from tests.screens.conftest import EXPECTED, PROCEDURE, Tablets, happened, take_off
from tests.screens.visitor import Visitor, words

WIDER = 'at_most = "2.4"'


def abandon(tablet: Visitor, run: str, **instead: str) -> httpx.Response:
    body = {
        "reason": "A pad is loose.",
        "state": "On the cell, covered.",
        **tablet.as_("HL"),
        "second": "SL",
        "second_secret": tablet.as_("SL")["secret"],
        **instead,
    }
    return tablet.tell(f"/runs/{run}/abandon", **body)


def change(tablet: Visitor, run: str, desk: Desk, **instead: object) -> httpx.Response:
    seen = desk.run(run)
    assert seen is not None
    lines = desk.change_desk.lines(seen.state, "gap").replace('at_most = "2.0"', WIDER)
    body = {
        "step": "gap",
        "lines": lines,
        "reason": "The new shims are thicker.",
        "until_step": "gap",
        **tablet.as_("HL"),
        "second": "SL",
        "second_secret": tablet.as_("SL")["secret"],
        **instead,
    }
    return tablet.tell(f"/runs/{run}/change", **body)


def kinds(desk: Desk, run: str) -> list[str]:
    return [type(each.event).__name__ for each in happened(desk, run)]


def test_two_people_end_a_run_unfinished(tablets: Tablets, run: str) -> None:
    lead = tablets("HL", "SL")
    page = words(lead.get(f"/runs/{run}/abandon").text)

    answer = abandon(lead, run)

    assert "Its record is sealed as not finished." in page
    assert answer.status_code == 200, answer.text
    assert answer.json()["status"] == "closed"
    assert answer.json()["abandoned"]["reason"] == "A pad is loose."
    assert lead.enter(run, "wind", value="4.2").json()["sentence"] == (
        f"Run {run} was abandoned. Its record can be read, not changed."
    )
    assert "Abandoned" in words(lead.get("/records").text)
    assert "is over" in words(lead.get(f"/runs/{run}/abandon").text)


@pytest.mark.parametrize(
    ("instead", "code"),
    [
        ({"second_secret": "not-the-secret"}, "pin.wrong"),
        ({"secret": "not-the-secret"}, "pin.wrong"),
        ({"second": ""}, "decide.two_people"),
        ({"second": "HL"}, "decide.two_people"),
        ({"reason": ""}, "typed.abandon.reason"),
        ({"state": ""}, "typed.abandon.state"),
    ],
)
def test_a_run_is_not_ended_like_that(
    tablets: Tablets, desk: Desk, run: str, instead: dict[str, str], code: str
) -> None:
    lead = tablets("HL")

    answer = abandon(lead, run, **instead)

    assert answer.json()["code"] == code
    assert answer.status_code == (403 if code == "pin.wrong" else 422)
    assert "RunAbandoned" not in kinds(desk, run)


def test_a_technician_ends_no_run(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")

    answer = abandon(tablet, run, **tablet.as_("AB"))

    assert answer.status_code == 403
    assert "RunAbandoned" not in kinds(desk, run)


def test_what_was_typed_stays_when_it_is_refused(tablets: Tablets, run: str) -> None:
    lead = tablets("HL")
    typed = {"reason": "A pad is loose.", "state": "On the cell.", "second": "SL"}

    page = lead.post(f"/runs/{run}/abandon", **typed, second_secret="no", **lead.as_("HL"))

    assert page.status_code == 403
    assert "A pad is loose." in page.text
    assert "On the cell." in page.text
    assert lead.as_("HL")["secret"] not in page.text


def test_a_run_gets_another_limit_once_it_is_proved(tablets: Tablets, desk: Desk, run: str) -> None:
    lead = tablets("HL", "AB")
    seen = desk.run(run)
    assert seen is not None

    answer = change(lead, run, desk)

    assert answer.json()["status"] == "open"
    assert kinds(desk, run)[-1] == "FieldChangeApproved"
    after = desk.run(run)
    assert after is not None
    assert WIDER.split('"')[1] in str(after.procedure.step("gap"))


@pytest.mark.parametrize(
    ("instead", "code"),
    [
        ({"lines": '[[sections.steps]]\nid = "gap"\nkind = "itmes"'}, "change.fault"),
        ({"second": "HL"}, "decide.two_people"),
        ({"reason": ""}, "typed.change.reason"),
        ({"until_step": ""}, "typed.change.until"),
        ({"until": "2027-05-06T11:00", "until_step": ""}, ""),
        ({"step": ""}, "form.unreadable"),
        ({"second_secret": "not-the-secret"}, "pin.wrong"),
    ],
)
def test_a_change_is_taken_or_refused(
    tablets: Tablets, desk: Desk, run: str, instead: dict[str, object], code: str
) -> None:
    lead = tablets("HL")

    answer = change(lead, run, desk, **instead)

    assert answer.json().get("code", "") == code, answer.text
    assert ("FieldChangeApproved" in kinds(desk, run)) == (code == "")


def test_the_page_offers_no_step_that_is_counted_apart_or_moves_a_hazard(
    tablets: Tablets, run: str
) -> None:
    lead = tablets("HL", "AB")
    take_off(lead, run)

    page = lead.get(f"/runs/{run}/change?step=gap").text
    count = lead.get(f"/runs/{run}/change?step=count").text

    assert "Change step 6 for this run" in words(page)
    assert 'id = "gap"' in words(page).replace("&#34;", '"')
    for step in ("brief", "wind", "doors", "brackets-off", "count", "hold", "lift"):
        assert f"?step={step}" not in page
    for text in (page, count):
        assert EXPECTED not in text
    assert PROCEDURE.count(EXPECTED) == 1


def test_a_run_of_a_withdrawn_procedure_says_who_decides(
    tablets: Tablets, desk: Desk, run: str
) -> None:
    lead = tablets("HL", "AB")
    book = lead.see("/procedures")["procedures"][0]
    withdrawn = lead.tell(
        "/procedures/QP-9/withdraw",
        sha256=book["texts"][0]["sha256"],
        reason="The gust limit is wrong.",
        **lead.as_("HL"),
    )
    assert withdrawn.status_code == 200, withdrawn.text

    shut = lead.enter(run, "wind", value="4.2").json()
    page = words(lead.get(f"/runs/{run}").text)
    deciding = words(lead.get(f"/runs/{run}/change").text)

    assert shut["code"] == "run.withdrawn"
    assert shut["who"] == "lead"
    assert "HL withdrew QP-9 revision 1" in page
    assert "HL withdrew this procedure: “The gust limit is wrong.”" in deciding
    assert change(lead, run, desk).status_code == 200
    assert lead.enter(run, "wind", value="4.2").status_code == 200


def test_the_lines_of_a_blind_count_are_not_offered_though_it_moves_no_hazard() -> None:
    text = PROCEDURE.replace('starts = ["A", "B", "C"]\nconfirms = { brackets = 0 }', "")
    stage = Stage(text)
    seen = Seen(state=stage.state, procedure=stage.procedure, board=stage.board)
    session = Session(token_hash="", device="t1", entering="HL", ends=(("HL", stage.now),))

    view = change_view(
        seen, stage.procedure, stage.crew, session, step="count", lines=f"expect = {EXPECTED}"
    )

    offered = [href.partition("?step=")[2] for _, href, _ in view.steps]
    assert "gap" in offered
    assert "count" not in offered
    assert (view.step, view.lines) == ("", "")
