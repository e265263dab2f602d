"""The procedures: who brings, reviews, releases, withdraws and reads a text, through the door."""

from __future__ import annotations

import asyncio
from pathlib import Path

import httpx
import pytest

from app.desk.desk import Desk
from app.ledger.stored import SITE as SITE_STREAM
from tests.screens.conftest import EXPECTED, PROCEDURE, Tablets
from tests.screens.visitor import JSON, Visitor, words

FIRST = PROCEDURE
SECOND = FIRST.replace("revision = 1", "revision = 2").replace('at_most = "9.0"', 'at_most = "8.0"')
FAULTY = SECOND.replace('back_out = "Lower to the supports."', "")


@pytest.fixture
def site(founded: Path) -> Path:
    return founded


def bring(tablet: Visitor, text: str = SECOND, person: str = "AB") -> httpx.Response:
    return tablet.tell("/procedures", toml=text, **tablet.as_(person))


def sha256(tablet: Visitor) -> str:
    return str(tablet.see("/procedures")["procedures"][0]["texts"][-1]["sha256"])


def act(tablet: Visitor, what: str, person: str, **more: str) -> httpx.Response:
    body = {"sha256": sha256(tablet), **tablet.as_(person), **more}
    return tablet.tell(f"/procedures/QP-9/{what}", **body)


def events(desk: Desk) -> list[str]:
    return [each.kind for each in desk.ledger.read(SITE_STREAM) if each.kind.startswith("Proc")]


def release(tablet: Visitor, text: str = SECOND) -> None:
    assert bring(tablet, text).status_code == 200
    assert act(tablet, "review", "SL").status_code == 200
    answer = act(tablet, "release", "HL")
    assert answer.status_code == 200, answer.text
    assert answer.json()["released"] == 2


def test_three_people_release_a_text(tablets: Tablets) -> None:
    lead = tablets("HL", "SL", "AB")

    release(lead)

    book = lead.see("/procedures")["procedures"][0]
    assert [(t["revision"], t["state"], t["author"]) for t in book["texts"]] == [
        (1, "superseded", ""),
        (2, "released", "AB"),
    ]
    assert book["texts"][1]["weight"] == "major"


def test_the_report_follows_what_becomes_of_its_text(tablets: Tablets) -> None:
    lead = tablets("HL")
    bring(lead)
    shown = [words(lead.get("/procedures/QP-9").text)]
    for what, person in (("review", "SL"), ("release", "HL")):
        act(lead, what, person)
        shown.append(words(lead.get("/procedures/QP-9").text))

    for state, page in zip(("Draft", "Reviewed", "Released"), shown, strict=True):
        assert f"Check report. {state}" in page
    assert "Off: Nobody has reviewed this text yet." in shown[0]
    assert "Off:" not in shown[1]
    assert "Revision 2 is released. No fault" in shown[2]


def test_a_technician_does_not_release(tablets: Tablets, desk: Desk) -> None:
    tablet = tablets("AB")
    bring(tablet, person="KM")
    act(tablet, "review", "SL")
    before = events(desk)

    answer = act(tablet, "release", "AB")

    assert answer.status_code == 403
    assert answer.json()["sentence"] == "Only lead releases a procedure. Nothing was saved."
    assert events(desk) == before


def test_an_author_does_not_release_their_own(tablets: Tablets, desk: Desk) -> None:
    tablet = tablets("HL")
    bring(tablet, person="HL")
    act(tablet, "review", "SL")
    before = events(desk)

    answer = act(tablet, "release", "HL")

    assert answer.status_code == 403
    assert answer.json()["code"] == "release.author"
    assert events(desk) == before


def test_an_author_does_not_review_their_own(tablets: Tablets, desk: Desk) -> None:
    tablet = tablets("SL")
    bring(tablet, person="SL")

    answer = act(tablet, "review", "SL")

    assert answer.json()["code"] == "release.author"
    assert events(desk)[-1] == "ProcedureDrafted"


def test_a_wrong_secret_releases_nothing(tablets: Tablets, desk: Desk) -> None:
    tablet = tablets("HL")
    bring(tablet)
    act(tablet, "review", "SL")
    before = events(desk)

    answer = act(tablet, "release", "HL", secret="not-the-secret")

    assert answer.status_code == 403
    assert answer.json()["code"] == "pin.wrong"
    assert events(desk) == before


