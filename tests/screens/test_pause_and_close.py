"""Suspend, resume, close, and the record that comes of it."""

from __future__ import annotations

import time

from app.desk.desk import Desk
from app.run.pausing import last_state_lines
from tests.desk.conftest import Clock
from tests.screens.conftest import Tablets, count, happened, take_off
from tests.screens.visitor import Visitor, words

MIRROR = "I stood at the mirror"


def suspend(tablet: Visitor, run: str) -> None:
    """Leave the work, at the safe point after the briefing."""
    answer = tablet.tell(f"/runs/{run}/suspend", state="Hall locked.", **tablet.as_("SL"))
    assert answer.status_code == 200, answer.text
    assert answer.json()["status"] == "suspended"


def finish(tablet: Visitor, run: str, clock: Clock) -> None:
    """Carry the run to its last step."""
    take_off(tablet, run)
    count(tablet, run, clock, "7346", "7346", "7346")
    tablet.enter(run, "gap", value="1.5")
    tablet.sign(run, "gap", "AB")
    tablet.sign(run, "gap", "SL")
    tablet.sign(run, "hold", "AB")
    tablet.sign(run, "hold", "HL", how=MIRROR)
    tablet.sign(run, "lift", "AB")
    tablet.sign(run, "lift", "SL")
    done = tablet.enter(run, "lift", tool="SP-1")
    assert done.json()["step"]["state"] == "done", done.text


def test_work_is_left_and_taken_up_again(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("SL", "AB")
    suspend(tablet, run)
    seen = desk.run(run)
    assert seen is not None

    page = words(tablet.get(f"/runs/{run}/resume").text)
    shut = tablet.enter(run, "wind", value="4.2")
    unlooked = tablet.tell(f"/runs/{run}/resume", **tablet.as_("SL"))
    looked = tablet.tell(
        f"/runs/{run}/resume",
        confirmed=list(last_state_lines(seen.procedure, seen.state, seen.board)),
        **tablet.as_("SL"),
    )

    assert "It was left so: Hall locked." in page
    assert shut.json()["code"] == "run.suspended"
    assert unlooked.status_code == 422
    assert looked.json()["status"] == "open"


def test_work_is_not_left_where_it_is_not_safe(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("SL", "AB")
    tablet.enter(run, "wind", value="4.2")

    answer = tablet.post(f"/runs/{run}/suspend", state="Left so.", **tablet.as_("SL"))

    assert answer.status_code == 422
    assert "Work cannot be left here." in words(answer.text)
    assert "Left so." in answer.text
    seen = desk.run(run)
    assert seen is not None
    assert seen.state.status == "open"


def test_a_technician_does_not_suspend(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answer = tablet.tell(f"/runs/{run}/suspend", state="Left so.", **tablet.as_("AB"))

    assert answer.status_code == 403
    assert answer.json()["code"] == "ability"


def test_a_run_with_steps_left_stays_open(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("SL")
    before = happened(desk, run)

    page = words(tablet.get(f"/runs/{run}/close").text)
    answer = tablet.tell(f"/runs/{run}/close", seen=tablet.seen(run), **tablet.as_("SL"))

    assert "stays open: 7 things to do" in page
    assert answer.status_code == 422
    assert answer.json()["code"] == "close.step"
    assert len(happened(desk, run)) == len(before) + 1


def test_a_closed_run_becomes_a_record_to_take_away(
    tablets: Tablets, clock: Clock, run: str
) -> None:
    tablet, auditor = tablets("SL", "AB"), tablets("AU")
    finish(tablet, run, clock)
    open_still = auditor.get(f"/records/{run}/record.pdf")

    closed = tablet.tell(f"/runs/{run}/close", seen=tablet.seen(run), **tablet.as_("SL"))
    page = auditor.get(f"/records/{run}")
    started = time.monotonic()
    file = auditor.get(f"/records/{run}/record.pdf")

    assert open_still.status_code == 422
    assert closed.json()["status"] == "closed"
    assert page.status_code == 200
    assert "7346" in page.text  # nothing is blind any more
    assert "People in this record" in page.text
    assert file.status_code == 200, time.monotonic() - started
    assert file.content.startswith(b"%PDF-")
    assert file.headers["content-type"] == "application/pdf"
    assert f'filename="{run}.pdf"' in file.headers["content-disposition"]
    after = auditor.get(f"/records/{run}").text
    assert "Download the sealed record" in after
    assert "Sealed" in words(auditor.get("/records").text)
    assert tablet.enter(run, "wind", value="4.2").json()["code"] == "run.closed"


def test_records_are_found_by_what_is_in_their_names(tablets: Tablets, run: str) -> None:
    tablet = tablets("AU")

    by_number = words(tablet.get(f"/records?find={run}").text)
    by_person = words(tablet.get("/records?find=person+hl").text)
    by_none = words(tablet.get("/records?find=nothing-of-the-sort").text)

    assert "1 record for" in by_number
    assert "1 record for" in by_person
    assert "0 records for" in by_none
