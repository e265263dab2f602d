"""A crew with a tablet and a phone in a real browser, at a real server whose clock can be moved."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import uvicorn
from playwright.sync_api import (
    Browser,
    BrowserContext,
    FilePayload,
    Locator,
    Page,
    Playwright,
    Request,
    TimeoutError,  # noqa: A004 - the browser driver's own
    expect,
)

from app.desk.demo.people import BY_ID
from app.desk.demo.photos import drawn_photo
from app.desk.demo.readings import typed
from app.desk.desk import Desk
from app.desk.seen import Seen
from app.procedure.attached import attached_fields
from app.procedure.kind import Field
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.web.app import create_app
from tests.conftest import needs

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
TABLET = {"width": 1180, "height": 820}
PHONE = {"width": 390, "height": 844}
LONG = 30_000  # ms: two cores are shared with whatever else runs
SOON = 4_000
PRESSES = 3


class MovedClock:
    """The machine's clock, moved on by what the tests wait."""

    def __init__(self) -> None:
        self._moved = timedelta(0)

    def __call__(self) -> datetime:
        return datetime.now(UTC) + self._moved

    def wait(self, **span: float) -> None:
        """Let time pass at once."""
        self._moved += timedelta(**span)


@contextmanager
def server(desk: Desk) -> Iterator[str]:
    """Run the real server at a desk in a thread; give its address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    config = uvicorn.Config(create_app(desk), host="127.0.0.1", port=port, log_level="warning")
    running = uvicorn.Server(config)
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    while not running.started:
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        running.should_exit = True
        thread.join(10)


def chromium(playwright: Playwright) -> Browser:
    """Start Debian's Chromium."""
    return playwright.chromium.launch(executable_path=needs("chromium"), args=list(FLAGS))


