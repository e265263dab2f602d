"""A signature whose answer is lost: the page asks what became of it, and the secret goes out once."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Request, Route, expect, sync_playwright

from app.desk.desk import Desk
from tests.browser.crew import chromium
from tests.browser.keeping import RUN, Keeper
from tests.desk.conftest import SECRETS

STREAM = f"run/{RUN}"
SUSPEND = f"/runs/{RUN}/suspend"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = chromium(playwright)
        yield opened
        opened.close()


@pytest.fixture
def secrets_sent(tablet: Keeper) -> list[str]:
    """Return the addresses to which a secret goes, as they come."""
    sent: list[str] = []

    def heard(request: Request) -> None:
        if request.method == "POST" and "secret=" in (request.post_data or ""):
            sent.append(request.url)

    tablet.page.on("request", heard)
    return sent


def sign_suspend(tablet: Keeper) -> None:
    tablet.page.fill("textarea[name=state]", "All is quiet.")
    if tablet.page.locator("select#suspend-person").count():
        tablet.page.select_option("#suspend-person", "SL")
    tablet.page.fill("#suspend-secret", SECRETS["SL"])
    act = tablet.page.locator("button.act[form=suspend]")
    act.focus()
    tablet.page.keyboard.press("Enter")
    tablet.page.wait_for_timeout(430)
    tablet.page.keyboard.press("Enter")


def kinds(desk: Desk) -> list[str]:
    return [event.kind for event in desk.ledger.read(STREAM)]


def test_an_answer_that_is_lost_after_the_signature_is_asked_for_and_the_secret_goes_out_once(
    tablet: Keeper, round_desk: Desk, secrets_sent: list[str]
) -> None:
    def lose(route: Route) -> None:
        route.fetch()
        route.abort("connectionreset")

    tablet.page.route(
        f"**{SUSPEND}", lambda r: lose(r) if r.request.method == "POST" else r.continue_()
    )
    tablet.sign_on("SL")
    tablet.page.goto(f"{tablet.address}{SUSPEND}")
    secrets_sent.clear()

    outcomes: list[str] = []

    def hear(route: Route) -> None:
        answer = route.fetch()
        outcomes.append(answer.json()["outcome"])
        route.fulfill(response=answer)

    tablet.page.route("**/outcome?**", hear)
    with tablet.page.expect_navigation():  # it is in the record: the page is drawn anew
        sign_suspend(tablet)

    assert outcomes[-1] == "done"
    assert "given up" not in outcomes
    tablet.page.wait_for_timeout(1500)
    assert len(secrets_sent) == 1
    assert kinds(round_desk).count("RunSuspended") == 1


def test_a_signature_that_never_arrived_is_given_up_and_can_be_signed_again(
    tablet: Keeper, round_desk: Desk, secrets_sent: list[str]
) -> None:
    tablet.page.route(
        f"**{SUSPEND}",
        lambda r: r.abort("connectionreset") if r.request.method == "POST" else r.continue_(),
    )
    tablet.sign_on("SL")
    tablet.page.goto(f"{tablet.address}{SUSPEND}")
    secrets_sent.clear()
    before = kinds(round_desk)

    sign_suspend(tablet)

    expect(tablet.page.locator("#told")).to_have_text(
        "Nothing was signed. Sign again on this sheet."
    )
    assert tablet.page.locator("#suspend-secret").input_value() == ""
    assert len(secrets_sent) == 1
    assert kinds(round_desk) == before
