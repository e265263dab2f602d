"""The link is cut, and comes back: what was entered stands once, in order; nothing else was done."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, sync_playwright

from app.desk.desk import Desk
from tests.browser.crew import chromium
from tests.browser.keeping import (
    RUN,
    Keeper,
    doubled,
    entries,
    says_only_what_is,
)

COUNT = 8


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = chromium(playwright)
        yield opened
        opened.close()


def made_in(round_desk: Desk) -> list[tuple[str, str, dict[str, str]]]:
    return [
        (e.body["step"], e.body["part"], dict(e.body["values"]))
        for e in entries(round_desk.ledger.read(f"run/{RUN}"))
    ]


def test_the_page_is_loaded_anew_after_each_entry_without_a_link(
    tablet: Keeper, context: BrowserContext, round_desk: Desk
) -> None:
    context.set_offline(True)
    tablet.link("lost")
    for number in range(COUNT):
        tablet.page.reload()
        tablet.shows_kept(number)
        bench = tablet.at_something_new()
        if number == 0:
            assert bench["step"] == "wind"
            tablet.page.fill("input[name='values.value']", "4.5")
        elif bench["step"] == "lamps":
            tablet.page.check("[name='values.result'][value='lit']")
        tablet.press()
        tablet.shows_kept(number + 1)
        tablet.look()
    assert tablet.said == set()
    assert entries(round_desk.ledger.read(f"run/{RUN}")) == []

    context.set_offline(False)
    tablet.sent()

    made = entries(round_desk.ledger.read(f"run/{RUN}"))
    lamps = [("lamps", f"L{n:02d}", {"result": "lit"}) for n in range(1, 7)]
    assert made_in(round_desk) == [("wind", "", {"value": "4.5"}), *lamps, ("doors", "", {})]
    assert (tablet.made, len(made), doubled(made)) == (COUNT, COUNT, 0)
    assert {each.by for each in made} == {"AB"}
    says_only_what_is(tablet, made)
