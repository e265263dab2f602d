"""A press is not lost when news of the run arrives under the finger; old news never covers new."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, sync_playwright

from app.desk.desk import Desk, utc_now
from app.run.crew import Person
from tests.browser.crew import TABLET, chromium, server
from tests.desk.conftest import SECRETS
from tests.faults.test_kill_server import brief
from tests.run.stage import PEOPLE, SITE, TEXT

RUN = "R-0001"
REFETCH = (
    "() => { window.htmx.ajax('GET', document.getElementById('bench').dataset.self,"
    " { target: '#bench', swap: 'outerMorph' }); }"
)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """Return the desk of a site whose run stands at its wind reading."""
    Desk.found(
        tmp_path / "site",
        SITE.encode(),
        [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()],
        {"QP-9.toml": TEXT.encode()},
        reviewer="SL",
        releaser="HL",
    )
    desk = Desk.open(tmp_path / "site", clock=utc_now)
    asyncio.run(brief(desk))
    return desk  # the server closes it when it ends


@pytest.fixture
def page(desk: Desk) -> Iterator[Page]:
    """Return the page of that run, with AB entering."""
    with server(desk) as address, sync_playwright() as playwright:
        browser = chromium(playwright)
        page = browser.new_context(viewport=TABLET).new_page()  # type: ignore[arg-type]
        page.goto(f"{address}/sign-on")
        page.select_option("#sign-on-person", "AB")
        page.fill("#sign-on-secret", SECRETS["AB"])
        page.click("button.act[form=sign-on]")
        page.goto(f"{address}/runs/{RUN}")
        page.fill("input[name='values.value']", "3.0")
        page.locator("#h").click()
        yield page


def test_news_that_arrives_during_a_press_does_not_take_the_press_away(page: Page) -> None:
    box = page.locator("footer .act[data-hold]").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 200, box["y"] + 30)

    with page.expect_response(lambda r: r.request.method == "POST", timeout=8000) as answer:
        page.mouse.down()
        page.wait_for_timeout(150)
        page.evaluate(REFETCH)
        page.wait_for_timeout(750)
        page.mouse.up()

    assert answer.value.status == 200


def test_news_drawn_before_an_act_does_not_cover_what_the_act_has_shown(page: Page) -> None:
    page.evaluate("() => { document.getElementById('bench').dataset.seq = '999'; }")

    page.evaluate(REFETCH)
    page.wait_for_timeout(600)

    assert page.locator("#bench").get_attribute("data-seq") == "999"
