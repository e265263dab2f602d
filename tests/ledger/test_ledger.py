from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from app.ledger.canonical import NotCanonicalError, digest
from app.ledger.chain import GENESIS
from app.ledger.database import FILE
from app.ledger.ledger import Draft, Head, Ledger, LedgerTrouble, Receipt, Stored, Transaction
from tests.ledger.bench import NOON, RUN, Clock, a_draft, appending, keep, together


def test_what_is_read_is_what_was_appended(ledger: Ledger) -> None:
    draft = Draft(RUN, "EntryMade", {"values": {"torque": "23.60"}, "seat": 0}, "JB", "tablet-1")

    stored = ledger.submit(appending(draft, "key-1")).result(10)

    assert ledger.read(RUN) == [stored]
    assert (stored.seq, stored.at, stored.by, stored.prev) == (1, NOON, "JB", GENESIS)
    assert (stored.kind, stored.device, stored.key) == ("EntryMade", "tablet-1", "key-1")
    assert stored.body == draft.body
    assert stored.hash == digest(stored.canonical)
    assert stored.canonical == (
        b'{"at":"2026-11-25T12:00:00.000000Z","body":{"seat":0,"values":{"torque":"23.60"}},'
        b'"by":"JB","device":"tablet-1","key":"key-1","kind":"EntryMade","prev":"'
        + GENESIS.encode()
        + b'","seq":1,"stream":"run/R-0001","v":1}'
    )


def test_each_stream_is_numbered_and_chained_by_itself(ledger: Ledger) -> None:
    one, site, two = keep(ledger, a_draft(), a_draft("site"), a_draft())

    assert [one.seq, site.seq, two.seq] == [1, 1, 2]
    assert (two.prev, site.prev) == (one.hash, GENESIS)
    assert ledger.streams() == [RUN, "site"]
    assert list(ledger.read_all()) == [one, site, two]
    assert ledger.read(RUN, after=1) == [two]
    assert ledger.read("run/R-0009") == []


def test_a_long_read_goes_past_one_page(ledger: Ledger) -> None:
    def many(transaction: Transaction) -> None:
        for number in range(1500):
            transaction.append(a_draft(number=number), "k")

    ledger.submit(many).result(10)

    assert [event.body["number"] for event in ledger.read_all()] == list(range(1500))


def test_the_chain_goes_on_after_a_restart(folder: Path, clock: Clock) -> None:
    with Ledger.open(folder, clock) as ledger:
        (first,) = keep(ledger)
    with Ledger.open(folder, clock) as ledger:
        (second,) = keep(ledger)

        assert second.prev == first.hash
        assert ledger.verify() == []


def entry_once(key: str) -> Callable[[Transaction], str]:
    def errand(transaction: Transaction) -> str:
        if known := transaction.receipt(RUN, key):
            return known.answer
        event = transaction.append(a_draft(), key)
        transaction.keep_receipt(RUN, key, "fingerprint", f'{{"seq":{event.seq}}}')
        return f'{{"seq":{event.seq}}}'

    return errand


def test_a_key_that_is_sent_twice_is_stored_once(ledger: Ledger) -> None:
    first = ledger.submit(entry_once("key-1")).result(10)
    again = together(ledger, [entry_once("key-1"), entry_once("key-2"), entry_once("key-2")])

    assert [f.result() for f in again] == [first, '{"seq":2}', '{"seq":2}']
    assert len(ledger.read(RUN)) == 2


def test_a_receipt_is_kept_with_what_had_been_asked(ledger: Ledger) -> None:
    ledger.submit(entry_once("key-1")).result(10)

    found = ledger.submit(lambda transaction: transaction.receipt(RUN, "key-1")).result(10)
    elsewhere = ledger.submit(lambda transaction: transaction.receipt("site", "key-1")).result(10)

    assert found == Receipt(RUN, "key-1", "fingerprint", '{"seq":1}')
    assert elsewhere is None


def test_a_transaction_sees_what_its_batch_has_appended(ledger: Ledger) -> None:
    keep(ledger, a_draft(part="1"), a_draft(part="2"))

    def look(transaction: Transaction) -> tuple[Head, list[list[str]]]:
        transaction.append(a_draft(part="4"), "k")
        seen = [[e.body["part"] for e in transaction.read(RUN, after)] for after in range(5)]
        return transaction.head(RUN), seen

    _, looked = together(ledger, [appending(a_draft(part="3")), look])
    head, seen = looked.result()

    assert head.seq == 4
    assert seen == [["1", "2", "3", "4"], ["2", "3", "4"], ["3", "4"], ["4"], []]


