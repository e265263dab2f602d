"""QP-4 from sign-on to the downloaded record, in a real browser, by seven people.

One count differs and all three count again; one hook is out of limit, then right; the supervisor
refuses the hold once; a value is corrected after it was countersigned; work is stopped and
restarted; and the record, verified, lists all of it.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright

from app.desk.demo.people import BY_ID, PEOPLE
from app.desk.demo.shift import Clock
from app.desk.demo.site import found
from app.desk.desk import Desk
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.record.verify import verify
from app.run.scene import needs_signatures
from app.settings import data_folder
from tests.browser.crew import PHONE, TABLET, Hands, MovedClock, chromium, server
from tests.conftest import needs

RUN = "R-0001"
AT_THE_TABLET = ("JB", "AN", "SH", "HR", "DP", "TW")
REFUSED_BECAUSE = "Pad 9 still touches the edge."
CORRECTED_BECAUSE = "Read the display of the next cell."
STOPPED_BECAUSE = "A scrape from the crane."


@pytest.fixture
def desk(tmp_path: Path) -> tuple[Desk, MovedClock]:
    """Return the desk of a new site of the demo's people, and its clock."""
    clock = MovedClock()
    found(tmp_path / "site", data_folder("procedures"), Clock(clock()))
    opened = Desk.open(tmp_path / "site", clock=clock)
    return opened, clock  # the server closes the desk when it ends


class Work:
    """The crew's way through QP-4."""

    def __init__(self, desk: Desk, clock: MovedClock, tablet: Hands, phone: Hands) -> None:
        self.desk, self.clock, self.tablet, self.phone = desk, clock, tablet, phone
        self.entering = ""

    def step(self, name: str) -> Step:
        seen = self.desk.run(RUN)
        assert seen is not None
        step = seen.procedure.step(name)
        assert step is not None, name
        return step

    def done(self, name: str) -> bool:
        return self.tablet.seen(RUN).state.progress(name).done

    def give_to(self, person: str) -> None:
        """Let a person enter at the tablet."""
        if self.entering != person:
            self.tablet.hands(person)
            self.entering = person
        self.tablet.open_bench(RUN)

    def take_the_phone(self) -> None:
        """Sign on again at the phone: nobody has touched it for longer than it waits."""
        self.phone.sign_on("NA")

    def who(self, step: Step) -> list[str]:
        """Choose people for a step's seats, each once."""
        chosen: list[str] = []
        for role in step.seats:
            chosen.append(
                next(p.id for p in PEOPLE if p.briefed and role in p.roles and p.id not in chosen)
            )
        return chosen

    def fill_parts(self, step: Step) -> None:
        """Enter every part of the open step, in order."""
        seen = self.tablet.seen(RUN)
        for part in kind_of(step).parts(step, self.desk.circumstances(seen, "")):
            if part == "stop":
                self.clock.wait(minutes=5, seconds=5)
                self.tablet.open_bench(RUN)  # the page's clock is the server's as it was drawn
            self.tablet.enter(RUN, step, part)

    def work(self, name: str) -> None:
        """Do a whole step as its seats and its check demand."""
        step, people = self.step(name), self.who(self.step(name))
        if step.check == "independent":
            for person in people:
                self.clock.wait(seconds=step.apart.total_seconds() + 1)
                self.give_to(person)
                self.fill_parts(step)
                self.tablet.sign_with(RUN, person)
        elif step.check == "before":
            self.give_to(people[0])
            for person in people:
                self.tablet.sign_with(RUN, person)
            self.fill_parts(step)
        else:
            self.give_to(people[0])
            self.fill_parts(step)
            for person in people if needs_signatures(step) else ():
                self.tablet.sign_with(RUN, person)
        assert self.done(name), name

    def brief(self) -> None:
        """Brief everyone, each with their own secret; the supervisor closes it."""
        self.give_to("TW")
        for person in ("JB", "AN", "SH", "HR", "DP", "NA", "TW"):
            before = self.tablet.seen(RUN).state.seq
            self.tablet.page.select_option("#entry-person", person)
            self.tablet.page.fill("#entry-secret", BY_ID[person].secret)
            self.tablet.hold()
            self.tablet.settle(before)
        self.tablet.sign_with(RUN, "TW")
        assert self.done("briefing")

    def count(self, *numbers: str) -> None:
        """Let three technicians count, apart."""
        step = self.step("brackets-gone")
        for person, number in zip(("JB", "AN", "SH"), numbers, strict=True):
            self.clock.wait(minutes=2, seconds=2)
            self.give_to(person)
            self.tablet.seal_count(RUN, step, person, count=number)

    def hold_with_two(self) -> None:
        """Let two technicians sign the hold at the tablet."""
        self.give_to("JB")
        self.tablet.sign_with(RUN, "JB")
        self.tablet.sign_with(RUN, "AN")

    def stop_and_restart(self) -> None:
        """Stop work at the tablet; two people restart it."""
        page = self.tablet.page
        page.locator("button.stopbtn, .stopbtn button, [aria-label='Stop work']").first.click()
        page.wait_for_url("**/stopped*")
        expect(page.get_by_role("heading", level=1)).to_contain_text("STOPPED")
        expect(self.phone.page.locator("body")).to_contain_text(
            "Work is stopped", ignore_case=True, timeout=9000
        )
        for person in ("DP", "TW"):
            page.goto(f"{self.tablet.address}/runs/{RUN}/stopped")
            for line in page.locator("input[type=checkbox][name=confirmed]").all():
                line.check()
            page.fill("[name=reason]", STOPPED_BECAUSE)
            self.tablet._own("restart", person)
            self.tablet.hold("button.act[form=restart]")
        page.wait_for_url(f"**/runs/{RUN}")
        assert self.tablet.seen(RUN).state.stop is None


