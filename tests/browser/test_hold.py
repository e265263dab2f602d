"""Press and hold, in a real browser: a slip records nothing, a deliberate press exactly one thing."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from app.settings import data_folder
from tests.conftest import needs

PAGE = """<!doctype html>
<html lang="en" data-theme="day"><head><title>Hold</title>
<link rel="stylesheet" href="/css/tokens.css"><link rel="stylesheet" href="/css/base.css">
<script type="module">
import { start } from '/js/hold.js';
window.held = 0;
document.addEventListener('held', () => { window.held += 1; });
start(document);
window.ready = true;
</script></head>
<body><p id="said" role="status"></p>
<button type="button" class="act" id="act" data-hold="700"><span>Bracket 14 done<span class="how">Press and hold</span></span></button>
<button type="button" class="act" id="sign" data-hold="1200"><span>Sign<span class="how">Press and hold</span></span></button>
<button type="button" class="act" id="off" data-hold="700" aria-disabled="true"><span>Rinse started<span class="how">Opens at 10:53:25</span></span></button>
</body></html>"""
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)


class Served(SimpleHTTPRequestHandler):
    """The static files, and the one page."""

    def do_GET(self) -> None:
        if self.path != "/":
            super().do_GET()
            return
        body = PAGE.encode()
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    handler = partial(Served, directory=str(data_folder("static")))
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=needs("chromium"), args=list(ARGUMENTS))
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    opened = browser.new_page(viewport={"width": 1180, "height": 820})
    opened.goto(address)
    opened.wait_for_function("window.ready")
    yield opened
    opened.close()


def held(page: Page) -> int:
    return int(page.evaluate("window.held"))


def said(page: Page) -> str:
    return page.locator("#said").inner_text()


def over(page: Page, which: str) -> tuple[float, float]:
    """Put the finger over a button."""
    box = page.locator(which).bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    return x, y


def press(page: Page, milliseconds: int, which: str = "#act") -> None:
    over(page, which)
    page.mouse.down()
    page.wait_for_timeout(milliseconds)
    page.mouse.up()


def tap(page: Page) -> None:
    page.mouse.click(*over(page, "#act"))


def double_tap(page: Page) -> None:
    page.mouse.dblclick(*over(page, "#act"))


def half_a_second(page: Page) -> None:
    press(page, 500)


def drag(page: Page) -> None:
    x, y = over(page, "#act")
    page.mouse.down()
    page.mouse.move(x + 60, y)
    page.wait_for_timeout(900)
    page.mouse.up()


def press_an_off_button(page: Page) -> None:
    press(page, 900, "#off")


def enter_twice_fast(page: Page) -> None:
    page.focus("#act")
    page.keyboard.press("Enter")
    page.wait_for_timeout(100)
    page.keyboard.press("Enter")


def arm_leave_and_return(page: Page) -> None:
    page.focus("#act")
    page.keyboard.press("Enter")
    page.wait_for_timeout(600)
    page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")


def too_short_for_a_signature(page: Page) -> None:
    press(page, 900, "#sign")


@pytest.mark.parametrize(
    "slip",
    [
        tap,
        double_tap,
        half_a_second,
        drag,
        press_an_off_button,
        enter_twice_fast,
        arm_leave_and_return,
        too_short_for_a_signature,
    ],
)
def test_a_slip_records_nothing(page: Page, slip: Callable[[Page], None]) -> None:
    slip(page)
    page.wait_for_timeout(900)

    assert held(page) == 0


def test_holding_records_once_and_the_button_is_spent(page: Page) -> None:
    press(page, 900)
    assert held(page) == 1

    press(page, 900)
    assert held(page) == 1


def test_holding_long_enough_signs(page: Page) -> None:
    press(page, 1400, "#sign")

    assert held(page) == 1


@pytest.mark.parametrize("key", ["Enter", "Space"])
def test_two_presses_of_a_key_record_once(page: Page, key: str) -> None:
    page.focus("#act")
    page.keyboard.press(key)
    assert said(page) == "Press again to confirm: Bracket 14 done"
    page.wait_for_timeout(600)
    page.keyboard.press(key)

    assert held(page) == 1


def test_a_third_press_after_two_fast_ones_records_once(page: Page) -> None:
    enter_twice_fast(page)
    page.wait_for_timeout(500)
    page.keyboard.press("Enter")

    assert held(page) == 1


def test_a_finger_lifted_early_is_told_that_nothing_was_saved(page: Page) -> None:
    press(page, 300)

    assert said(page) == "Held too short. Not saved."


def test_an_off_button_says_why(page: Page) -> None:
    page.focus("#off")
    page.keyboard.press("Enter")

    assert "Opens at 10:53:25" in said(page)
