"""A site with steps that a tablet may keep entries for, its server, and a tablet that loses its link."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.request import urlopen

from playwright.sync_api import BrowserContext, Page

from app.desk.desk import Desk, Done
from app.ledger.stored import Stored
from app.run.crew import Person
from tests.browser.crew import LONG
from tests.desk.conftest import SECRETS
from tests.run.stage import PEOPLE, SITE

ROOT = Path(__file__).parents[2]
RUN = "R-0001"
TOO_MUCH = 99  # m/s and more: kept as out of limit, and the step stays open for the next reading
ROUND = """
format = 1
id = "QP-8"
revision = 1
title = "A round of the hall"
asset = "primary"
purpose = "To look after the hall."
planned = "1 h"
safe_state = "Load on the supports."
crew = { technician = 1 }
starts_with = { load_on = "cell", brackets = 3 }
leaves = { load_on = "cell", brackets = 3 }

[[sections]]
title = "The round"

[[sections.steps]]
id = "wind"
kind = "reading"
do = "Read the gust at the mast."
reading = "gust"
unit = "m/s"
at_most = "9.0"

[[sections.steps]]
id = "lamps"
kind = "items"
do = "Look at each lamp."
layout = { shape = "ring", count = 6, label = "L{:02d}" }
results = ["lit", "dark"]

[[sections.steps]]
id = "doors"
kind = "tick"
do = "Shut the doors."

[[sections.steps]]
id = "edge"
kind = "photo"
do = "Take the edge."
views = ["north", "south"]

[[sections.steps]]
id = "lights"
kind = "tick"
do = "Switch off the lights."

[[sections.steps]]
id = "end"
kind = "hold"
do = "End the round."
statement = "The hall is in order."
evidence = ["wind", "lamps"]
sign = ["technician", "supervisor"]
"""


def found(folder: Path) -> Path:
    """Make a site with the round open."""
    people = [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()]
    texts = {"QP-8.toml": ROUND.encode()}
    Desk.found(folder, SITE.encode(), people, texts, reviewer="SL", releaser="HL")
    desk = Desk.open(folder)
    opening = desk.open_run("QP-8", by="SL", secret=SECRETS["SL"], key="open", device="")
    with ThreadPoolExecutor(1) as apart:  # the browser's driver has a loop running in this thread
        opened = apart.submit(asyncio.run, opening).result()
    desk.close()
    assert isinstance(opened, Done), opened
    return folder


def entries(events: list[Stored]) -> list[Stored]:
    """Return the entries of a run."""
    return [event for event in events if event.kind == "EntryMade"]


def recorded(folder: Path) -> list[Stored]:
    """Return the entries that a site's ledger holds; its server must have ended."""
    desk = Desk.open(folder)
    try:
        assert desk.ledger.verify() == []
        return entries(desk.ledger.read(f"run/{RUN}"))
    finally:
        desk.close()


def doubled(made: list[Stored]) -> int:
    """Return how many entries stand more than once."""
    return sum(count - 1 for count in Counter(each.key for each in made).values())