def test_a_faulty_text_is_shown_with_its_line_and_not_released(tablets: Tablets) -> None:
    lead = tablets("HL")
    bring(lead, FAULTY)
    act(lead, "review", "SL")

    page = words(lead.get("/procedures/QP-9").text)
    answer = act(lead, "release", "HL")

    assert "Cannot be released. 1 fault" in page
    assert "step 8, line" in page
    assert "Off: QP-9 revision 2 cannot be released: 1 fault." in page
    assert answer.status_code == 422
    assert answer.json()["code"] == "release.faults"


def test_the_report_says_the_verdict_the_hazards_and_what_changed(tablets: Tablets) -> None:
    lead = tablets("HL")
    bring(lead)

    page = lead.get("/procedures/QP-9").text
    told = lead.see("/procedures/QP-9")

    said = words(page)
    assert "Can be released. No fault" in said
    assert "No allowed order of right entries reaches a hazard. At least 4 people" in said
    assert page.count('class="g-hold" cx="7"') == 4  # one mark for each person
    assert "Since revision 1. A major change" in said
    assert "Step 2: limits: at most 9.0 m/s → at most 8.0 m/s" in said
    assert "The procedure drawn" in said
    assert "Brackets: 3 from the start; 0 from step 3. Looked at on step 5, 7." in said
    assert told["check"]["exit_code"] == 0
    assert told["check"]["changes"][0]["weight"] == "major"


def test_the_same_revision_with_another_text_is_refused_with_the_difference(
    tablets: Tablets, desk: Desk
) -> None:
    lead = tablets("HL")
    other = FIRST.replace('at_most = "9.0"', 'at_most = "12.0"')

    answer = bring(lead, other)
    files = {"toml": ("QP-9.toml", other.encode(), "application/toml")}
    page = lead.ask("POST", "/procedures", data=lead.as_("AB"), files=files)

    assert answer.status_code == 422
    assert answer.json()["code"] == "release.same_revision"
    assert '+at_most = "12.0"' in answer.json()["difference"]
    assert page.status_code == 422
    assert '-at_most = "9.0"' in words(page.text)
    assert events(desk) == ["ProcedureReleased"]


def test_a_file_is_brought_as_a_form_with_a_file(tablets: Tablets, desk: Desk) -> None:
    lead = tablets("HL")
    files = {"toml": ("anything.toml", SECOND.encode(), "application/toml")}

    answer = lead.ask("POST", "/procedures", data=lead.as_("AB"), files=files)

    assert answer.status_code == 303
    page = words(lead.get(answer.headers["location"]).text)
    assert "Written by AB" in page
    assert desk.ledger.text(sha256(lead)) == SECOND.encode()


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ({}, 422),
        ({"toml": "not TOML ="}, 422),
        ({"toml": 7.5}, 422),
        ({"toml": "#" * 210_000}, 422),
    ],
)
def test_what_is_no_text_is_not_taken(
    tablets: Tablets, desk: Desk, sent: dict[str, object], status: int
) -> None:
    lead = tablets("HL")

    answer = lead.tell("/procedures", **sent, **lead.as_("AB"))

    assert answer.status_code == status, answer.text
    assert events(desk) == ["ProcedureReleased"]


def test_nobody_acts_before_they_have_read_a_major_change(tablets: Tablets) -> None:
    tablet = tablets("AB", "SL")
    release(tablet)

    refused = tablet.tell("/runs", procedure="QP-9", **tablet.as_("SL"))
    page = words(tablet.get("/procedures/QP-9/acknowledge").text)
    read = act(tablet, "acknowledge", "SL")
    opened = tablet.tell("/runs", procedure="QP-9", **tablet.as_("SL"))
    other = tablet.tell("/runs/R-0001/steps/brief/enter", part="AB", seen=99, **tablet.as_("AB"))

    assert refused.status_code == 403
    assert refused.json()["where"] == "Procedures, QP-9, Acknowledge"
    assert "Read what changed, then sign it" in page
    assert read.json()["released"] == 2
    assert opened.status_code == 200
    assert other.json()["code"] == "release.acknowledge"


