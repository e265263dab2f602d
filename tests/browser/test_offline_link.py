"""The link is cut, and comes back: what was entered stands once, in order; nothing else was done."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, sync_playwright

from app.desk.desk import Desk
from tests.browser.crew import chromium, server
from tests.browser.keeping import (
    RUN,
    Keeper,
    doubled,
    entries,
    found,
    says_only_what_is,
)

COUNT = 8


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = chromium(playwright)
        yield opened
        opened.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    opened = browser.new_context(viewport={"width": 1180, "height": 820})
    yield opened
    opened.close()


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.open(found(tmp_path / "site"))  # the server closes it when it ends


@pytest.fixture
def address(desk: Desk) -> Iterator[str]:
    with server(desk) as given:
        yield given


@pytest.fixture
def tablet(context: BrowserContext, address: str) -> Keeper:
    keeper = Keeper(context, address)
    keeper.sign_on()
    keeper.open()
    keeper.ready()
    return keeper


def made_in(desk: Desk) -> list[tuple[str, str, dict[str, str]]]:
    return [
        (e.body["step"], e.body["part"], dict(e.body["values"]))
        for e in entries(desk.ledger.read(f"run/{RUN}"))
    ]


def test_the_page_is_loaded_anew_after_each_entry_without_a_link(
    tablet: Keeper, context: BrowserContext, desk: Desk
) -> None:
    context.set_offline(True)
    tablet.link("lost")
    for number in range(COUNT):
        tablet.page.reload()
        tablet.until(
            f"document.querySelectorAll('#unlinked [data-state=pending]').length === {number}"
        )
        bench = tablet.here()
        if number == 0:
            assert bench["step"] == "wind"
            tablet.page.fill("input[name='values.value']", "4.5")
        elif bench["step"] == "lamps":
            tablet.page.check("[name='values.result'][value='lit']")
        tablet.press()
        tablet.until(
            f"document.querySelectorAll('#unlinked [data-state=pending]').length === {number + 1}"
        )
        tablet.look()
    assert tablet.said == set()
    assert entries(desk.ledger.read(f"run/{RUN}")) == []

    context.set_offline(False)
    tablet.sent()

    made = entries(desk.ledger.read(f"run/{RUN}"))
    lamps = [("lamps", f"L{n:02d}", {"result": "lit"}) for n in range(1, 7)]
    assert made_in(desk) == [("wind", "", {"value": "4.5"}), *lamps, ("doors", "", {})]
    assert (tablet.made, len(made), doubled(made)) == (COUNT, COUNT, 0)
    assert {each.by for each in made} == {"AB"}
    says_only_what_is(tablet, made)