@pytest.mark.timeout(1200)
def test_a_crew_carries_qp4_from_sign_on_to_the_downloaded_record(
    desk: tuple[Desk, MovedClock], tmp_path: Path
) -> None:
    with server(desk[0]) as address, sync_playwright() as playwright:
        browser = chromium(playwright)
        tablet = Hands(browser.new_context(viewport=TABLET), address, desk[0])  # type: ignore[arg-type]
        phone = Hands(browser.new_context(viewport=PHONE), address, desk[0])  # type: ignore[arg-type]
        work = Work(*desk, tablet, phone)

        for person in AT_THE_TABLET:
            tablet.sign_on(person)
        work.entering = AT_THE_TABLET[-1]
        phone.sign_on("NA")

        _open(work)
        work.brief()
        for name in (
            "hall-air",
            "dew-margin",
            "cover-off",
            "axial-forces",
            "laterals-unloaded",
            "laterals-off",
            "brackets-off",
            "tray-count",
        ):
            work.work(name)
        _counts(work)
        work.work("brackets-reconciled")
        work.work("brackets-seen")
        _hold(work)
        for name in ("serials", "cells-zeroed", "hooks-engaged", "cutoff-set"):
            work.work(name)
        _go_corrected(work)
        for name in ("floor-clear", "load-tenth", "load-half"):
            work.work(name)
        work.take_the_phone()
        phone.open_bench(RUN)
        work.give_to("SH")
        work.stop_and_restart()
        work.work("load-nine-tenths")
        work.work("gauges")
        _one_hook_out(work)
        for name in ("nothing-stuck", "load-centre", "hold-in-air", "look-under", "raise"):
            work.work(name)
        work.work("cell-away")
        _close(work)
        pdf = _download(Hands(browser.new_context(viewport=TABLET), address, desk[0]), tmp_path)  # type: ignore[arg-type]

        assert tablet.presses_again + phone.presses_again < 5  # of some two hundred
        assert tablet.complaints == []
        assert phone.complaints == []

    _record_lists_all(pdf)


def _open(work: Work) -> None:
    page = work.tablet.page
    page.goto(f"{work.tablet.address}/today")
    page.check("[name=procedure][value='QP-4']")
    work.tablet._own("open", "TW")
    work.tablet.hold("button.act[form=open]")
    page.wait_for_url(f"**/runs/{RUN}*")


