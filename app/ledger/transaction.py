"""What an errand is given inside the writer thread: it reads and appends as one act.

Nothing that an errand does is seen by anyone until its whole batch has been committed.
"""

from __future__ import annotations

import sqlite3
from collections import ChainMap
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from typing import cast

from sqlalchemy import Connection, insert, select
from sqlalchemy.exc import IntegrityError

from app.ledger.canonical import digest, time_text
from app.ledger.chain import GENESIS
from app.ledger.reading import read_stream, read_text
from app.ledger.stored import Draft, Head, Receipt, Stored, seal
from app.ledger.tables import EVENTS, TEXTS

# Each act does these three.
_INSERT_EVENT = (
    "INSERT INTO events (stream, seq, at, by, kind, hash, canonical) VALUES (?, ?, ?, ?, ?, ?, ?)"
)
_FIND_RECEIPT = "SELECT fingerprint, answer FROM receipts WHERE stream = ? AND key = ?"
_INSERT_RECEIPT = "INSERT INTO receipts (stream, key, fingerprint, answer) VALUES (?, ?, ?, ?)"


@dataclass(slots=True)
class Batch:
    """The errands that are committed together, and how far they have come."""

    connection: Connection
    committed: dict[str, Head]  # heads before this batch, as cached
    last_at: datetime
    notice: Callable[[BaseException], None]  # told of each failure of the driver
    heads: dict[str, Head] = field(default_factory=dict)
    events: list[Stored] = field(default_factory=list)


class Transaction:
    """One errand's hold on the ledger; of no use once the errand has returned."""

    def __init__(self, batch: Batch, now: datetime) -> None:
        self.at = max(now, batch.last_at)
        """The server's time for this errand, never before the last event's."""
        self._batch = batch
        self._own: list[Stored] = []
        self._heads: ChainMap[str, Head] = ChainMap({}, batch.heads, batch.committed)
        self._open = True

    @property
    def connection(self) -> Connection:
        """The write connection, for other packages' own tables. Never commit on it."""
        if not self._open:
            raise RuntimeError("this transaction ended with its errand")
        return self._batch.connection

    def head(self, stream: str) -> Head:
        """Return the end of a stream, with what this batch has appended so far."""
        if stream not in self._heads:
            found = self.connection.execute(
                select(EVENTS.c.seq, EVENTS.c.hash)
                .where(EVENTS.c.stream == stream)
                .order_by(EVENTS.c.seq.desc())
                .limit(1)
            ).first()
            self._heads[stream] = Head(found.seq, found.hash) if found else Head(0, GENESIS)
        return self._heads[stream]

    def append(self, draft: Draft, key: str) -> Stored:
        """Append one event and return it as it will stand.

        Raises:
            NotCanonicalError: the draft holds something that the ledger does not keep.
        """
        event = seal(draft, key, self.at, self.head(draft.stream))
        self._tell(_INSERT_EVENT, *row_of(event).values())
        self._heads[event.stream] = Head(event.seq, event.hash)
        self._own.append(event)
        return event

    def read(self, stream: str, after: int = 0) -> list[Stored]:
        """Return a stream's events past a number, those of this batch included.

        No query is made for events that this batch appended itself.
        """
        fresh = [e for e in (*self._batch.events, *self._own) if e.stream == stream]
        first_fresh = fresh[0].seq if fresh else self.head(stream).seq + 1
        kept = read_stream(self.connection, stream, after) if after + 1 < first_fresh else []
        return [e for e in kept if e.seq < first_fresh] + [e for e in fresh if e.seq > after]

    def receipt(self, stream: str, key: str) -> Receipt | None:
        """Return what was answered to this key before, None if it is new."""
        found = self._tell(_FIND_RECEIPT, stream, key).fetchone()
        return Receipt(stream, key, *found) if found else None

    def keep_receipt(self, stream: str, key: str, fingerprint: str, answer: str) -> None:
        """Keep what is answered to a key. A key of a stream is answered once.

        Raises:
            sqlalchemy.exc.IntegrityError: the key has its receipt already.
        """
        self._tell(_INSERT_RECEIPT, stream, key, fingerprint, answer)

    def _tell(self, sql: str, *values: object) -> sqlite3.Cursor:
        """Tell the driver itself, which costs a tenth; its trouble is noticed all the same."""
        driver = self.connection.connection.driver_connection
        try:
            return cast("sqlite3.Connection", driver).execute(sql, values)
        except sqlite3.Error as failure:
            self._batch.notice(failure)
            if isinstance(failure, sqlite3.IntegrityError):
                raise IntegrityError(sql, values, failure) from failure
            raise

    def keep_text(self, sha256: str, content: bytes) -> None:
        """Keep the exact bytes of a procedure; keeping them again changes nothing.

        Raises:
            ValueError: the bytes are not those that the digest names.
        """
        if digest(content) != sha256:
            raise ValueError(f"the text's SHA-256 is {digest(content)}, not {sha256}")
        if read_text(self.connection, sha256) is None:
            self.connection.execute(insert(TEXTS), {"sha256": sha256, "content": content})

    def _accept(self) -> None:
        self._open = False
        self._batch.events += self._own
        if self._own:
            self._batch.last_at = self.at
        self._batch.heads.update(self._heads.maps[0])

    def _drop(self) -> None:
        self._open = False


@contextmanager
def errand_of(batch: Batch, now: datetime) -> Iterator[Transaction]:
    """Give one errand its transaction; what it did joins the batch unless it raised."""
    transaction = Transaction(batch, now)
    try:
        yield transaction
    except BaseException:
        transaction._drop()  # noqa: SLF001 - the two are one machine
        raise
    transaction._accept()  # noqa: SLF001


def row_of(event: Stored) -> dict[str, object]:
    """Return the columns of an event, in the order in which they are inserted."""
    return {
        "stream": event.stream,
        "seq": event.seq,
        "at": time_text(event.at),
        "by": event.by,
        "kind": event.kind,
        "hash": event.hash,
        "canonical": event.canonical,
    }
