"""Entering on a step, through the door: what is kept, and what is refused and changes nothing."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from app.desk.desk import Desk
from app.run.events import ActRefused
from app.web.guards import PHOTO_LIMIT
from app.web.uploads import drawn_anew
from tests.desk.conftest import Clock
from tests.screens.conftest import Tablets, count, happened, take_off
from tests.screens.visitor import words


def test_an_entry_gives_the_new_state(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    before = tablet.seen(run)

    answer = tablet.enter(run, "wind", value="4.2")

    assert answer.status_code == 200
    state = answer.json()
    assert set(state) == {"run", "seq", "status", "stop", "step", "abandoned"}
    assert state["run"] == run
    assert state["seq"] > before
    assert state["status"] == "open"
    assert state["step"]["state"] == "done"
    assert state["step"]["entries"][0]["values"] == {"value": "4.2"}
    assert state["step"]["entries"][0]["by"] == "AB"


def test_a_form_leads_on_to_the_run(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answer = tablet.post(f"/runs/{run}/steps/wind/enter", value="4.2", seen=str(tablet.seen(run)))

    assert answer.status_code == 303
    assert answer.headers["location"] == f"/runs/{run}"


def test_a_press_on_the_bench_is_answered_with_the_bench_alone(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    seen = str(tablet.seen(run))

    done = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        data={"value": "4.2", "seen": seen},
        headers={"HX-Request": "true"},
    )

    assert done.status_code == 200
    assert done.text.lstrip().startswith('<div id="bench"')
    assert "<html" not in done.text


def test_what_was_typed_stays_in_the_field_after_a_refusal(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answer = tablet.post(f"/runs/{run}/steps/wind/enter", value="1,234", seen=str(tablet.seen(run)))

    assert answer.status_code == 422
    assert "can be read two ways" in words(answer.text)
    assert 'value="1,234"' in answer.text


def test_out_of_order_changes_nothing_and_says_what_is_missing(
    tablets: Tablets, desk: Desk, run: str
) -> None:
    tablet = tablets("AB")
    before = happened(desk, run)

    answer = tablet.enter(run, "gap", value="1.5")

    assert answer.status_code == 422
    assert answer.json()["code"] == "order.not_open"
    assert answer.json()["sentence"].startswith("Step 6 is not open. Step 2 is not finished")
    assert answer.json()["where"] == "step 2"
    assert happened(desk, run) == before


def test_out_of_order_on_a_critical_step_leaves_the_attempt_in_the_record(
    tablets: Tablets, desk: Desk, run: str
) -> None:
    tablet = tablets("AB")
    before = happened(desk, run)

    answer = tablet.enter(run, "lift", tool="SP-1")

    assert answer.status_code == 422
    added = happened(desk, run)[len(before) :]
    assert [type(each.event) for each in added] == [ActRefused]
    assert added[0].event.rule == "order.not_open"  # type: ignore[union-attr]


def test_a_stale_page_does_not_overwrite(tablets: Tablets, desk: Desk, run: str) -> None:
    first, second = tablets("AB"), tablets("KM")
    seen = second.seen(run)
    assert first.enter(run, "wind", value="9.5").status_code == 200
    before = happened(desk, run)

    answer = second.tell(f"/runs/{run}/steps/wind/enter", values={"value": "4.2"}, seen=seen)

    assert answer.status_code == 409
    assert answer.json()["code"] == "conflict.tablet"
    assert "Yours was not saved" in answer.json()["sentence"]
    assert happened(desk, run) == before


def test_a_press_sent_twice_counts_once(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    body = {"values": {"value": "4.2"}, "seen": tablet.seen(run), "key": "one-press"}

    first = tablet.tell(f"/runs/{run}/steps/wind/enter", **body)
    after = happened(desk, run)
    again = tablet.tell(f"/runs/{run}/steps/wind/enter", **body)

    assert first.status_code == again.status_code == 200
    assert happened(desk, run) == after


def test_the_key_can_stand_in_the_header(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    body = {"values": {"value": "4.2"}, "seen": tablet.seen(run)}
    headers = {"Idempotency-Key": "one-press", "Accept": "application/json"}

    for _ in range(2):
        tablet.ask("POST", f"/runs/{run}/steps/wind/enter", json=body, headers=headers)

    state = desk.run(run)
    assert state is not None
    assert len(state.state.progress("wind").entries) == 1


def test_a_key_used_for_something_else_is_refused(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    body = {"seen": tablet.seen(run), "key": "one-press"}
    where = f"/runs/{run}/steps/wind/enter"
    tablet.tell(where, values={"value": "9.5"}, **body)
    before = happened(desk, run)

    answer = tablet.tell(where, values={"value": "4.2"}, **body)

    assert answer.status_code == 409
    assert answer.json()["code"] == "key.reused"
    added = happened(desk, run)[len(before) :]
    assert [type(each.event) for each in added] == [ActRefused]


@pytest.mark.parametrize("key", ["with blank", "é", "x" * 65, "a/b"])
def test_a_key_that_is_none_is_refused(tablets: Tablets, run: str, key: str) -> None:
    tablet = tablets("AB")

    answer = tablet.tell(f"/runs/{run}/steps/wind/enter", values={}, seen=1, key=key)

    assert answer.status_code == 422


def test_a_page_that_does_not_say_what_it_saw_is_refused(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answer = tablet.tell(f"/runs/{run}/steps/wind/enter", values={"value": "4.2"})

    assert answer.status_code == 422
    assert "did not say what it had seen" in answer.json()["sentence"]


def test_a_role_that_the_step_does_not_ask_for_is_refused(tablets: Tablets, run: str) -> None:
    tablet = tablets("SL")

    answer = tablet.enter(run, "wind", value="4.2")

    assert answer.status_code == 403
    assert answer.json()["code"] == "seat.role"
    assert answer.json()["sentence"] == "Only a technician can do this. SL is supervisor."


def test_someone_who_was_not_briefed_is_refused(tablets: Tablets, run: str) -> None:
    tablet = tablets("TW")

    answer = tablet.enter(run, "wind", value="4.2")

    assert answer.json()["code"] == "people.not_briefed"


def test_a_stale_reading_shuts_the_lift(
    tablets: Tablets, desk: Desk, clock: Clock, run: str
) -> None:
    tablet = tablets("AB")
    take_off(tablet, run)
    count(tablet, run, clock, "7346", "7346", "7346")
    assert tablet.enter(run, "gap", value="1.5").status_code == 200
    assert tablet.sign(run, "gap", "AB").status_code == 200
    assert tablet.sign(run, "gap", "SL").status_code == 200
    how = "I stood at the mirror"
    assert tablet.sign(run, "hold", "AB").status_code == 200
    assert tablet.sign(run, "hold", "HL", how=how).status_code == 200
    clock.wait(minutes=40)
    before = happened(desk, run)

    answer = tablet.sign(run, "lift", "AB")

    assert answer.status_code == 422
    assert answer.json()["code"] == "reading.stale"
    assert "It must be under 30 min old. Read it again." in answer.json()["sentence"]
    assert answer.json()["where"] == "step 2"
    added = happened(desk, run)[len(before) :]
    assert [type(each.event) for each in added] == [ActRefused]


def picture(kind: str = "PNG", size: int = 8) -> bytes:
    """Return a small picture."""
    written = io.BytesIO()
    Image.new("RGB", (size, size), "grey").save(written, kind)
    return written.getvalue()


@pytest.mark.parametrize(
    ("kind", "media"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")]
)
def test_a_photo_is_shown_as_it_was_kept(tablets: Tablets, run: str, kind: str, media: str) -> None:
    tablet = tablets("AB")
    photo = picture(kind)

    answer = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        data={"value": "4.2", "seen": str(tablet.seen(run))},
        files={"photo": ("photo", photo, "application/octet-stream")},
        headers={"Accept": "application/json"},
    )

    sha = answer.json()["step"]["entries"][0]["values"]["photo"]
    shown = tablet.get(f"/photos/{sha}")
    assert shown.content == drawn_anew(photo)[0]
    assert shown.headers["content-type"] == media
    assert "private" in shown.headers["cache-control"]
    assert tablets().get(f"/photos/{sha}").status_code == 401
    assert tablet.get(f"/photos/{'0' * 64}").status_code == 404
    assert tablet.get("/photos/..%2F..%2Fkeys").status_code == 404


@pytest.mark.parametrize(
    "photo",
    [
        b"<script>alert(1)</script>",
        b"GIF89a" + b"\0" * 40,
        picture()[:40],
        picture("JPEG")[:30],
        b"\x89PNG\r\n\x1a\n" + b"\0" * 200,
    ],
)
def test_what_is_not_a_photo_is_refused(
    tablets: Tablets, desk: Desk, run: str, photo: bytes
) -> None:
    tablet = tablets("AB")
    before = happened(desk, run)

    answer = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        data={"value": "4.2", "seen": str(tablet.seen(run))},
        files={"photo": ("photo.jpg", photo, "image/jpeg")},
    )

    assert answer.status_code == 422
    assert "is not a photo" in words(answer.text)
    assert happened(desk, run) == before


def test_a_photo_that_is_too_large_is_refused(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answer = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        data={"value": "4.2", "seen": str(tablet.seen(run))},
        files={"photo": ("photo.jpg", picture() + b"\0" * PHOTO_LIMIT, "image/jpeg")},
    )

    assert answer.status_code == 413
    assert "larger than 12 MB" in words(answer.text)


def test_a_photo_can_not_be_claimed_by_a_digest_alone(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answer = tablet.enter(run, "wind", value="4.2", photo="0" * 64)

    assert answer.status_code == 422
    assert answer.json()["sentence"] == "The photo did not arrive. Take it again. Not saved."