def test_a_transaction_ends_with_its_errand(ledger: Ledger) -> None:
    leaked = ledger.submit(lambda transaction: transaction).result(10)

    with pytest.raises(RuntimeError, match="ended with its errand"):
        leaked.append(a_draft(), "k")


def test_what_is_not_canonical_is_refused_and_leaves_nothing(ledger: Ledger) -> None:
    future = ledger.submit(appending(a_draft(load=9.0)))

    assert isinstance(future.exception(10), NotCanonicalError)
    assert ledger.read(RUN) == []


def test_a_procedure_is_kept_to_the_byte_and_once(ledger: Ledger) -> None:
    content = b'title = "Lift"\r\n'
    for _ in range(2):
        ledger.submit(lambda tx: tx.keep_text(digest(content), content)).result(10)

    wrong = ledger.submit(lambda tx: tx.keep_text(digest(content), b"other")).exception(10)

    assert ledger.text(digest(content)) == content
    assert ledger.text(digest(b"never kept")) is None
    assert isinstance(wrong, ValueError)


def test_a_reader_cannot_write(ledger: Ledger) -> None:
    with ledger.reader() as connection, pytest.raises(Exception, match="readonly"):
        connection.execute(text("DELETE FROM events"))


def test_a_reader_stays_on_its_snapshot(ledger: Ledger) -> None:
    count = text("SELECT count(*) FROM events")
    with ledger.reader() as connection:
        before = connection.execute(count).scalar_one()
        keep(ledger)

        assert connection.execute(count).scalar_one() == before == 0


def test_nothing_is_taken_once_it_is_closed(folder: Path, clock: Clock) -> None:
    ledger = Ledger.open(folder, clock)
    waiting = [ledger.submit(appending(a_draft())) for _ in range(100)]
    ledger.close()
    ledger.close()
    late = ledger.submit(appending(a_draft())).exception(1)

    assert [f.result(0).seq for f in waiting] == list(range(1, 101))
    assert isinstance(late, LedgerTrouble)
    assert late.code == "closed"


def test_a_ledger_is_made_only_when_asked_to(tmp_path: Path, folder: Path, clock: Clock) -> None:
    with pytest.raises(LedgerTrouble) as missing:
        Ledger.open(tmp_path / "elsewhere", clock)
    with pytest.raises(LedgerTrouble) as exists:
        Ledger.create(folder)

    assert (missing.value.code, exists.value.code) == ("missing", "exists")
    assert not (tmp_path / "elsewhere").exists()


def test_a_ledger_whose_making_was_cut_short_is_finished_at_the_next_start(
    tmp_path: Path, clock: Clock
) -> None:
    (tmp_path / FILE).touch()

    with Ledger.open(tmp_path, clock) as ledger:
        assert len(keep(ledger)) == 1


def test_times_never_go_backwards(ledger: Ledger, clock: Clock) -> None:
    keep(ledger)
    clock.now = NOON - timedelta(milliseconds=900)
    (second,) = keep(ledger)
    clock.now = NOON + timedelta(seconds=5)
    (third,) = keep(ledger)

    assert second.at == NOON
    assert third.at == NOON + timedelta(seconds=5)
    assert ledger.streams() == [RUN]


def stepped(ledger: Ledger) -> list[Stored]:
    return [event for event in ledger.read("site") if event.kind == "ClockSteppedBack"]


def test_a_clock_that_stepped_back_is_put_on_record_once(ledger: Ledger, clock: Clock) -> None:
    keep(ledger)
    clock.now = NOON - timedelta(hours=1)
    behind = keep(ledger, a_draft(), a_draft())
    clock.now = NOON - timedelta(minutes=59)
    keep(ledger)

    (event,) = stepped(ledger)
    assert event.body == {
        "clock": "2026-11-25T11:00:00.000000Z",
        "last": "2026-11-25T12:00:00.000000Z",
    }
    assert (event.at, event.by, [e.at for e in behind]) == (NOON, "", [NOON, NOON])

    clock.now = NOON + timedelta(seconds=1)
    keep(ledger)
    clock.now = NOON - timedelta(hours=1)
    keep(ledger)
    assert len(stepped(ledger)) == 2


def test_a_clock_that_stepped_back_while_the_server_was_off_is_noticed(
    folder: Path, clock: Clock
) -> None:
    with Ledger.open(folder, clock) as ledger:
        keep(ledger)
    clock.now = NOON - timedelta(days=1)

    with Ledger.open(folder, clock) as ledger:
        (event,) = keep(ledger)

        assert event.at == NOON
        assert len(stepped(ledger)) == 1
