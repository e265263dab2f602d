"""Whatever fails between a tablet and the recorder: each entry stands once, in order, none is lost.

Each run counts what was made, what is recorded and what is doubled. What the page ever called
recorded is compared with the ledger. SIGKILL is no power cut: what the tablet's own disk does then
is not tried here.
"""

from __future__ import annotations

import json
import random
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Playwright, Route, sync_playwright

from app.desk.desk import Desk
from app.ledger.stored import Stored
from app.ledger.transaction import Transaction
from tests.browser.crew import FLAGS, chromium
from tests.browser.keeping import (
    RUN,
    Keeper,
    doubled,
    entries,
    kill_browser,
    recorded,
    says_only_what_is,
    served,
)
from tests.conftest import needs

LOST = 0.4  # of the answers


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="module")
def browser(playwright: Playwright) -> Iterator[Browser]:
    opened = chromium(playwright)
    yield opened
    opened.close()


def told(what: str, made: int, stood: list[Stored]) -> None:
    print(json.dumps({what: {"made": made, "recorded": len(stood), "doubled": doubled(stood)}}))


def values(stood: list[Stored]) -> list[str]:
    return [each.body["values"]["value"] for each in stood]


def read_winds(tablet: Keeper, first: int, count: int) -> None:
    for number in range(first, first + count):
        if tablet.here()["step"] != "wind":  # without an answer the page has gone on
            tablet.open("wind")
        tablet.read_wind(number)
        tablet.until("!document.querySelector('[data-sent]')")
        tablet.look()


def lose_answers(tablet: Keeper, share: float, lots: random.Random) -> None:
    """Let every entry reach the recorder, and lose a share of its answers on the way back."""

    def answer(route: Route) -> None:
        response = route.fetch()
        if lots.random() < share:
            route.abort("connectionreset")
        else:
            route.fulfill(response=response)

    tablet.page.route("**/enter", answer)


def winds_with_lost_answers(tablet: Keeper, count: int) -> None:
    lose_answers(tablet, LOST, random.Random(40))
    tablet.open("wind")
    read_winds(tablet, 0, count)
    tablet.sent(60)


def test_four_in_ten_answers_are_lost(tablet: Keeper, round_desk: Desk) -> None:
    winds_with_lost_answers(tablet, 12)

    stood = entries(round_desk.ledger.read(f"run/{RUN}"))
    told("answers lost", tablet.made, stood)
    assert (tablet.made, len(stood), doubled(stood)) == (12, 12, 0)
    assert values(stood) == [f"99.{number:03d}" for number in range(12)]
    says_only_what_is(tablet, stood)


def test_without_keys_the_same_run_doubles_entries(
    tablet: Keeper, round_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The control: it shows that the test above can see a doubled entry."""
    monkeypatch.setattr(Transaction, "receipt", lambda *_: None)
    monkeypatch.setattr(Transaction, "keep_receipt", lambda *_: None)
    monkeypatch.setattr("app.run.entering._stale", lambda *_: None)

    winds_with_lost_answers(tablet, 12)

    stood = entries(round_desk.ledger.read(f"run/{RUN}"))
    told("control", tablet.made, stood)
    assert doubled(stood) > 0
    assert len(stood) > tablet.made


def test_the_recorder_is_killed_and_started_again(
    context: BrowserContext, round_site: Path
) -> None:
    with served(round_site) as server:
        tablet = Keeper(context, server.address)
        tablet.sign_on()
        tablet.open("wind")
        tablet.ready()
        read_winds(tablet, 0, 3)
        server.kill()
        read_winds(tablet, 3, 4)
        assert tablet.left() == 4
        server.start()
        read_winds(tablet, 7, 2)
        server.kill()
        read_winds(tablet, 9, 2)
        server.start()
        tablet.sent()

    stood = recorded(round_site)
    told("recorder killed", tablet.made, stood)
    assert (tablet.made, len(stood), doubled(stood)) == (11, 11, 0)
    assert values(stood) == [f"99.{number:03d}" for number in range(11)]
    says_only_what_is(tablet, stood)


def test_the_recorder_is_there_and_answers_nothing(
    context: BrowserContext, round_site: Path
) -> None:
    with served(round_site) as server:
        tablet = Keeper(context, server.address)
        tablet.sign_on()
        tablet.open("wind")
        tablet.ready()
        server.signal(signal.SIGSTOP)
        try:
            read_winds(tablet, 0, 1)
            assert "Not in the record yet" in tablet.words()
            assert tablet.page.evaluate("navigator.onLine")
            tablet.link("lost")
        finally:
            server.signal(signal.SIGCONT)
        tablet.sent()

    stood = recorded(round_site)
    told("recorder frozen", tablet.made, stood)
    assert (tablet.made, len(stood), doubled(stood)) == (1, 1, 0)
    says_only_what_is(tablet, stood)


def test_two_tabs_of_one_tablet_send_together(
    tablet: Keeper, context: BrowserContext, round_desk: Desk
) -> None:
    tablet.open("wind")
    other = Keeper(context, tablet.address)
    other.open("wind")
    context.set_offline(True)
    tablet.link("lost")
    other.link("lost")
    for number in range(4):
        read_winds(tablet, number * 2, 1)
        read_winds(other, number * 2 + 1, 1)
    context.set_offline(False)
    tablet.sent()
    other.look()

    stood = entries(round_desk.ledger.read(f"run/{RUN}"))
    told("two tabs", 8, stood)
    assert (len(stood), doubled(stood)) == (8, 0)
    assert values(stood) == [f"99.{number:03d}" for number in range(8)]
    says_only_what_is(tablet, stood)
    says_only_what_is(other, stood)


def test_the_browser_is_killed_as_the_page_says_kept(
    playwright: Playwright, round_site: Path, tmp_path: Path
) -> None:
    profile = tmp_path / "profile"
    made = 0
    with served(round_site) as server:

        def opened() -> tuple[BrowserContext, Keeper]:
            for left in profile.glob("Singleton*"):
                left.unlink()
            context = playwright.chromium.launch_persistent_context(
                str(profile), executable_path=needs("chromium"), args=list(FLAGS)
            )
            return context, Keeper(context, server.address)

        context, tablet = opened()
        tablet.sign_on()
        tablet.open("wind")
        tablet.ready()
        server.kill()
        for _ in range(2):
            read_winds(tablet, made, 3)
            made += 3
            tablet.shows_kept(made)
            kill_browser(profile)
            context, tablet = opened()
            tablet.open("wind")
            tablet.shows_kept(made)
            assert tablet.page.evaluate("document.documentElement.dataset.copyOf") is not None
        server.start()
        tablet.sent()
        context.close()

    stood = recorded(round_site)
    told("browser killed", made, stood)
    assert (len(stood), doubled(stood)) == (made, 0)
    assert values(stood) == [f"99.{number:03d}" for number in range(made)]
    says_only_what_is(tablet, stood)
