"""The lead's pages in a real browser: a text is brought, judged, reviewed, released, read; a run ends."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import FilePayload, Page, ViewportSize, expect, sync_playwright

from app.desk.demo.people import BY_ID
from app.desk.demo.shift import Clock
from app.desk.demo.site import found
from app.desk.desk import Desk
from app.procedure.model import Procedure
from app.settings import data_folder
from tests.browser.crew import Hands, MovedClock, chromium, server

NAME = "QP-4"
SIZES = {
    "1180x820": ViewportSize(width=1180, height=820),
    "820x1180": ViewportSize(width=820, height=1180),
    "390x844": ViewportSize(width=390, height=844),
}
FIRST = SIZES["1180x820"]


@dataclass(frozen=True, slots=True)
class Room:
    """A site with its server, and a lead's desk at it."""

    desk: Desk
    hands: Hands
    address: str

    @property
    def page(self) -> Page:
        return self.hands.page

    def go(self, path: str) -> None:
        self.page.goto(f"{self.address}{path}")

    def sign(self, form: str, person: str) -> None:
        """Put a person's name and secret to a form, then hold its bar."""
        if self.page.locator(f"select#{form}-person").count():
            self.page.select_option(f"#{form}-person", person)
        self.page.fill(f"#{form}-secret", BY_ID[person].secret)
        self.hands.hold(f"button[form={form}][data-rank=sign]")

    def bring(self, text: str, person: str) -> None:
        """Bring a text as a file."""
        self.go("/procedures")
        if not self.page.locator("#toml").is_visible():
            self.page.click("summary:has-text('Bring a new text')")
        file = FilePayload(name="QP-4.toml", mimeType="application/toml", buffer=text.encode())
        self.page.set_input_files("#toml", files=[file])
        self.sign("bring", person)


def procedure() -> str:
    return (data_folder("procedures") / "QP-4.toml").read_text()


def next_text() -> str:
    """Return QP-4 with a tighter limit, as its next revision."""
    text = procedure()
    revision = int(text.partition("\nrevision = ")[2].split("\n")[0].split("#")[0])
    raised = text.replace(f"\nrevision = {revision}", f"\nrevision = {revision + 1}")
    changed = raised.replace("at_most = 22", "at_most = 21", 1)
    assert changed != raised
    return changed


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    clock = MovedClock()
    found(tmp_path / "site", data_folder("procedures"), Clock(clock()))
    desk = Desk.open(tmp_path / "site", clock=clock)
    with server(desk) as address, sync_playwright() as playwright:
        browser = chromium(playwright)
        hands = Hands(browser.new_context(viewport=FIRST), address, desk)
        yield Room(desk, hands, address)
        assert hands.complaints == []
        browser.close()


def current(room: Room) -> Procedure:
    """Return the released procedure."""
    released = next(each for each in room.desk.released() if each.id == NAME)
    return room.desk.procedure(released)


def look(room: Room, name: str) -> None:
    """Look at a page in every size and two themes: nothing runs out of it sideways."""
    here = room.page.url
    for theme in ("day", "dome"):
        set_theme(room, theme)
        for size, viewport in SIZES.items():
            room.page.set_viewport_size(viewport)
            room.page.goto(here)
            wide = room.page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert wide <= 0, f"{name} at {size}, {theme}: {wide} px too wide"
            if folder := os.environ.get("PICTURES"):
                file = Path(folder) / f"{name}-{size}-{theme}.png"
                room.page.screenshot(path=file, full_page=True)
    set_theme(room, "day")
    room.page.set_viewport_size(FIRST)
    room.page.goto(here)


def set_theme(room: Room, theme: str) -> None:
    answer = room.page.request.post(
        f"{room.address}/settings",
        form={"theme": theme, "size": "plain", "back": "/"},
        headers={"Origin": room.address},
    )
    assert answer.ok


