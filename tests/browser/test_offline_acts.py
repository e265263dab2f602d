"""On a tablet without its link: stop work, another tablet on the same step, photos, a change of shift."""

from __future__ import annotations

import io
import time
from collections.abc import Iterator

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, FilePayload, expect, sync_playwright

from app.desk.desk import Desk
from app.ledger.trouble import LedgerTrouble
from app.web.routes import copies
from tests.browser.crew import chromium
from tests.browser.keeping import RUN, Keeper, doubled, entries, says_only_what_is
from tests.desk.conftest import SECRETS

STREAM = f"run/{RUN}"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = chromium(playwright)
        yield opened
        opened.close()


def kinds(desk: Desk) -> list[str]:
    return [event.kind for event in desk.ledger.read(STREAM)]


def unlink(tablet: Keeper) -> None:
    tablet.page.context.set_offline(True)
    tablet.link("lost")


def photo(width: int = 3000, height: int = 2250) -> bytes:
    """Return a picture that compresses badly, as large as a tablet's camera writes it."""
    noise = Image.effect_noise((width, height), 60)
    kept = io.BytesIO()
    noise.convert("RGB").save(kept, "JPEG", quality=80)
    return kept.getvalue()


def test_a_stop_without_a_link_shows_what_to_do_survives_a_reload_and_is_sent_first(
    tablet: Keeper, browser: Browser, round_desk: Desk
) -> None:
    other = Keeper(browser.new_context(), tablet.address)
    other.sign_on("KM")
    other.open()
    other.link("linked")
    unlink(tablet)
    tablet.page.fill("input[name='values.value']", "4.5")
    tablet.press()
    tablet.shows_kept(1)

    tablet.page.click(".stopbtn")
    halt = tablet.page.locator("#halt")
    expect(halt).to_be_visible()
    expect(halt).to_contain_text("Stop what moves.")
    expect(halt).to_contain_text("Not sent yet: say it out loud and by radio.")
    tablet.page.reload()
    expect(halt).to_be_visible()
    expect(halt).to_contain_text("Not sent yet: say it out loud and by radio.")
    assert "WorkStopped" not in kinds(round_desk)

    tablet.page.context.set_offline(False)
    tablet.page.wait_for_url("**/stopped")
    expect(other.page.locator("#halt")).to_be_visible()
    assert kinds(round_desk).count("WorkStopped") == 1
    assert kinds(round_desk)[1] == "WorkStopped"  # before the entry that was made before it
    other.page.context.close()


def test_another_tablet_sees_a_stop_within_a_second(
    tablet: Keeper, browser: Browser, round_desk: Desk
) -> None:
    other = Keeper(browser.new_context(), tablet.address)
    other.sign_on("KM")
    other.open()
    other.link("linked")

    tablet.page.click(".stopbtn")
    tablet.page.wait_for_url("**/stopped")
    stopped = next(e.at for e in round_desk.ledger.read(STREAM) if e.kind == "WorkStopped")
    other.until("!document.getElementById('halt').hidden", 10)
    after = (round_desk.now() - stopped).total_seconds()
    other.page.context.close()

    print(f"the other tablet showed the stop {after:.2f} s after it was recorded")
    assert after < 2.5  # 1 s with the machine to itself; here it is shared


def test_what_another_tablet_got_in_first_stays_here_as_not_accepted_and_other_steps_go_on(
    tablet: Keeper, browser: Browser, round_desk: Desk
) -> None:
    other = Keeper(browser.new_context(), tablet.address)
    other.sign_on("KM")
    unlink(tablet)
    for _ in range(3):  # the wind, and the first two lamps
        if tablet.here()["step"] == "wind":
            tablet.page.fill("input[name='values.value']", "4.5")
        else:
            tablet.page.check("[name='values.result'][value='lit']")
        tablet.press()
        tablet.until("!document.querySelector('[data-sent]')")
    tablet.shows_kept(3)
    other.open()
    other.page.fill("input[name='values.value']", "4.6")
    other.press()
    other.until("document.getElementById('bench').dataset.step === 'lamps'")

    tablet.page.context.set_offline(False)
    tablet.until("document.querySelectorAll('#unlinked [data-state=parked]').length === 1")
    tablet.until("document.querySelectorAll('#unlinked [data-state=pending]').length === 0")
    tablet.look()

    stood = entries(round_desk.ledger.read(STREAM))
    assert [(e.by, e.body["step"], e.body["part"]) for e in stood] == [
        ("KM", "wind", ""), ("AB", "lamps", "L01"), ("AB", "lamps", "L02"),
    ]  # fmt: skip
    assert "Not accepted: Step 1 is done since" in tablet.words()
    (kept,) = tablet.outbox()
    assert (kept["step"], kept["state"]) == ("wind", "parked")
    says_only_what_is(tablet, stood)
    tablet.page.click("#take-away")
    tablet.until("document.getElementById('unlinked').hidden", 30)
    assert tablet.outbox() == []
    other.page.context.close()


