from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import cast

import pytest
from sqlalchemy import Connection

from app.ledger import database
from app.ledger.database import connect, read_engine, refuse_network_disk, sqlite_warning
from app.ledger.ledger import Ledger, LedgerTrouble, Transaction
from tests.ledger.bench import Clock, keep

WANTED = {
    "journal_mode": "wal",
    "synchronous": 2,  # FULL
    "busy_timeout": 5000,
    "foreign_keys": 1,
    "recursive_triggers": 1,
}


def settings(connection: Connection) -> dict[str, object]:
    return {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one() for name in WANTED}


def test_every_connection_has_its_settings(ledger: Ledger) -> None:
    def look(transaction: Transaction) -> dict[str, object]:
        return settings(transaction.connection)

    assert ledger.submit(look).result(10) == WANTED
    with ledger.reader() as one, ledger.reader() as two:
        assert settings(one) == settings(two) == WANTED


def test_a_setting_that_does_not_hold_is_noticed(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(database._PRAGMAS, "busy_timeout", -1)

    with pytest.raises(LedgerTrouble) as trouble:
        connect(folder / database.FILE, "rw")

    assert str(trouble.value) == "The ledger does not open: SQLite keeps busy_timeout at 0, not -1."


def test_a_connection_that_goes_back_to_the_pool_has_no_transaction_open(folder: Path) -> None:
    engine = read_engine(folder / database.FILE)
    with engine.connect() as connection:
        connection.exec_driver_sql("SELECT count(*) FROM events").scalar_one()
        driver = cast("sqlite3.Connection", connection.connection.driver_connection)
        assert driver.in_transaction

    assert not driver.in_transaction
    engine.dispose()


def test_no_connection_makes_the_file(tmp_path: Path) -> None:
    for mode in ("rw", "ro"):
        with pytest.raises(sqlite3.OperationalError, match="unable to open"):
            connect(tmp_path / "none.db", mode)

    assert list(tmp_path.iterdir()) == []


def test_a_folder_may_have_any_name(tmp_path: Path, clock: Clock) -> None:
    folder = tmp_path / "Quillmoor 100 % ? #2"
    Ledger.create(folder)
    with Ledger.open(folder, clock) as ledger:
        keep(ledger)

    assert (folder / database.FILE).stat().st_size > 0


OPEN = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from app.ledger.ledger import Ledger, LedgerTrouble
try:
    Ledger.open(Path(sys.argv[1]), lambda: datetime.now(UTC)).close()
except LedgerTrouble as trouble:
    print(trouble.code, trouble)
else:
    print("opened")
"""


def opened_by_another_process(folder: Path) -> str:
    root = Path(__file__).parents[2]
    said = subprocess.run(
        [sys.executable, "-c", OPEN, str(folder)],
        capture_output=True,
        text=True,
        check=True,
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    return said.stdout.strip()


def test_a_second_server_is_refused_until_the_first_is_stopped(folder: Path, clock: Clock) -> None:
    with Ledger.open(folder, clock) as ledger:
        assert opened_by_another_process(folder) == (
            f"second_server Another server has the ledger in {folder} open. Stop it first."
        )
        with pytest.raises(LedgerTrouble):
            Ledger.open(folder, clock)
        keep(ledger)

    assert opened_by_another_process(folder) == "opened"


def test_a_start_that_did_not_succeed_lets_go_of_the_lock(folder: Path, clock: Clock) -> None:
    whole = (folder / database.FILE).read_bytes()
    (folder / database.FILE).write_bytes(b"not a database, but as long as one" * 300)
    with pytest.raises(LedgerTrouble) as trouble:
        Ledger.open(folder, clock)
    (folder / database.FILE).write_bytes(whole)

    assert trouble.value.code == "corrupt"
    Ledger.open(folder, clock).close()


@pytest.mark.parametrize(
    ("line", "refused"),
    [
        ("server:/export {folder} nfs4 rw 0 0", True),
        ("//server/share {parent} cifs rw 0 0", True),
        ("/dev/sda1 {folder} ext4 rw 0 0", False),
        ("server:/export /somewhere/else nfs rw 0 0", False),
    ],
)
def test_a_network_disk_is_refused(tmp_path: Path, line: str, refused: bool) -> None:
    folder = tmp_path / "the site"
    folder.mkdir()
    mounts = tmp_path / "mounts"
    there = str(folder.resolve()).replace(" ", "\\040")
    mounts.write_text(
        "/dev/root / ext4 rw 0 0\n" + line.format(folder=there, parent=tmp_path.resolve()) + "\n"
    )

    if not refused:
        refuse_network_disk(folder, mounts)
        return
    with pytest.raises(LedgerTrouble) as trouble:
        refuse_network_disk(folder, mounts)
    assert trouble.value.code == "network_disk"
    assert "Put the ledger on a disk of the server itself." in str(trouble.value)


# From public summaries of SQLite's notes on the write-ahead-log reset; not checked at the source.
@pytest.mark.parametrize(
    ("version", "warned"),
    [
        ((3, 6, 23), False),
        ((3, 40, 1), True),
        ((3, 44, 5), True),
        ((3, 44, 6), False),
        ((3, 45, 3), True),
        ((3, 50, 6), True),
        ((3, 50, 7), False),
        ((3, 51, 2), True),
        ((3, 51, 3), False),
        ((3, 52, 0), False),
    ],
)
def test_a_version_with_the_log_reset_fault_is_warned_of(
    version: tuple[int, int, int], warned: bool
) -> None:
    assert bool(sqlite_warning(version)) == warned