class Hands:
    """A page in people's hands: everything is done as a finger does it."""

    def __init__(self, context: BrowserContext, address: str, desk: Desk) -> None:
        self.page: Page = context.new_page()
        self.page.set_default_timeout(LONG)
        self.address = address
        self.desk = desk
        self.complaints: list[str] = []
        self.presses_again = 0
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("console", self._heard)

    def _heard(self, message: object) -> None:
        if getattr(message, "type", "") == "error" and "status of 4" not in str(message):
            self.complaints.append(str(message))

    # -- who

    def sign_on(self, person: str) -> None:
        """Sign a person on at this tablet."""
        self.page.goto(f"{self.address}/sign-on")
        self.page.select_option("#sign-on-person", person)
        self.page.fill("#sign-on-secret", BY_ID[person].secret)
        self.page.click("button.act[form=sign-on]")
        self.page.wait_for_url("**/*")
        expect(self.page.get_by_text(f"{person} entering").first).to_be_visible()

    def hands(self, person: str) -> None:
        """Change who is entering."""
        here = self.page.url
        self.page.goto(f"{self.address}/sign-on")
        self.page.click(f"button:text-is('{person} enters now')")
        expect(self.page.get_by_text(f"{person} entering").first).to_be_visible()
        self.page.goto(here)

    # -- pressing

    def hold(self, selector: str = "footer .act[data-hold]") -> None:
        """Press and hold a button until its bar is full, and wait for the answer.

        On a machine that does much else a press can fall on a page that is just being laid out anew.
        A person presses again; so does this hand, and `presses_again` says how often.
        """
        button = self.page.locator(selector).last
        for _ in range(PRESSES):
            expect(button).not_to_have_attribute("aria-disabled", "true", timeout=LONG)
            sent = self._pressed(button)
            if sent is not None:
                answer = sent.response()
                assert answer is not None, sent.url
                self.page.wait_for_timeout(30)
                return
            self.presses_again += 1
        raise AssertionError(f"{PRESSES} presses of {selector} sent nothing")

    def _pressed(self, button: Locator) -> Request | None:
        """Press once; return what was sent, None if nothing was."""
        button.scroll_into_view_if_needed()
        box = button.bounding_box()
        assert box is not None
        ms = int(button.get_attribute("data-hold") or "700")
        # Above the middle: a sticky bar may lie over a button's lower edge.
        self.page.mouse.move(box["x"] + box["width"] / 2, box["y"] + min(box["height"] / 2, 30))
        try:
            with self.page.expect_request(lambda r: r.method == "POST", timeout=ms + SOON) as sent:
                self.page.mouse.down()
                self.page.wait_for_timeout(ms + 60)
                self.page.mouse.up()
            return sent.value
        except TimeoutError:
            return None

    def settle(self, seq: int) -> None:
        """Wait until the page shows the run past an event."""
        self.page.wait_for_function(
            "n => Number(document.getElementById('bench')?.dataset.seq) > n", arg=seq
        )

    # -- the bench

    def seen(self, run: str) -> Seen:
        """Return the run as the server has it."""
        seen = self.desk.run(run)
        assert seen is not None
        return seen

    def open_bench(self, run: str) -> None:
        """Open the run's page at the step that is next."""
        self.page.goto(f"{self.address}/runs/{run}")

    def fill(self, step: Step, part: str, parts: Sequence[str], **instead: str) -> None:
        """Type what this crew reads into the fields of the open card."""
        at = self.desk.circumstances(self.seen(self.run_shown()), "")
        fields = (*kind_of(step).card(step, part, at).fields, *attached_fields(step, at.tools))
        for place, field in enumerate(fields):
            which = list(parts).index(part) if len(parts) > 1 else place
            value = instead.get(field.name, typed(step.id, field, which))
            self._type(step, part, field, value)

    def run_shown(self) -> str:
        """Return the number of the run whose page is open."""
        return self.page.url.split("/runs/")[1].split("/")[0].split("?")[0]

    def _type(self, step: Step, part: str, field: Field, value: str | None) -> None:
        name = f"[name='values.{field.name}']"
        if field.control == "photo":
            photo = drawn_photo(f"{step.id} {part}", self.run_shown())
            file = FilePayload(name="edge.jpg", mimeType="image/jpeg", buffer=photo)
            self.page.set_input_files(f"input{name}", files=[file])
        elif value is None:
            return
        elif field.control == "choice":
            self.page.check(f"{name}[value='{value}']")
        else:
            self.page.fill(f"input{name}", value)

    def enter(self, run: str, step: Step, part: str = "", **instead: str) -> None:
        """Enter one part of the open step with the bar."""
        parts = kind_of(step).parts(step, self.desk.circumstances(self.seen(run), ""))
        before = self.seen(run).state.seq
        self.fill(step, part, tuple(parts), **instead)
        self.hold()
        self.settle(before)

    def sign_with(self, run: str, person: str, form: str = "sign") -> None:
        """Sign the open step's next seat as a person, with their own secret."""
        before = self.seen(run).state.seq
        self._own(form, person)
        self.hold()
        self.settle(before)

    def _own(self, form: str, person: str) -> None:
        if self.page.locator(f"select#{form}-person").count():
            self.page.select_option(f"#{form}-person", person)
        self.page.fill(f"#{form}-secret", BY_ID[person].secret)

    def seal_count(self, run: str, step: Step, person: str, **instead: str) -> None:
        """Make and seal one person's own entry."""
        before = self.seen(run).state.seq
        self.fill(step, "", ("",), **instead)
        self._own("entry", person)
        self.hold()
        self.settle(before)

    def countersign(self, run: str, step: str, person: str) -> None:
        """Countersign a hold from the queue, at the mirror."""
        self.page.goto(f"{self.address}/runs/{run}/steps/{step}/countersign")
        self.page.check("[name=how][value='I stood at the mirror']")
        self._own("countersign", person)
        self.hold("#countersign > button.act")
        self._gone_on()

    def refuse(self, run: str, step: str, person: str, reason: str) -> None:
        """Refuse a hold, and say why."""
        self.page.goto(f"{self.address}/runs/{run}/steps/{step}/countersign")
        self._own("countersign", person)
        self.page.click("details > summary:has-text('Refuse')")
        self.page.fill("#reason", reason)
        self.hold("#countersign details button.act")
        self._gone_on()

    def _gone_on(self) -> None:
        """Wait until the page has gone on to the step: a signature that stands leaves its page."""
        self.page.wait_for_url(lambda url: "countersign" not in url)


def save(path: Path, page: Page) -> None:
    """Keep a picture of the page."""
    page.screenshot(path=str(path))
