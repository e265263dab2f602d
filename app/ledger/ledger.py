"""The ledger of a site: one folder, one database, one writer, many readers."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Self, TypeVar

from sqlalchemy import Connection, select
from sqlalchemy.exc import DBAPIError

from app.ledger.backup import back_up
from app.ledger.chain import Break, ledger_breaks
from app.ledger.database import (
    FILE,
    Lock,
    check_pages,
    make,
    read_engine,
    refuse_network_disk,
    sqlite_warning,
    write_engine,
)
from app.ledger.reading import read_event, read_stream, read_text
from app.ledger.stored import SITE, Draft, Head, Receipt, Stored
from app.ledger.tables import EVENTS
from app.ledger.transaction import Transaction
from app.ledger.trouble import LedgerTrouble, trouble_code
from app.ledger.upgrade import upgrade
from app.ledger.writer import Writer

__all__ = ["SITE", "Draft", "Head", "Ledger", "LedgerTrouble", "Receipt", "Stored", "Transaction"]

T = TypeVar("T")
_PAGE = 1000  # events per query of a long read: a long snapshot would keep the log from shrinking
_LONG_AGO = datetime(1, 1, 1, tzinfo=UTC)


class Ledger:
    """Append-only streams of events; open with `Ledger.open`, made once with `Ledger.create`."""

    sqlite_version = sqlite3.sqlite_version
    sqlite_warning = sqlite_warning()

    def __init__(self, folder: Path, lock: Lock, clock: Callable[[], datetime]) -> None:
        self.folder = folder
        self._path = folder / FILE
        self._lock = lock
        self._closed = False
        self._read_engine = read_engine(self._path)
        self._writer = Writer(
            write_engine(self._path), self._path, clock=clock, last_at=self._last_at()
        )

    @classmethod
    def create(cls, folder: Path) -> None:
        """Make an empty ledger in a folder.

        Raises:
            LedgerTrouble: there is one already, or the folder is on a network disk.
        """
        refuse_network_disk(folder)
        make(folder / FILE)
        upgrade(folder / FILE, backups=folder / "backups", at=_LONG_AGO)

    @classmethod
    def open(cls, folder: Path, clock: Callable[[], datetime]) -> Self:
        """Open the ledger in a folder: lock, look through it, upgrade it, start its writer.

        Raises:
            LedgerTrouble: it cannot be opened; the sentence says why and what to do.
        """
        path = folder / FILE
        refuse_network_disk(folder)
        if not path.is_file():
            raise LedgerTrouble("missing", f"There is no ledger in {folder}. Nothing was made.")
        lock = Lock(folder)
        try:
            check_pages(path)
            upgrade(path, backups=folder / "backups", at=clock())
            return cls(folder, lock, clock)
        except (sqlite3.Error, DBAPIError) as failure:
            lock.release()
            sentence = f"The ledger in {folder} does not open: {failure.args[0]}."
            raise LedgerTrouble(trouble_code(failure) or "disk_fault", sentence) from failure
        except BaseException:
            lock.release()
            raise

    def close(self) -> None:
        """Finish what was submitted, then close everything and let another server in."""
        if self._closed:
            return
        self._closed = True
        self._read_engine.dispose()
        self._writer.close()
        self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def trouble(self) -> LedgerTrouble | None:
        """Why nothing more is kept until the next start, None while all is well."""
        return self._writer.trouble

    def submit(self, errand: Callable[[Transaction], T]) -> Future[T]:
        """Have an errand carried out by the writer.

        The future resolves with what the errand returned, once that is on the disk; with the
        errand's own exception, if it raised one; with LedgerTrouble, if nothing could be kept.
        """
        return self._writer.submit(errand)

    def after_commit(self, callback: Callable[[Sequence[Stored]], None]) -> None:
        """Have a callback told of new events, in the writer thread, before anyone is answered."""
        self._writer.after_commit.append(callback)

    def after_rollback(self, callback: Callable[[], None]) -> None:
        """Have a callback told, in the writer thread, to drop what it caches of any stream."""
        self._writer.after_rollback.append(callback)

    @contextmanager
    def reader(self) -> Iterator[Connection]:
        """Give a connection that only reads, on one snapshot for as long as it is held."""
        with self._read_engine.connect() as connection:
            yield connection

    def read(self, stream: str, after: int = 0) -> list[Stored]:
        """Return a stream's events past a number, in order."""
        with self.reader() as connection:
            return read_stream(connection, stream, after)

    def read_all(self) -> Iterator[Stored]:
        """Give every event of every stream, in the order of their commits."""
        query = select(EVENTS.c.id, EVENTS.c.canonical, EVENTS.c.hash).order_by(EVENTS.c.id)
        last = 0
        while True:
            with self.reader() as connection:
                rows = connection.execute(query.where(EVENTS.c.id > last).limit(_PAGE)).all()
            if not rows:
                return
            for number, content, its_hash in rows:
                last = number
                yield read_event(content, its_hash)

    def streams(self) -> list[str]:
        """Return the names of all streams that hold an event."""
        with self.reader() as connection:
            names = connection.execute(select(EVENTS.c.stream).distinct().order_by(EVENTS.c.stream))
            return list(names.scalars())

    def text(self, sha256: str) -> bytes | None:
        """Return the exact bytes of a procedure, None if they were never kept."""
        with self.reader() as connection:
            return read_text(connection, sha256)

    def verify(self) -> list[Break]:
        """Return the first break of every stream that does not hold: none, if all is well."""
        with self.reader() as connection:
            return ledger_breaks(connection)

    def back_up(self, target: Path) -> Path:
        """Make a checked copy of the database in a new file, without holding up the writer.

        Raises:
            LedgerTrouble: the copy could not be made, or does not hold.
        """
        return back_up(self._path, target)

    def _last_at(self) -> datetime:
        query = select(EVENTS.c.at).order_by(EVENTS.c.id.desc()).limit(1)
        with self.reader() as connection:
            text: str | None = connection.execute(query).scalar_one_or_none()
        return datetime.fromisoformat(text) if text else _LONG_AGO
