"""The one thread that writes.

Rules:
1. It blocks for one errand, then takes what already waits, up to 64; no timer, no added delay.
2. A batch is one `BEGIN IMMEDIATE` transaction; each errand is a savepoint in it. An errand that
   raises loses what it did, and the others go on.
3. Nobody is answered before COMMIT has returned and the path still leads to this file.
4. Cached heads move only after that; when a batch fails, all of it fails and nothing has moved.
5. SQLite may have rolled back by itself (a full disk), and a COMMIT then does nothing and says
   nothing; but the savepoint is gone too, so its RELEASE raises and the batch fails. An errand
   that swallows a trouble of the disk does not hide it either.
6. After damage, a failed write or a replaced file nothing more is taken until the next start.
"""

from __future__ import annotations

import logging
import sqlite3
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any, TypeVar, cast

from sqlalchemy import Engine, ExceptionContext, event

from app.ledger.canonical import time_text
from app.ledger.database import Place
from app.ledger.stored import SITE, Draft, Head, Stored
from app.ledger.transaction import Batch, Transaction, errand_of
from app.ledger.trouble import LASTING, LedgerTrouble, trouble_code

T = TypeVar("T")
LARGEST_BATCH = 64  # measured: 4 to 9 times the single rate, with lower tails; more gives no more
STEP_BACK = timedelta(seconds=1)  # less is the ordinary trimming of a clock

_log = logging.getLogger(__name__)


@dataclass(slots=True)
class _Item:
    errand: Callable[[Transaction], Any]
    future: Future[Any] = field(default_factory=Future)
    outcome: Any = None
    failure: BaseException | None = None


class Writer:
    """Carries out errands one batch after another."""

    def __init__(
        self, engine: Engine, path: Path, *, clock: Callable[[], datetime], last_at: datetime
    ) -> None:
        self.after_commit: list[Callable[[Sequence[Stored]], None]] = []
        self.after_rollback: list[Callable[[], None]] = []
        self.trouble: LedgerTrouble | None = None
        """Why nothing more is taken until the next start, None while all is well."""
        self._noticed: BaseException | None = None
        event.listen(engine, "handle_error", self._notice)
        self._connection = engine.connect()
        self._driver().execute("SELECT count(*) FROM sqlite_master").fetchone()  # opens the log
        self._place = Place(path)
        self._clock = clock
        self._last_at = last_at
        self._stepped_back = False
        self._heads: dict[str, Head] = {}
        self._queue: SimpleQueue[_Item | None] = SimpleQueue()
        self._door = threading.Lock()
        self._closed = False
        self._thread = threading.Thread(target=self._serve, name="ledger-writer", daemon=True)
        self._thread.start()

    def submit(self, errand: Callable[[Transaction], T]) -> Future[T]:
        """Queue an errand; the future resolves once its batch is on the disk."""
        item = _Item(errand)
        with self._door:
            if not self._closed:
                self._queue.put(item)
                return item.future
        item.future.set_exception(LedgerTrouble("closed"))
        return item.future

    def close(self) -> None:
        """Finish what was submitted, then end the thread and its connection."""
        with self._door:
            if not self._closed:
                self._closed = True
                self._queue.put(None)
        self._thread.join()
        self._connection.close()

    def _serve(self) -> None:
        going_on = True
        while going_on:
            items, going_on = self._take()
            # a future that was cancelled while it waited must not be resolved any more
            items = [item for item in items if item.future.set_running_or_notify_cancel()]
            if items:
                self._carry_out(items)

    def _take(self) -> tuple[list[_Item], bool]:
        items: list[_Item] = []
        wait = True
        while len(items) < LARGEST_BATCH:
            try:
                item = self._queue.get(block=wait)
            except Empty:
                break
            if item is None:
                return items, False
            items.append(item)
            wait = False
        return items, True

    def _carry_out(self, items: Sequence[_Item]) -> None:
        try:
            if self.trouble is not None:
                raise LedgerTrouble(self.trouble.code, self.trouble.sentence)
            batch = self._commit(items)
        except BaseException as failure:  # the thread must outlive any errand
            self._fail(items, failure)
            return
        self._heads.update(batch.heads)
        self._last_at = batch.last_at
        self._tell(batch.events)
        for item in items:
            if item.failure is not None:
                item.future.set_exception(item.failure)
            else:
                item.future.set_result(item.outcome)

    def _commit(self, items: Sequence[_Item]) -> Batch:
        self._place.check()
        self._noticed = None
        with self._connection.begin():
            batch = Batch(self._connection, self._heads, self._last_at, self._look_at)
            stepped_back = self._note_clock(batch)
            for item in items:
                self._run(item, batch)
        self._place.check()
        self._stepped_back = stepped_back
        return batch

    def _run(self, item: _Item, batch: Batch) -> None:
        driver = self._driver()
        driver.execute("SAVEPOINT errand")
        try:
            with errand_of(batch, self._clock()) as transaction:
                item.outcome = item.errand(transaction)
                if self._noticed is not None:
                    raise self._noticed
        except BaseException as failure:
            if trouble_code(failure) is not None:
                raise
            driver.execute("ROLLBACK TO errand")
            item.failure = failure
        driver.execute("RELEASE errand")

    def _note_clock(self, batch: Batch) -> bool:
        """Put a clock that stepped back on record, once until it has caught up again."""
        now = self._clock()
        if now >= self._last_at:
            return False
        if self._stepped_back or now >= self._last_at - STEP_BACK:
            return self._stepped_back
        body = {"clock": time_text(now), "last": time_text(self._last_at)}
        with errand_of(batch, now) as transaction:
            transaction.append(Draft(SITE, "ClockSteppedBack", body, by=""), key="")
        return True

    def _notice(self, context: ExceptionContext) -> None:
        self._look_at(context.original_exception)

    def _look_at(self, failure: BaseException) -> None:
        if trouble_code(failure) is not None:
            self._noticed = failure

    def _fail(self, items: Sequence[_Item], failure: BaseException) -> None:
        code = trouble_code(failure) or "not_kept"
        sentence = failure.sentence if isinstance(failure, LedgerTrouble) else ""
        rolled_back = self._roll_back()
        if self.trouble is None:
            _log.error("a batch of %d was not kept (%s): %s", len(items), code, failure)
            if code in LASTING or not rolled_back:
                self.trouble = LedgerTrouble(code, sentence)
        self._forget()
        for item in items:
            trouble = LedgerTrouble(code, sentence)
            trouble.__cause__ = failure
            item.future.set_exception(trouble)

    def _roll_back(self) -> bool:
        """Say whether no transaction is left open: SQLAlchemy sends no ROLLBACK after a COMMIT."""
        driver = self._driver()
        if driver.in_transaction:
            with suppress(sqlite3.Error):
                driver.execute("ROLLBACK")
        return not driver.in_transaction

    def _forget(self) -> None:
        self._heads.clear()
        for callback in self.after_rollback:
            try:
                callback()
            except Exception:
                _log.exception("a cache was not dropped after a batch that was not kept")

    def _tell(self, events: Sequence[Stored]) -> None:
        if not events:
            return
        for callback in self.after_commit:
            try:
                callback(events)
            except Exception:
                # the events stand and their people must hear so; what is cached of them may not
                _log.exception("a cache did not take committed events; all caches are dropped")
                self._forget()

    def _driver(self) -> sqlite3.Connection:
        return cast("sqlite3.Connection", self._connection.connection.driver_connection)