def _counts(work: Work) -> None:
    work.count("0", "1", "0")
    progress = work.tablet.seen(RUN).state.progress("brackets-gone")
    assert (progress.done, progress.round) == (False, 2)
    expect(work.tablet.page.locator("#bench")).to_contain_text(
        "The entries do not settle it. Everyone does it again"
    )
    work.count("0", "0", "0")
    assert work.done("brackets-gone")


def _hold(work: Work) -> None:
    work.hold_with_two()
    work.take_the_phone()
    work.phone.page.goto(f"{work.phone.address}/holds")
    expect(work.phone.page.locator("main")).to_contain_text(RUN)
    work.tablet.refuse(RUN, "released", "TW", REFUSED_BECAUSE)
    assert not work.done("released")
    assert work.tablet.seen(RUN).state.progress("released").signatures == ()
    work.tablet.open_bench(RUN)
    expect(work.tablet.page.locator("#bench")).to_contain_text(REFUSED_BECAUSE)
    work.hold_with_two()
    work.tablet.countersign(RUN, "released", "TW")
    assert work.done("released")


def _go_corrected(work: Work) -> None:
    work.take_the_phone()
    work.phone.countersign(RUN, "go", "NA")
    assert work.done("go")
    entry = next(
        e for e in work.tablet.seen(RUN).state.progress("cells-zeroed").live() if e.part == "H2"
    )
    work.give_to(entry.by)
    page = work.tablet.page
    page.goto(f"{work.tablet.address}/runs/{RUN}/entries/{entry.number}/correct")
    expect(page.locator("main")).to_contain_text("What falls with it")
    page.check(f"[name='values.result'][value='{entry.values['result']}']")
    page.fill("input[name='values.value']", "0.07")
    _say_why(work, CORRECTED_BECAUSE)
    work.tablet._own("correct", entry.by)
    work.tablet.hold("button.act[form=correct]")
    assert not work.done("go")
    work.take_the_phone()
    work.phone.countersign(RUN, "go", "NA")
    assert work.done("go")


def _say_why(work: Work, reason: str) -> None:
    page = work.tablet.page
    page.locator(
        "textarea[name=reason], input[name=reason][type=text], [name=own_reason]"
    ).last.fill(reason)


def _one_hook_out(work: Work) -> None:
    step = work.step("hook-shares")
    people = work.who(step)
    work.give_to(people[0])
    for person in people:
        work.tablet.sign_with(RUN, person)
    first = next(
        f.name
        for f in kind_of(step)
        .card(step, "", work.desk.circumstances(work.tablet.seen(RUN), ""))
        .fields
    )
    work.tablet.enter(RUN, step, **{first: "7.20"})
    assert not work.done("hook-shares")
    expect(work.tablet.page.locator("#bench")).to_contain_text("High")
    work.tablet.enter(RUN, step)
    assert work.done("hook-shares")


def _close(work: Work) -> None:
    page = work.tablet.page
    page.goto(f"{work.tablet.address}/runs/{RUN}/close")
    work.tablet._own("close", "TW")
    work.tablet.hold("button.act[form=close]")
    assert work.tablet.seen(RUN).state.status == "closed"


def _download(auditor: Hands, folder: Path) -> Path:
    auditor.sign_on("BQ")
    page = auditor.page
    link = page.locator("a[href$='record.pdf']")
    for _ in range(60):
        page.goto(f"{auditor.address}/records/{RUN}")
        if link.count():
            break
        page.wait_for_timeout(500)
    with page.expect_download() as waiting:
        link.first.click()
    path = folder / "record.pdf"
    waiting.value.save_as(str(path))
    return path


def _record_lists_all(pdf: Path) -> None:
    report = verify(pdf.read_bytes())
    assert report.ok, report.sentences
    text = subprocess.run(
        [needs("pdftotext"), "-layout", str(pdf), "-"], capture_output=True, text=True, check=True
    ).stdout
    flat = " ".join(text.split())
    for said in (REFUSED_BECAUSE, CORRECTED_BECAUSE, STOPPED_BECAUSE, "7.20", "0.07"):
        assert said in flat, said
    for person in ("JB", "AN", "SH", "HR", "DP", "NA", "TW"):
        assert BY_ID[person].name in flat, person