def test_behind_a_refused_entry_the_later_ones_of_its_step_wait(
    tablet: Keeper, browser: Browser, round_desk: Desk
) -> None:
    other = Keeper(browser.new_context(), tablet.address)
    other.sign_on("KM")
    tablet.open("wind")
    tablet.ready()
    unlink(tablet)
    for number in range(3):
        tablet.open("wind")
        tablet.read_wind(number)
        tablet.shows_kept(number + 1)
    other.open("wind")
    other.read_wind(500)
    other.until("document.getElementById('bench').dataset.saved !== ''")

    tablet.page.context.set_offline(False)
    tablet.until("document.querySelectorAll('#unlinked [data-state=parked]').length === 1")
    tablet.until("document.querySelectorAll('#unlinked [data-state=behind]').length === 2")

    stood = entries(round_desk.ledger.read(STREAM))
    assert [each.by for each in stood] == ["KM"]
    assert len(tablet.outbox()) == 3
    assert "Waiting: an earlier entry on this step was not accepted." in tablet.words()
    other.page.context.close()


def test_photos_are_made_small_kept_and_sent_whole_after_a_reload(
    tablet: Keeper, round_desk: Desk
) -> None:
    for step in ("wind", "lamps", "doors"):
        for part in ("",) if step != "lamps" else [f"L{n:02d}" for n in range(1, 7)]:
            values = {"wind": {"value": "4.5"}, "lamps": {"result": "lit"}}.get(step, {})
            answer = tablet.page.request.post(
                f"{tablet.address}/runs/{RUN}/steps/{step}/enter",
                form={"seen": "99", "part": part, **{f"values.{k}": v for k, v in values.items()}},
                headers={"Accept": "application/json", "Origin": tablet.address},
            )
            assert answer.ok, answer.text()
    tablet.open()
    tablet.ready()
    unlink(tablet)
    taken = [photo(), photo()]
    for count, buffer in enumerate(taken, 1):
        tablet.page.set_input_files(
            "input[type=file]",
            files=[FilePayload(name="edge.jpg", mimeType="image/jpeg", buffer=buffer)],
        )
        tablet.press()
        tablet.shows_kept(count)
        tablet.page.reload()
        tablet.shows_kept(count)
    tablet.page.context.set_offline(False)
    tablet.sent()

    stood = [e for e in entries(round_desk.ledger.read(STREAM)) if e.body["step"] == "edge"]
    assert (len(stood), doubled(stood)) == (2, 0)
    for each in stood:
        kept = round_desk.blobs.read(each.body["values"]["photo"])
        assert kept is not None
        with Image.open(io.BytesIO(kept)) as picture:
            assert max(picture.size) == 2000
        assert len(kept) < min(len(each) for each in taken)


def test_what_was_entered_before_the_shift_ended_is_taken_and_whoever_entered_is_named(
    tablet: Keeper, round_desk: Desk
) -> None:
    unlink(tablet)
    tablet.page.fill("input[name='values.value']", "4.5")
    tablet.press()
    tablet.shows_kept(1)
    for session in tuple(round_desk.sessions._here.values()):
        round_desk.register.reset_secret("AB", "a-quite-other-secret", by="HL")
        assert session.people == ("AB",)

    tablet.page.context.set_offline(False)
    tablet.sent()

    (entry,) = entries(round_desk.ledger.read(STREAM))
    assert entry.by == "AB"
    assert round_desk.sessions.present(round_desk.now()) == frozenset()


