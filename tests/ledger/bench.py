"""What the tests of the ledger work with: a clock to set by hand, drafts, errands held at the door."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from datetime import UTC, datetime
from typing import Any

from app.ledger.ledger import Draft, Ledger, Stored, Transaction

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
RUN = "run/R-0001"


class Clock:
    """A clock that stands until it is set."""

    def __init__(self, now: datetime = NOON) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now


def a_draft(stream: str = RUN, kind: str = "EntryMade", **body: Any) -> Draft:
    return Draft(stream, kind, body or {"step": "lift", "part": "14"}, by="JB", device="tablet-1")


def appending(draft: Draft, key: str = "k") -> Callable[[Transaction], Stored]:
    return lambda transaction: transaction.append(draft, key)


def keep(ledger: Ledger, *drafts: Draft) -> list[Stored]:
    return [ledger.submit(appending(draft)).result(10) for draft in drafts or (a_draft(),)]


def together(ledger: Ledger, errands: Sequence[Callable[[Transaction], Any]]) -> list[Future[Any]]:
    """Have errands carried out as one batch: they gather while the writer is held up."""
    reached, gate = threading.Event(), threading.Event()

    def hold_up(_: Transaction) -> None:
        reached.set()
        gate.wait(10)

    held = ledger.submit(hold_up)
    reached.wait(10)
    futures = [ledger.submit(errand) for errand in errands]
    gate.set()
    held.result(10)
    for future in futures:
        future.exception(10)
    return futures
