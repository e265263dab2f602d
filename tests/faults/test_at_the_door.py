"""What a person at a tablet meets when the world fails under the server, and that it ends well.

Each of them sees a sentence, loses nothing that was acknowledged, and goes on with the same press.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.desk.desk import Desk
from app.ledger.backup import check_copy
from app.ledger.database import FILE
from app.ledger.ledger import Ledger, Transaction
from app.web.app import create_app
from tests.desk.conftest import SECRETS, Clock
from tests.ledger.test_upgrade import LATER, newest, version_of
from tests.screens.conftest import RUN, briefed, founded, loop
from tests.screens.visitor import Visitor

__all__ = ["briefed", "founded", "loop"]

PAPER = "Write it on paper and call whoever keeps the server."


@pytest.fixture
def folder(briefed: Path, tmp_path: Path) -> Path:
    """Return the folder of a site of one's own, its run at the wind reading."""
    return Path(shutil.copytree(briefed, tmp_path / "site"))


class At:
    """An open site with one tablet at it."""

    def __init__(self, folder: Path, loop: asyncio.AbstractEventLoop) -> None:
        self.desk = Desk.open(folder, clock=Clock())
        self.tablet = Visitor(create_app(self.desk), loop, SECRETS)
        self.tablet.sign_on("AB")

    def enter(self, key: str, value: str = "99.5") -> tuple[int, str]:
        """Enter a wind reading above its limit: it is kept, and the step stays open."""
        body = {"values": {"value": value}, "seen": 999, "key": key}
        answer = self.tablet.tell(f"/runs/{RUN}/steps/wind/enter", **body)
        return answer.status_code, answer.json().get("sentence", "")

    def stored(self, key: str) -> int:
        """Return how often an entry stands in the ledger."""
        return sum(e.key == key and e.kind == "EntryMade" for e in self.desk.ledger.read_all())

    def close(self) -> None:
        """Close both."""
        self.tablet.close()
        self.desk.close()


@pytest.fixture
def at(folder: Path, loop: asyncio.AbstractEventLoop) -> Iterator[At]:
    """Return the open site."""
    opened = At(folder, loop)
    yield opened
    opened.close()


def limit_pages(desk: Desk, pages: int) -> None:
    def errand(transaction: Transaction) -> None:
        transaction.connection.exec_driver_sql(f"PRAGMA max_page_count={pages}").close()

    desk.ledger.submit(errand).result(10)


def fill(at: At) -> tuple[int, str]:
    """Enter until the disk takes no more; return the last answer."""
    for number in range(200):
        told = at.enter(f"fill-{number}", "99." + "5" * 6)
        if told[0] != 200:
            return told
    raise AssertionError("the disk was never full")


def test_a_full_disk_is_said_and_the_same_press_is_kept_once_when_there_is_room(at: At) -> None:
    assert at.enter("first")[0] == 200
    limit_pages(at.desk, 1)  # SQLite sets it to what is there

    status, sentence = fill(at)
    page = at.tablet.get(f"/runs/{RUN}")
    refused = at.enter("pressed")

    assert (status, sentence) == (507, f"Not saved: the server's disk is full. {PAPER}")
    assert refused == (status, sentence)
    assert page.status_code == 200
    assert at.stored("pressed") == 0
    limit_pages(at.desk, 1_000_000)
    assert at.enter("pressed")[0] == at.enter("pressed")[0] == 200
    assert at.stored("pressed") == at.stored("first") == 1
    assert at.desk.ledger.verify() == []


def test_a_ledger_moved_away_under_the_server_is_said_and_nothing_answered_is_lost(
    at: At, folder: Path, tmp_path: Path, loop: asyncio.AbstractEventLoop
) -> None:
    assert at.enter("before")[0] == 200
    (folder / FILE).rename(tmp_path / "moved.db")

    told = [at.enter("during"), at.enter("during")]
    (tmp_path / "moved.db").rename(folder / FILE)
    still = at.enter("back")

    sentence = f"Not saved: the server's ledger file was moved, deleted or replaced. {PAPER}"
    assert told == [(503, sentence)] * 2
    assert still == (503, sentence)  # until the server is started again
    at.close()
    again = At(folder, loop)
    assert again.enter("during")[0] == 200
    assert [again.stored(key) for key in ("before", "during", "back")] == [1, 1, 0]
    assert again.desk.ledger.verify() == []
    again.close()


def test_a_copy_made_under_load_holds_whatever_was_answered_before_it_began(
    at: At, tmp_path: Path
) -> None:
    answered: list[str] = []
    made: list[Path] = []
    for number in range(20):
        assert at.enter(f"early-{number}")[0] == 200
    copying = threading.Thread(
        target=lambda: made.append(at.desk.ledger.back_up(tmp_path / "b.db"))
    )

    copying.start()
    while copying.is_alive():
        answered.append(f"late-{len(answered)}")
        assert at.enter(answered[-1])[0] == 200

    check_copy(made[0])
    site = tmp_path / "from-copy"
    site.mkdir()
    shutil.copy(made[0], site / FILE)
    with Ledger.open(site, Clock()) as copy:
        kept = {event.key for event in copy.read_all()}
    assert {f"early-{number}" for number in range(20)} <= kept
    assert all(at.stored(key) == 1 for key in answered)


UPGRADE = """
import sys
from pathlib import Path
from app.ledger.upgrade import upgrade
from tests.ledger.bench import NOON
folder = Path(sys.argv[1])
upgrade(folder / "ledger.db", backups=folder / "backups", at=NOON, migrations=Path(sys.argv[2]))
"""


def test_a_server_killed_in_the_middle_of_a_migration_starts_as_if_it_had_not_begun(
    folder: Path, tmp_path: Path
) -> None:
    later = tmp_path / "migrations"
    shutil.copytree("migrations", later, ignore=shutil.ignore_patterns("__pycache__"))
    begun = tmp_path / "begun"
    hang = f"import pathlib, time; pathlib.Path({str(begun)!r}).touch(); time.sleep(60)"
    migration = later / "versions" / "9999_a_later_version.py"
    migration.write_text(LATER.format(head=newest(), more=hang))
    child = subprocess.Popen([sys.executable, "-c", UPGRADE, str(folder), str(later)])
    for _ in range(600):
        if begun.exists():
            break
        time.sleep(0.05)
    os.kill(child.pid, signal.SIGKILL)
    child.wait()

    with Ledger.open(folder, Clock()) as ledger:
        assert ledger.verify() == []
        tables = {name for (name,) in _tables(ledger)}

    assert begun.exists()
    assert "later" not in tables
    assert version_of(folder / FILE) == newest()


def _tables(ledger: Ledger) -> list[tuple[str]]:
    with ledger.reader() as connection:
        rows = connection.exec_driver_sql("SELECT name FROM sqlite_master").all()
        return [(str(row[0]),) for row in rows]
