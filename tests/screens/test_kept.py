"""Entries that a tablet had kept come in later: from whom, when, and what is turned away."""

from __future__ import annotations

from datetime import datetime, timedelta

import httpx

from app.desk.desk import Desk
from app.run.events import EntryMade
from tests.desk.conftest import SECRETS, Clock
from tests.screens.conftest import Tablets, happened
from tests.screens.visitor import JSON, Visitor, words


def said(by: str, made: datetime, sent: datetime, **more: str) -> dict[str, str]:
    return {
        "Kept-By": by,
        "Kept-Made": made.isoformat(),
        "Kept-Sent": sent.isoformat(),
        **{name.replace("_", "-"): value for name, value in more.items()},
    }


def send(
    visitor: Visitor, run: str, key: str, headers: dict[str, str], *, step: str = "wind",
    value: str = "12.5", **more: str,
) -> httpx.Response:  # fmt: skip
    body = {"seen": "9", "values.value": value, **more}
    return visitor.ask(
        "POST", f"/runs/{run}/steps/{step}/enter", data=body,
        headers={**JSON, "Idempotency-Key": key, **headers},
    )  # fmt: skip


def made_in(desk: Desk, run: str) -> list[EntryMade]:
    return [e.event for e in happened(desk, run) if isinstance(e.event, EntryMade)][5:]


def test_an_entry_bears_the_tablets_time_beside_the_servers_and_is_marked_as_late(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    visitor = tablets("AB")
    made = clock.now - timedelta(hours=2)  # the tablet's clock is two hours slow
    clock.wait(minutes=7)

    answer = send(visitor, run, "k1", said("AB", made, made + timedelta(minutes=7)))

    assert answer.status_code == 200, answer.text
    (entry,) = made_in(desk, run)
    assert entry.tablet["offset_ms"] == str(2 * 3600 * 1000)
    assert entry.tablet["late"] == "yes"
    estimated = datetime.fromisoformat(entry.tablet["estimated"])
    assert estimated == clock.now - timedelta(minutes=7)
    page = words(visitor.get(f"/runs/{run}/steps/wind").text)
    assert f"Entered {estimated:%H:%M:%S} on a tablet without a link." in page


def test_sent_again_at_another_time_it_is_still_the_same_entry(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    visitor = tablets("AB")
    made = clock.now
    first = send(visitor, run, "k1", said("AB", made, made))
    clock.wait(minutes=3)
    again = send(visitor, run, "k1", said("AB", made, made + timedelta(minutes=3)))

    assert (first.status_code, again.status_code) == (200, 200)
    assert len(made_in(desk, run)) == 1


def test_it_is_taken_after_the_person_has_left_if_they_were_entering_then(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    visitor = tablets("AB")
    made = clock.now
    clock.wait(minutes=10)
    visitor.sign_on("KM")
    clock.wait(minutes=10)

    taken = send(visitor, run, "k1", said("AB", made, clock.now))
    never = send(visitor, run, "k2", said("AB", clock.now, clock.now))

    assert taken.status_code == 200, taken.text
    assert never.status_code == 403
    assert "AB was not entering at this tablet" in never.json()["sentence"]
    assert [e.by for e in happened(desk, run) if isinstance(e.event, EntryMade)][-1] == "AB"
    assert len(made_in(desk, run)) == 1


def test_nobody_enters_for_someone_who_never_was_at_this_tablet(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    tablets("KM")
    visitor = tablets("AB")

    answer = send(visitor, run, "k1", said("KM", clock.now, clock.now))
    alone = send(tablets(), run, "k2", said("KM", clock.now, clock.now))

    assert (answer.status_code, alone.status_code) == (403, 401)
    assert made_in(desk, run) == []


def test_what_is_signed_is_never_taken_from_what_a_tablet_kept(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    visitor = tablets("AB")
    kept = said("AB", clock.now, clock.now)
    before = len(happened(desk, run))
    secret = {"person": "SL", "secret": SECRETS["SL"], "seen": "9", "reason": "x", "how": "x"}

    for path in (
        f"/runs/{run}/steps/gap/sign", f"/runs/{run}/steps/hold/refuse", f"/runs/{run}/close",
        f"/runs/{run}/restart", f"/runs/{run}/suspend", f"/runs/{run}/resume", "/runs", "/sign-on",
        f"/runs/{run}/entries/7/correct",
    ):  # fmt: skip
        answer = visitor.ask("POST", path, data=secret, headers={**JSON, **kept})
        assert answer.status_code == 400, path
        assert answer.json()["code"] == "kept.signature"
    entry = send(visitor, run, "k", kept, person="AB", secret=SECRETS["AB"])

    assert entry.status_code == 400
    assert len(happened(desk, run)) == before


def test_a_step_that_needs_the_link_takes_nothing_that_was_kept(
    tablets: Tablets, clock: Clock, run: str
) -> None:
    visitor = tablets("AB")
    assert visitor.enter(run, "wind", value="4.2").status_code == 200
    kept = said("AB", clock.now, clock.now)

    answer = send(visitor, run, "k", kept, step="brackets-off", part="B01")

    assert answer.status_code == 422
    assert answer.json()["code"] == "kept.needs_link"


def test_a_time_that_cannot_be_read_is_turned_away(
    tablets: Tablets, clock: Clock, run: str
) -> None:
    visitor = tablets("AB")
    good = said("AB", clock.now, clock.now)

    for broken in ({"Kept-Made": "noon"}, {"Kept-Sent": "2026-11-25T10:00:00"},
                   {"Kept-Age-Ms": "-1"}, {"Kept-Age-Ms": "x"}):  # fmt: skip
        assert send(visitor, run, "k", {**good, **broken}).status_code == 400


def test_the_steps_ahead_end_where_the_link_is_needed(tablets: Tablets, run: str) -> None:
    page = tablets("AB").get(f"/runs/{run}/_ahead").text

    assert page.count("<template data-step=") == 1  # the wind; the brackets are a hazard's fact
    assert '<template data-step="wind" data-part="">' in page


def test_a_page_may_be_read_from_a_copy_and_a_refused_one_may_not(
    tablets: Tablets, run: str
) -> None:
    assert tablets("AB").get(f"/runs/{run}").headers["x-reading-copy"] == "yes"
    assert "x-reading-copy" not in tablets().get(f"/runs/{run}").headers
