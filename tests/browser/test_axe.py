"""axe finds nothing on the screens, in any theme, on a tablet and on a phone."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from app.desk.desk import Desk
from tests.browser.crew import PHONE, TABLET, Hands, chromium, server
from tests.browser.looked import findings

RUN = "R-0002"
SCREENS = (
    "/sign-on",
    "/today",
    f"/runs/{RUN}",
    f"/runs/{RUN}/steps/released/countersign",
    f"/runs/{RUN}/steps/released/trouble",
    f"/runs/{RUN}/steps/brackets-off",
    f"/runs/{RUN}/steps/load-tenth",
    f"/runs/{RUN}/close",
    f"/runs/{RUN}/stopped",
    "/holds",
    "/records",
    "/records/R-0001",
    "/sums",
    "/sums/dew-point?temperature=11.5&humidity=38",
    "/tools",
    "/settings",
    "/procedures",
    "/procedures/QP-4",
)


@pytest.mark.slow
@pytest.mark.parametrize("room", [TABLET, PHONE], ids=["tablet", "phone"])
def test_axe_finds_nothing_on_the_screens(demo_site: Path, room: dict[str, int]) -> None:
    found: list[str] = []
    desk = Desk.open(demo_site)
    with server(desk) as address, sync_playwright() as playwright:
        browser = chromium(playwright)
        hands = Hands(browser.new_context(viewport=room), address, desk)  # type: ignore[arg-type]
        hands.sign_on("NA")
        for screen in SCREENS:
            answer = hands.page.goto(address + screen)
            assert answer is not None
            assert answer.status == 200, screen
            found += findings(hands.page, screen)
        browser.close()

    assert found == []


def test_what_axe_would_find_is_found() -> None:
    with sync_playwright() as playwright:
        browser = chromium(playwright)
        page = browser.new_page()
        page.set_content("<html lang='en'><title>x</title><main><h1>x</h1><img src='x'></main>")

        found = findings(page, "planted")
        browser.close()

    assert any("image-alt" in each for each in found)