def test_without_a_link_nothing_can_be_signed_and_no_secret_is_kept(tablet: Keeper) -> None:
    tablet.open("end")
    unlink(tablet)

    act = tablet.page.locator(".actbar [data-hold]")
    if act.count():
        expect(act).to_have_attribute("aria-disabled", "true")
    assert tablet.page.locator(".actbar [data-keep]").count() == 0
    assert tablet.outbox() == []
    assert SECRETS["AB"] not in str(tablet.outbox())


def test_readiness_is_said_only_when_it_is_so(context: BrowserContext, round_address: str) -> None:
    context.route("**/_ahead", lambda route: route.abort())
    tablet = Keeper(context, round_address)
    tablet.sign_on()
    tablet.open()
    tablet.link("linked")
    tablet.page.wait_for_timeout(2500)

    line = tablet.page.locator("[data-ready-words]")
    expect(line).to_have_text("Not yet ready to be used without the link.")
    context.unroute("**/_ahead")
    tablet.ready()


def test_another_worker_with_entries_waiting_loses_nothing(
    tablet: Keeper, round_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    unlink(tablet)
    tablet.page.fill("input[name='values.value']", "4.5")
    tablet.press()
    tablet.shows_kept(1)
    newer = copies.worker_text().replace(b'VERSION = "', b'VERSION = "newer')
    monkeypatch.setattr(copies, "worker_text", lambda: newer)
    act = round_desk.act

    async def busy(*_: object, **__: object) -> object:
        raise LedgerTrouble("busy", "Not now.")

    monkeypatch.setattr(round_desk, "act", busy)
    tablet.page.context.set_offline(False)
    tablet.until(
        "navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => caches.keys())"
        ".then(all => all.some(name => name.startsWith('static-newer')))"
    )
    tablet.page.reload()
    tablet.shows_kept(1)
    monkeypatch.setattr(round_desk, "act", act)
    tablet.sent(60)

    stood = entries(round_desk.ledger.read(STREAM))
    assert (len(stood), doubled(stood)) == (1, 0)


def test_a_recorder_that_cannot_take_an_entry_is_said_to_be_stuck_and_the_entry_leaves_on_a_file(
    tablet: Keeper,
) -> None:
    tablet.page.route("**/enter", lambda route: route.fulfill(status=503, body=""))
    tablet.page.fill("input[name='values.value']", "4.5")
    tablet.press()
    tablet.until("document.getElementById('unlinked').dataset.state === 'stuck'", 30)
    assert "The recorder cannot take an entry. Tell the lead" in tablet.words()

    with tablet.page.expect_download() as coming:
        tablet.page.click("#save-kept")
    text = coming.value.path().read_text()
    assert '"4.5"' in text
    assert '"by": "AB"' in text
    assert len(tablet.outbox()) == 1


def test_a_tablet_that_cannot_keep_an_entry_says_that_it_is_not_recorded(tablet: Keeper) -> None:
    tablet.page.evaluate(
        "() => { IDBObjectStore.prototype.add = () => {"
        " throw new DOMException('full', 'QuotaExceededError'); }; }"
    )
    tablet.page.fill("input[name='values.value']", "4.5")
    tablet.press()

    expect(tablet.page.locator("#unsure")).to_contain_text("It is not recorded. Write it on paper.")
    assert tablet.page.locator("input[name='values.value']").input_value() == "4.5"


def test_a_page_without_a_copy_is_waited_for_and_said_to_be_missing_without_a_link(
    tablet: Keeper, round_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    released = round_desk.released

    def slowly() -> object:
        time.sleep(4)  # longer than the worker waits where it has a copy
        return released()

    monkeypatch.setattr(round_desk, "released", slowly)
    tablet.page.goto(f"{tablet.address}/")
    expect(tablet.page.locator("h1")).not_to_contain_text("cannot be read without the link")

    tablet.page.context.set_offline(True)
    tablet.page.goto(f"{tablet.address}/")
    expect(tablet.page.locator("h1")).to_contain_text("cannot be read without the link")


def test_without_a_link_the_page_itself_says_that_something_is_missing(tablet: Keeper) -> None:
    unlink(tablet)
    tablet.press()

    expect(tablet.page.locator("#unsure")).to_contain_text("Something is not filled in.")
    assert tablet.outbox() == []
