from __future__ import annotations

import logging
import sqlite3
import threading
from collections.abc import Sequence
from pathlib import Path

import pytest
from sqlalchemy import text

from app.ledger.database import FILE
from app.ledger.ledger import Ledger, LedgerTrouble, Stored, Transaction
from app.ledger.writer import LARGEST_BATCH
from tests.ledger.bench import RUN, Clock, a_draft, appending, keep, together


def test_what_waits_is_committed_together_up_to_the_largest_batch(ledger: Ledger) -> None:
    batches: list[int] = []
    ledger.after_commit(lambda events: batches.append(len(events)))

    together(ledger, [appending(a_draft())] * (LARGEST_BATCH + 6))

    assert batches == [LARGEST_BATCH, 6]


def test_one_errand_that_raises_leaves_the_others(ledger: Ledger) -> None:
    def wrong(transaction: Transaction) -> None:
        transaction.append(a_draft(part="half done"), "k")
        transaction.keep_receipt(RUN, "k", "", "")
        transaction.append(a_draft("run/R-0009"), "k")
        raise KeyError("bracket 19")

    before, failed, after = together(
        ledger, [appending(a_draft(part="1")), wrong, appending(a_draft(part="2"))]
    )

    assert isinstance(failed.exception(), KeyError)
    assert ledger.read(RUN) == [before.result(), after.result()]
    assert after.result().prev == before.result().hash
    assert ledger.streams() == [RUN]
    assert ledger.submit(lambda tx: tx.receipt(RUN, "k")).result(10) is None


def test_even_an_errand_that_wants_to_end_the_program_does_not_end_the_writer(
    ledger: Ledger,
) -> None:
    def leave(_: Transaction) -> None:
        raise SystemExit(1)

    assert isinstance(ledger.submit(leave).exception(10), SystemExit)
    assert len(keep(ledger)) == 1


def orphan(transaction: Transaction) -> None:
    """Do something that SQLite accepts now and refuses at COMMIT."""
    for statement in (
        "CREATE TABLE parent (id INTEGER PRIMARY KEY)",
        "CREATE TABLE child (id REFERENCES parent DEFERRABLE INITIALLY DEFERRED)",
        "INSERT INTO child VALUES (1)",
    ):
        transaction.connection.execute(text(statement))


def test_when_commit_fails_nobody_in_the_batch_is_told_it_was_saved(ledger: Ledger) -> None:
    dropped: list[str] = []
    told: list[Stored] = []
    ledger.after_rollback(lambda: dropped.append("cache"))
    ledger.after_commit(told.extend)
    (first,) = keep(ledger)

    futures = together(ledger, [appending(a_draft()), orphan, appending(a_draft())])

    troubles = [future.exception() for future in futures]
    assert [isinstance(trouble, LedgerTrouble) for trouble in troubles] == [True] * 3
    assert str(troubles[0]).startswith("Not saved: ")
    assert ledger.read(RUN) == [first] == told
    assert dropped == ["cache"]
    assert ledger.trouble is None

    (second,) = keep(ledger)
    assert (second.seq, second.prev) == (2, first.hash)


@pytest.mark.parametrize("raising", [False, True])
def test_a_transaction_that_ended_within_an_errand_is_not_taken_for_saved(
    ledger: Ledger, raising: bool
) -> None:
    def end(transaction: Transaction) -> None:
        transaction.append(a_draft(), "k")
        transaction.connection.exec_driver_sql("ROLLBACK")
        if raising:
            raise KeyError("bracket 19")

    before, failed = together(ledger, [appending(a_draft()), end])

    assert isinstance(before.exception(), LedgerTrouble)
    assert isinstance(failed.exception(), LedgerTrouble)
    assert ledger.read(RUN) == []
    assert len(keep(ledger)) == 1


def test_an_errand_that_was_cancelled_while_it_waited_is_not_carried_out(ledger: Ledger) -> None:
    reached, gate = threading.Event(), threading.Event()

    def hold_up(_: Transaction) -> None:
        reached.set()
        gate.wait(10)

    held = ledger.submit(hold_up)
    reached.wait(10)
    waiting = ledger.submit(appending(a_draft(part="cancelled")))
    other = ledger.submit(appending(a_draft(part="kept")))

    assert waiting.cancel()
    assert not held.cancel()
    gate.set()
    assert other.result(10).seq == 1


def test_caches_are_told_before_anyone_is_answered(ledger: Ledger) -> None:
    answered_first: list[bool] = []

    def cache(_: Sequence[Stored]) -> None:
        answered_first.append(future.done())

    gate = threading.Event()
    ledger.after_commit(cache)

    def wait_then_append(transaction: Transaction) -> Stored:
        gate.wait(10)
        return transaction.append(a_draft(), "k")

    future = ledger.submit(wait_then_append)
    gate.set()
    future.result(10)

    assert answered_first == [False]


def test_a_cache_that_raises_does_not_unsay_what_is_on_the_disk(
    ledger: Ledger, caplog: pytest.LogCaptureFixture
) -> None:
    dropped: list[str] = []

    def broken(_: Sequence[Stored]) -> None:
        raise ValueError("cache")

    ledger.after_commit(broken)
    ledger.after_rollback(lambda: dropped.append("cache"))

    with caplog.at_level(logging.ERROR):
        (event,) = keep(ledger)

    assert ledger.read(RUN) == [event]
    assert dropped == ["cache"]
    assert "did not take committed events" in caplog.text


def test_another_program_that_holds_the_ledger_makes_it_busy_not_broken(
    folder: Path, ledger: Ledger
) -> None:
    ledger.submit(
        lambda tx: tx.connection.exec_driver_sql("PRAGMA busy_timeout=50").close()
    ).result(10)
    other = sqlite3.connect(folder / FILE, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")

    trouble = ledger.submit(appending(a_draft())).exception(10)
    other.execute("ROLLBACK")
    other.close()

    assert isinstance(trouble, LedgerTrouble)
    assert trouble.code == "busy"
    assert len(keep(ledger)) == 1


def test_two_tablets_at_once_get_numbers_without_a_gap(folder: Path, clock: Clock) -> None:
    with Ledger.open(folder, clock) as ledger:
        threads = [
            threading.Thread(target=lambda: keep(ledger, *[a_draft()] * 20)) for _ in range(8)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

        assert [event.seq for event in ledger.read(RUN)] == list(range(1, 161))
        assert ledger.verify() == []