class Server:
    """The real server of a site in a process of its own, at one address for good."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.folder = folder
        self.address = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes]
        self.start()

    def start(self) -> None:
        """Start it, and wait until it answers."""
        command = ["-m", "app", "serve", "--folder", str(self.folder), "--port", str(self.port)]
        self.process = subprocess.Popen(
            [sys.executable, *command],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(600):
            with suppress(OSError), urlopen(f"{self.address}/sign-on", timeout=2):
                return
            time.sleep(0.05)
        raise AssertionError("the server did not start within 30 s")

    def signal(self, which: signal.Signals) -> None:
        """Send it a signal."""
        os.kill(self.process.pid, which)

    def kill(self) -> None:
        """Kill it with SIGKILL."""
        self.signal(signal.SIGKILL)
        self.process.wait()


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    """Run the server of a site; it is always ended."""
    server = Server(folder)
    try:
        yield server
    finally:
        if server.process.poll() is None:
            server.kill()


class Keeper:
    """A page on a tablet, in a hand that goes on working whatever the link does."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.page: Page = context.new_page()
        self.page.set_default_timeout(LONG)
        self.address = address
        self.made = 0
        self.said: set[str] = set()  # keys that the page ever called recorded

    def sign_on(self, person: str = "AB") -> None:
        """Sign a person on at this tablet."""
        self.page.goto(f"{self.address}/sign-on")
        self.page.select_option("#sign-on-person", person)
        self.page.fill("#sign-on-secret", SECRETS[person])
        self.page.click("button.act[form=sign-on]")
        self.page.get_by_text(f"{person} entering").first.wait_for()

    def open(self, step: str = "") -> None:
        """Open the run at the step that is next, or at the one named."""
        self.page.goto(f"{self.address}/runs/{RUN}" + (f"/steps/{step}" if step else ""))

    def until(self, what: str, seconds: float = 20) -> None:
        """Wait until an expression holds in the page; the content policy forbids the usual way."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if self.page.evaluate(what):
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"{what} did not come about. The page says: {self.words()}")

    def words(self) -> str:
        """Return what the page says of its entries."""
        return str(self.page.locator("#unlinked").inner_text())

    def shows_kept(self, count: int) -> None:
        """Wait until the page shows so many entries as kept on this tablet."""
        self.until(
            f"document.querySelectorAll('#unlinked [data-state=pending]').length === {count}"
        )

    def ready(self) -> None:
        """Wait until the page says that it can be used without the link."""
        self.until(
            "['yes','may'].includes(document.querySelector('[data-ready-words]').dataset.readyWords)"
        )

    def link(self, state: str) -> None:
        """Wait until the strip shows a state of the link."""
        self.until(f"document.querySelector('.strip__link').dataset.state === '{state}'")

    def press(self) -> None:
        """Press and hold the bar until it is full."""
        # The press is the keyboard's: two presses, without the time that a finger needs to move.
        self.until("!document.querySelector('[data-sent]')")
        act = self.page.locator(".actbar__act")
        act.focus()
        self.page.keyboard.press("Enter")
        self.page.wait_for_timeout(430)
        self.page.keyboard.press("Enter")
        self.made += 1

    def here(self) -> dict[str, Any]:
        """Return where the bench stands."""
        found: dict[str, Any] = self.page.evaluate(
            "({...document.getElementById('bench').dataset})"
        )
        return found

    def at_something_new(self) -> dict[str, Any]:
        """Wait until the bench stands where nothing is kept yet, and return where that is."""
        end = time.monotonic() + 20
        while time.monotonic() < end:
            bench, kept = self.here(), {(row["step"], row["part"]) for row in self.outbox()}
            if (bench["step"], bench["part"]) not in kept:
                return bench
            self.page.wait_for_timeout(50)
        raise AssertionError(f"the page did not go on. It says: {self.words()}")

    def read_wind(self, number: int) -> None:
        """Enter a reading that is above its limit, so that the step stays open for more."""
        self.page.fill("input[name='values.value']", f"{TOO_MUCH}.{number:03d}")
        self.press()

    def left(self) -> int:
        """Return how many entries are on the tablet and not known to be recorded."""
        return len(self.outbox())

    def outbox(self) -> list[dict[str, Any]]:
        """Return what the tablet's own database holds."""
        rows: list[dict[str, Any]] = self.page.evaluate(
            """() => new Promise(ok => { const r = indexedDB.open('mirrorwright');
            r.onsuccess = () => { const q = r.result.transaction('out').objectStore('out').getAll();
            q.onsuccess = () => { r.result.close(); ok(q.result.map(e => ({...e}))); }; }; })"""
        )
        return rows

    def look(self) -> None:
        """Remember every entry that the page calls recorded."""
        shown = self.page.locator("#unlinked [data-entry]").evaluate_all(
            "all => all.map(e => [e.dataset.entry, e.dataset.state, e.innerText])"
        )
        for key, state, words in shown:
            if state == "recorded" or "Recorded" in words:
                self.said.add(key)
            if state in ("pending", "behind"):
                assert "Recorded" not in words
                assert "Not in the record yet" in words or "Kept here" in words, words

    def sent(self, seconds: float = 30) -> None:
        """Wait until nothing is left on the tablet."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.look()
            rows = self.outbox()
            assert [row for row in rows if row["state"] == "parked"] == [], self.words()
            if not rows:
                return
            self.page.wait_for_timeout(60)
        raise AssertionError(f"still on the tablet: {self.words()}")


def says_only_what_is(keeper: Keeper, made: list[Stored]) -> None:
    """Compare what the page called recorded with the ledger."""
    assert keeper.said <= {each.key for each in made}


def kill_browser(profile: Path) -> None:
    """Kill with SIGKILL the browser that this test opened on a profile, and wait until it is gone."""
    lock = str(
        (profile / "SingletonLock").readlink()
    )  # host and process id, as the browser writes it
    browser = int(lock.rpartition("-")[2])
    os.kill(browser, signal.SIGKILL)
    for _ in range(200):
        if not Path(f"/proc/{browser}").exists() or _is_over(browser):
            return
        time.sleep(0.02)
    raise AssertionError("the browser was not killed within 4 s")


def _is_over(process: int) -> bool:
    with suppress(OSError):
        return ") Z" in Path(f"/proc/{process}/stat").read_text()
    return True