def test_a_text_goes_from_its_author_to_the_crew(room: Room) -> None:
    page = room.page
    room.hands.sign_on("NA")
    before = room.desk.release_desk.book(NAME)
    assert before is not None
    assert before.last is not None

    # The same revision with another text: refused, with the difference.
    room.bring(procedure().replace("at_most = 22", "at_most = 29", 1), "JB")
    expect(page.locator("#told")).to_contain_text("is released, and this text is another one")
    expect(page.locator("pre")).to_contain_text("+at_most = 29")
    look(room, "procedures")

    # A text with a fault: taken as a draft, shown with its lines, not to be released.
    before_it, critical, after_it = next_text().partition("critical = true")
    room.bring(before_it + critical + after_it.replace("back_out =", "# back_out =", 1), "JB")
    expect(page.locator("h1")).to_contain_text("Cannot be released. 1 fault")
    expect(page.locator("button:has-text('Release it')")).to_have_attribute("aria-disabled", "true")
    expect(page.locator("pre mark")).to_have_count(1)
    look(room, "report-faulty")

    # The mended text: reviewed by the supervisor, released by the lead.
    room.bring(next_text(), "JB")
    expect(page.locator("h1")).to_contain_text("Can be released. No fault")
    expect(page.locator("button:has-text('Release it')")).to_contain_text("Nobody has reviewed")
    look(room, "report")
    page.fill("#note", "Read against the sensor's own limit.")
    room.sign("review", "TW")
    expect(page.locator("button:has-text('Release it')")).not_to_contain_text("Off:")
    room.sign("release", "NA")
    expect(page.locator("h1")).to_contain_text("is released")
    book = room.desk.release_desk.book(NAME)
    assert book is not None
    assert book.current is not None
    assert book.current.revision == before.last.revision + 1
    assert book.current.weight == "major"

    # Nobody acts before they have read what changed.
    room.go("/procedures")
    expect(page.locator("h1")).to_contain_text("Read what is new before you act")
    page.click("a:has-text('Read what changed')")
    expect(page.locator("main")).to_contain_text("18 to 22 degC → 18 to 21 degC")
    look(room, "acknowledge")
    room.sign("acknowledge", "NA")
    expect(page.locator("h1")).to_contain_text("released")
    after = room.desk.release_desk.book(NAME)
    assert after is not None
    assert after.to_read("NA", book.current.revision) == 0


def test_every_step_is_previewed_and_the_report_stands_in_every_size(room: Room) -> None:
    page = room.page
    room.hands.sign_on("NA")
    room.go(f"/procedures/{NAME}")
    expect(page.locator("h1")).to_contain_text("is released")
    page.click("summary:has-text('See each step')")
    ways = [a.get_attribute("href") for a in page.locator("a:has-text('Preview')").all()]
    assert len(ways) == len(current(room).steps)
    look(room, "report-released")

    for way in ways[:: max(1, len(ways) // 6)]:
        room.go(str(way))
        expect(page.locator(".preview > b")).to_have_text("PREVIEW")
        assert page.locator("form#entry input:not([type=hidden]):enabled").count() == 0
        assert page.locator("[hx-post]").count() == 0
    room.go(next(str(way) for way in ways if "hall-air" in str(way)))
    look(room, "preview")


def test_a_technician_is_not_shown_the_report_and_releases_nothing(room: Room) -> None:
    page = room.page
    room.hands.sign_on("JB")

    room.go("/procedures")
    expect(page.locator(f"h2:has-text('{NAME}')")).to_be_visible()
    assert page.locator("a:has-text('Check report')").count() == 0
    room.go(f"/procedures/{NAME}")

    expect(page.locator("main")).to_contain_text("read by its author, and by those who review")
    assert page.locator("button:has-text('Release it')").count() == 0


def test_the_lead_changes_a_run_and_ends_it_unfinished(room: Room) -> None:
    page = room.page
    room.hands.sign_on("NA")
    answer = page.request.post(
        f"{room.address}/runs",
        form={"procedure": NAME, "person": "NA", "secret": BY_ID["NA"].secret},
        headers={"Origin": room.address, "Accept": "application/json"},
    )
    run = str(answer.json()["run"])
    room.go("/")
    page.click("a:has-text('Change this run')")
    page.locator("a.btn:has-text('Change')").last.click()
    expect(page.locator("#lines")).to_be_visible()
    old = page.input_value("#lines")
    page.fill("#lines", old.replace('do = "', 'do = "Slowly: ', 1))
    page.fill("#reason", "The hall is being painted.")
    step = page.locator("input[name=step]").get_attribute("value")
    assert step
    page.select_option("#until_step", step)
    look_typed = page.input_value("#lines")
    assert look_typed != old
    page.select_option("#change-second", "TW")
    page.fill("#change-second-secret", BY_ID["TW"].secret)
    room.sign("change", "NA")
    page.wait_for_url(f"**/runs/{run}")
    seen = room.desk.run(run)
    assert seen is not None
    changed = seen.procedure.step(step)
    assert changed is not None
    assert changed.do.startswith("Slowly: ")

    room.go(f"/runs/{run}/change?step={step}")
    look(room, "change")
    room.go(f"/runs/{run}/abandon")
    look(room, "abandon")
    page.fill("#reason", "The crane is out of service.")
    page.fill("#state", "On the cell, covered, doors shut.")
    page.select_option("#abandon-second", "TW")
    page.fill("#abandon-second-secret", BY_ID["TW"].secret)
    room.sign("abandon", "NA")
    page.wait_for_url(f"**/records/{run}")
    expect(page.locator("h1")).to_contain_text("Not finished")
