"""Every kind of step entered with a finger, on a tablet and on a phone, in a real browser."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from app.desk.desk import Desk
from app.procedure.attached import attached_fields
from app.procedure.registry import kind_of
from tests.browser.crew import PHONE, TABLET, Hands, chromium, server
from tests.browser.looked import findings
from tests.desk.conftest import SECRETS, Clock
from tests.screens.test_every_kind import ACTS, Act, open_site

RUN = "R-0001"
UNTOUCHED = 10  # minutes
KEPT = tuple(act for act in ACTS if act[3] == "")
WAYS: tuple[Act, ...] = (
    ("decide", "", {"branch": "wash again", "why": "A run mark"}, "", 0),
    ("wash", "", {}, "", 0),
    ("things-back", "TW-03 wrench", {"result": "back"}, "", 0),
    ("things-back", "HX-11 hex key", {"result": "back"}, "", 0),
    ("things-back", "sponges", {"result": "back", "count": "40"}, "", 0),
    ("locks-off", "Q4 drive breaker", {"lock": "14"}, "", 0),
    ("locks-off", "V2 coolant valve", {"lock": "15"}, "", 0),
)

__all__ = ["open_site"]
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def browser(open_site: Path) -> Iterator[Browser]:  # noqa: ARG001 - made first: it runs a loop
    with sync_playwright() as playwright:
        opened = chromium(playwright)
        yield opened
        opened.close()


class Glove(Hands):
    """A hand that knows what to press on each card."""

    def comes(self, person: str) -> None:
        """Sign a person of this site on."""
        self.page.goto(f"{self.address}/sign-on")
        self.page.select_option("#sign-on-person", person)
        self.page.fill("#sign-on-secret", SECRETS[person])
        self.page.click("button.act[form=sign-on]")
        expect(self.page.get_by_text(f"{person} entering").first).to_be_visible()

    looked: tuple[str, ...] = ()  # the steps whose card axe has seen
    found: tuple[str, ...] = ()

    def put(self, act: Act) -> None:
        """Open the part, let axe look at the first of each step, type, press and hold."""
        step_id, part, values, _, _ = act
        seen = self.seen(RUN)
        step = seen.procedure.step(step_id)
        assert step is not None
        self.page.goto(f"{self.address}/runs/{RUN}/steps/{step_id}?part={part}")
        if step_id not in self.looked:
            self.looked += (step_id,)
            self.found += tuple(findings(self.page, step_id))
        at = self.desk.circumstances(seen, "AB")
        fields = (*kind_of(step).card(step, part, at).fields, *attached_fields(step, at.tools))
        for field in fields:
            self._type(step, part, field, values.get(field.name))
        assert self.page.evaluate("document.documentElement.scrollWidth <= innerWidth"), act
        self.hold()
        self.settle(seen.state.seq)

    def signs(self, step: str, person: str) -> None:
        """Sign the next seat of a step as a person."""
        before = self.seen(RUN).state.seq
        self.page.goto(f"{self.address}/runs/{RUN}/steps/{step}")
        if self.page.locator("select#sign-person").count():
            self.page.select_option("#sign-person", person)
        self.page.fill("#sign-secret", SECRETS[person])
        self.hold()
        self.settle(before)


@pytest.mark.parametrize("room", [TABLET, PHONE], ids=["tablet", "phone"])
def test_every_kind_is_entered_with_a_finger(
    browser: Browser, open_site: Path, tmp_path: Path, room: dict[str, int]
) -> None:
    folder = shutil.copytree(open_site, tmp_path / "site")
    clock = Clock()
    desk = Desk.open(Path(folder), clock=clock)
    with server(desk) as address:
        context = browser.new_context(viewport=room)  # type: ignore[arg-type]
        hand = Glove(context, address, desk)
        for person in ("SL", "HL", "AB"):  # all at one tablet; AB comes last and enters
            hand.comes(person)
        for act in KEPT:
            minutes = act[4] if act[0] != "pressure" or act[1] == "1" else 30
            clock.wait(minutes=minutes)
            if minutes >= UNTOUCHED:
                hand.comes("AB")  # the tablet lay untouched, and asks who it is
            hand.put(act)
        hand.hands("SL")
        hand.put(("change-of-shift", "", {"state": "Dry and quiet"}, "", 0))
        hand.signs("change-of-shift", "SL")
        hand.signs("change-of-shift", "HL")
        hand.hands("AB")
        for act in WAYS:
            hand.put(act)
            if act[0] == "decide":
                hand.signs("decide", "AB")
                hand.signs("decide", "HL")

        state = hand.seen(RUN).state
        left = [s.id for s in hand.seen(RUN).procedure.steps if not state.progress(s.id).done]
        context.close()
    assert left == ["strip"]
    assert hand.complaints == []
    assert hand.found == ()


def told(page: Page) -> str:
    return page.locator("#told").inner_text()


def test_a_bolt_out_of_turn_cannot_be_pressed(
    browser: Browser, open_site: Path, tmp_path: Path
) -> None:
    desk = Desk.open(Path(shutil.copytree(open_site, tmp_path / "site")), clock=Clock())
    with server(desk) as address:
        context = browser.new_context(viewport=TABLET)  # type: ignore[arg-type]
        hand = Glove(context, address, desk)
        hand.comes("AB")
        for act in KEPT:
            if act[0] == "ring-bolts":
                break
            hand.put(act)
        hand.page.goto(f"{address}/runs/{RUN}/steps/ring-bolts?part=3, pass 1")

        bar = hand.page.locator(".actbar__act")
        expect(bar).to_have_attribute("aria-disabled", "true")
        expect(bar).to_contain_text("Bolt 3 is not next. Tighten bolt 1 first.")
        hand.page.goto(f"{address}/runs/{RUN}/steps/ring-bolts")
        hand.page.locator('[data-key="9"]').click()
        hand.page.locator('[data-key="0"]').click()
        expect(hand.page.locator("[data-echo]")).to_have_text("Record 90 N m on bolt 1")
        hand.page.check("[name='values.tool'][value='TW-03']")
        hand.hold()
        assert "past its calibration date, 5 May 2027. Take TW-05" in told(hand.page)
        context.close()
