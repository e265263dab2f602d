from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import inspect
from sqlmodel import SQLModel

from app.ledger.canonical import digest
from app.ledger.database import FILE
from app.ledger.ledger import Ledger, Transaction
from app.ledger.tables import EVENTS, RECEIPTS, TEXTS
from tests.ledger.bench import RUN, Clock, a_draft, keep

TEXT = b'title = "Lift"\n'


@pytest.fixture
def outside(folder: Path, clock: Clock) -> sqlite3.Connection:
    """Give a connection with SQLite's own defaults, as another program would have it."""

    def fill(transaction: Transaction) -> None:
        transaction.keep_receipt(RUN, "k", "f", "{}")
        transaction.keep_text(digest(TEXT), TEXT)

    with Ledger.open(folder, clock) as ledger:
        keep(ledger, a_draft(), a_draft())
        ledger.submit(fill).result(10)
    return sqlite3.connect(folder / FILE, isolation_level=None)


EVENT = "(id, stream, seq, at, by, kind, hash, canonical)"


@pytest.mark.parametrize(
    ("act", "said"),
    [
        ("UPDATE events SET by = 'XX'", "events are never updated"),
        ("UPDATE receipts SET answer = ''", "receipts are never updated"),
        ("UPDATE texts SET content = x''", "texts are never updated"),
        ("DELETE FROM events", "events are never deleted"),
        ("DELETE FROM receipts", "receipts are never deleted"),
        ("DELETE FROM texts", "texts are never deleted"),
        (
            f"INSERT OR REPLACE INTO events {EVENT} VALUES (2, 'run/R-0001', 3, '', '', '', '', x'')",
            "an event takes the next number of its stream",
        ),
        (
            f"INSERT OR REPLACE INTO events {EVENT} VALUES (9, 'run/R-0001', 2, '', '', '', '', x'')",
            "an event takes the next number of its stream",
        ),
        (
            f"INSERT INTO events {EVENT} VALUES (9, 'run/R-0001', 4, '', '', '', '', x'')",
            "an event takes the next number of its stream",
        ),
        (
            "INSERT OR REPLACE INTO receipts VALUES ('run/R-0001', 'k', '', '')",
            "receipts are never replaced",
        ),
        (
            f"INSERT OR REPLACE INTO texts VALUES ('{digest(TEXT)}', x'')",
            "texts are never replaced",
        ),
    ],
)
def test_the_database_itself_refuses_change(
    outside: sqlite3.Connection, act: str, said: str
) -> None:
    before = list(outside.iterdump())

    with pytest.raises(sqlite3.IntegrityError) as refused:
        outside.execute(act)

    assert str(refused.value) == said
    assert list(outside.iterdump()) == before
    outside.close()


def test_the_migrations_make_the_tables_that_the_models_say(ledger: Ledger) -> None:
    assert {"events", "receipts", "texts"} <= set(SQLModel.metadata.tables)
    with ledger.reader() as connection:
        found = inspect(connection)
        for table in (EVENTS, RECEIPTS, TEXTS):
            columns = {(c["name"], c["nullable"]) for c in found.get_columns(table.name)}
            keys = found.get_pk_constraint(table.name)["constrained_columns"]

            assert columns == {(c.name, bool(c.nullable)) for c in table.columns}
            assert keys == [c.name for c in table.primary_key]
        unique = found.get_unique_constraints("events")
        assert [each["column_names"] for each in unique] == [["stream", "seq"]]