def test_what_a_blind_count_must_come_to_is_on_no_page_of_who_counts(tablets: Tablets) -> None:
    tablet = tablets("AB", "KM")
    release(tablet, SECOND.replace(f"expect = {EXPECTED}", "expect = 8844"))
    for path in ("/procedures", "/procedures/QP-9", "/procedures/QP-9/acknowledge"):
        tablet.get(path)
        tablet.get(path, headers=JSON)
    tablet.get("/procedures/QP-9/preview/count")

    assert tablet.get("/procedures/QP-9").status_code == 403
    assert "Step 5: wanted changed." in words(tablet.get("/procedures/QP-9/acknowledge").text)
    for answer in tablet.heard:
        assert EXPECTED not in answer
        assert "8844" not in answer


def test_an_author_reads_the_report_of_their_own_text(tablets: Tablets) -> None:
    tablet = tablets("AB")
    bring(tablet)

    assert tablet.get("/procedures/QP-9").status_code == 200


def test_a_withdrawn_procedure_opens_no_run(tablets: Tablets, desk: Desk) -> None:
    lead = tablets("HL")
    no_reason = act(lead, "withdraw", "HL", reason=" ")
    by_another = act(lead, "withdraw", "SL", reason="Wrong.")

    answer = act(lead, "withdraw", "HL", reason="The gust limit is wrong.")
    opened = lead.tell("/runs", procedure="QP-9", **lead.as_("SL"))

    assert (no_reason.status_code, by_another.status_code) == (422, 403)
    assert answer.json()["texts"][0]["state"] == "withdrawn"
    assert opened.status_code == 404
    assert opened.json()["sentence"] == (
        "HL withdrew QP-9 revision 1: “The gust limit is wrong.” No run of it is opened."
    )
    assert events(desk)[-1] == "ProcedureWithdrawn"


@pytest.mark.parametrize("step", ["brief", "wind", "brackets-off", "count", "gap", "hold", "lift"])
def test_a_step_is_previewed_as_it_will_look_and_nothing_can_be_done(
    tablets: Tablets, step: str
) -> None:
    lead = tablets("HL")
    bring(lead)

    answer = lead.get(f"/procedures/QP-9/preview/{step}")

    assert answer.status_code == 200
    assert "Nothing can be recorded here" in words(answer.text)
    assert "Not open" not in words(answer.text)
    assert "hx-post" not in answer.text
    assert "<fieldset disabled" in answer.text
    assert EXPECTED not in answer.text
    assert lead.get("/runs/PREVIEW").status_code == 404


@pytest.mark.parametrize(
    "path",
    [
        "/procedures/QP-0",
        "/procedures/QP-9?text=00",
        "/procedures/QP-9/preview/no-such-step",
        "/procedures/QP-0/acknowledge",
    ],
)
def test_what_is_not_there_is_said_so(tablets: Tablets, path: str) -> None:
    assert tablets("HL").get(path).status_code == 404


@pytest.mark.parametrize("what", ["review", "release", "withdraw", "acknowledge"])
def test_nobody_acts_without_signing_on(tablets: Tablets, what: str) -> None:
    answer = tablets().tell(f"/procedures/QP-9/{what}", sha256="0", person="HL", secret="x")

    assert answer.status_code == 401


def test_a_page_that_showed_an_older_draft_releases_nothing(tablets: Tablets) -> None:
    lead = tablets("HL")
    bring(lead)
    seen = sha256(lead)
    act(lead, "review", "SL")
    bring(lead, SECOND + "\n# more")

    answer = lead.tell("/procedures/QP-9/release", sha256=seen, **lead.as_("HL"))

    assert answer.status_code == 409
    assert answer.json()["code"] == "release.changed"


def test_a_text_is_proved_once(tablets: Tablets, desk: Desk) -> None:
    lead = tablets("HL")
    bring(lead)
    book = desk.release_desk.book("QP-9")
    assert book is not None
    assert book.draft is not None

    one, two = asyncio.run(_twice(desk))

    assert one is two


async def _twice(desk: Desk) -> tuple[object, object]:
    book = desk.release_desk.book("QP-9")
    assert book is not None
    assert book.draft is not None
    first = await desk.release_desk.checkup(book, book.draft)
    return first, await desk.release_desk.checkup(book, book.draft)
