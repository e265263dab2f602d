"""The bench in a real browser: what a finger meets, what the bar says, what happens without a link.

The pages are drawn by the real templates and served under the real content policy; the server behind
them is a stand-in that answers the watch as each test wants it.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, expect, sync_playwright

from app.procedure.model import Step
from app.settings import data_folder
from app.web.guards import POLICY
from tests.browser.test_hold import ARGUMENTS, over
from tests.conftest import needs
from tests.web.test_templates import QP4, At, bench, drawn, qp4_scene

SIZES = ((1180, 820), (820, 1180), (390, 844))
FLOOR = 56  # CSS px, for thin gloves
SMALL = """floor => [...document.querySelectorAll('a[href]:not(.skip), button, input, select, summary')]
  .filter(e => e.offsetParent && !['radio', 'checkbox', 'file', 'hidden'].includes(e.type))
  .map(e => [e, (e.closest('.field') ?? e).getBoundingClientRect()])
  .filter(([, box]) => box.height < floor || box.width < floor)
  .map(([e, box]) => `${e.textContent.trim().slice(0, 30)} ${Math.round(box.width)}x${Math.round(box.height)}`)"""


@dataclass(slots=True)
class Recorder:
    """The stand-in for the server: pages by address, and what the watch says."""

    pages: dict[str, str] = field(default_factory=dict)
    seq: int = 0
    stopped: bool = False
    linked: bool = True
    posted: list[str] = field(default_factory=list)
    address: str = ""

    def shows(self, step: Step) -> str:
        """Draw a step that is open, and return its address."""
        view = bench(qp4_scene(before=step), At(("JB",), "JB"), step.id)
        path = f"/{step.id}"
        self.pages[path] = drawn(view)
        self.seq = view.seq
        return self.address + path


def serve(recorder: Recorder) -> ThreadingHTTPServer:
    class Served(SimpleHTTPRequestHandler):
        def do_GET(self) -> None:
            path = self.path.partition("?")[0]
            if path in recorder.pages:
                self.answer(recorder.pages[path].encode(), "text/html; charset=utf-8")
            elif path.startswith("/static/"):
                self.path = path.removeprefix("/static")
                super().do_GET()
            elif path.endswith("/watch") and recorder.linked:
                told = {"seq": recorder.seq, "stopped": recorder.stopped}
                self.answer(json.dumps(told).encode(), "application/json")
            else:
                self.answer(b"", "text/plain", 503)

        def do_POST(self) -> None:
            recorder.posted.append(self.path)
            self.answer(b"", "text/plain", 503)

        def answer(self, body: bytes, kind: str, status: int = 200) -> None:
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def end_headers(self) -> None:
            self.send_header("Content-Security-Policy", POLICY)
            super().end_headers()

        def log_message(self, *_: object) -> None:
            """Say nothing."""

        def __init__(self, *given: object) -> None:
            super().__init__(*given, directory=str(data_folder("static")))  # type: ignore[arg-type]

    return ThreadingHTTPServer(("127.0.0.1", 0), Served)


@pytest.fixture
def recorder() -> Iterator[Recorder]:
    made = Recorder()
    server = serve(made)
    made.address = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield made
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
def page(browser: Browser) -> Iterator[Page]:
    opened = browser.new_page(viewport={"width": 1180, "height": 820})
    opened.set_default_timeout(8000)
    yield opened
    opened.close()


def step_of(kind: str) -> Step:
    return next(step for step in QP4.steps if step.kind == kind)


def linked(page: Page) -> None:
    expect(page.locator(".strip__link")).to_have_attribute("data-state", "linked")


@pytest.mark.parametrize("kind", sorted({step.kind for step in QP4.steps}))
def test_every_control_is_a_gloved_finger_high_and_nothing_runs_off_the_side(
    recorder: Recorder, page: Page, kind: str
) -> None:
    against: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            against.append(message.text)

    page.on("console", heard)
    address = recorder.shows(step_of(kind))
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.goto(address)
        assert page.evaluate(SMALL, FLOOR) == [], (width, height)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (width, height)
        bar = page.locator(".actbar__act").bounding_box()
        assert bar is not None
        assert bar["height"] >= (76 if width == 390 else 88)
        assert bar["y"] + bar["height"] <= height
    assert against == []


def test_the_bar_says_the_value_that_it_will_record(recorder: Recorder, page: Page) -> None:
    page.goto(recorder.shows(step_of("reading")))
    linked(page)
    unit = page.locator("input[data-number]").get_attribute("data-unit")
    for key in ("2", "3", ".", "6"):
        page.locator(f'[data-key="{key}"]').click()
    assert page.locator("input[data-number]").input_value() == "23.6"
    assert page.locator("[data-echo]").inner_text() == f"Record 23.6 {unit}"

    page.locator('[data-key="rub"]').click()
    page.locator('[data-key="rub"]').click()
    assert page.locator("input[data-number]").input_value() == "23"
    page.locator('[data-key="clear"]').click()
    assert page.locator("[data-echo]").inner_text() == page.locator("[data-echo]").get_attribute(
        "data-echo"
    )


def test_the_map_turns_and_is_never_mirrored(recorder: Recorder, page: Page) -> None:
    page.goto(recorder.shows(next(s for s in QP4.steps if s.id == "brackets-off")))
    for by in (90, 180, 270, 0):
        page.locator("[data-turn-map]").click()
        turn = page.locator(".map__turn").get_attribute("transform")
        assert turn == f"rotate({by} 280 280)"


def test_without_a_link_nothing_can_be_recorded_and_the_page_says_so(
    recorder: Recorder, page: Page
) -> None:
    page.goto(recorder.shows(step_of("reading")))
    linked(page)
    recorder.linked = False
    expect(page.locator(".strip__link")).to_have_attribute("data-state", "lost")
    act = page.locator(".actbar__act")
    expect(act).to_have_attribute("aria-disabled", "true")
    expect(act).to_contain_text("Off: no link to the recorder")
    expect(page.locator(".lost")).to_be_visible()

    over(page, ".actbar__act")
    page.mouse.down()
    page.wait_for_timeout(900)
    page.mouse.up()
    assert recorder.posted == []

    recorder.linked = True
    linked(page)
    expect(act).not_to_have_attribute("aria-disabled", "true")


def test_a_press_without_an_answer_is_said_to_be_not_known_and_can_be_repeated(
    recorder: Recorder, page: Page
) -> None:
    page.goto(recorder.shows(step_of("reading")))
    linked(page)
    page.locator('[data-key="7"]').click()
    key = page.locator('#entry input[name="key"]').input_value()
    for count in (1, 2):
        over(page, ".actbar__act")
        page.mouse.down()
        page.wait_for_timeout(900)
        page.mouse.up()
        expect(page.locator("#unsure")).to_contain_text("It is not known whether it was saved.")
        assert len(recorder.posted) == count

    assert page.locator("input[data-number]").input_value() == "7"
    assert page.locator('#entry input[name="key"]').input_value() == key


def test_a_form_in_use_is_not_swapped_when_another_tablet_changes_something(
    recorder: Recorder, page: Page
) -> None:
    page.goto(recorder.shows(step_of("reading")))
    linked(page)
    page.locator('[data-key="7"]').click()
    recorder.seq += 1
    expect(page.locator("#changed")).to_be_visible()

    assert page.locator("input[data-number]").input_value() == "7"


def test_a_stop_elsewhere_covers_the_page_at_once(recorder: Recorder, page: Page) -> None:
    page.goto(recorder.shows(step_of("reading")))
    linked(page)
    page.locator('[data-key="7"]').click()
    recorder.stopped = True
    expect(page.locator("#halt")).to_be_visible()
    expect(page.locator("#halt")).to_contain_text("WORK IS STOPPED")

    recorder.stopped = False
    expect(page.locator("#halt")).to_be_hidden()
    assert page.locator("input[data-number]").input_value() == "7"


def test_a_stop_without_a_link_shows_what_to_do_and_is_sent_again_and_again(
    recorder: Recorder, page: Page
) -> None:
    page.goto(recorder.shows(step_of("reading")))
    page.locator(".stopbtn").click()
    expect(page.locator("#halt")).to_be_visible()
    expect(page.locator("#halt")).to_contain_text("Not sent yet: say it out loud and by radio.")
    page.wait_for_timeout(2500)

    assert len(recorder.posted) >= 2
    assert {path.rpartition("/")[2] for path in recorder.posted} == {"stop"}
