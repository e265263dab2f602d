from __future__ import annotations

import threading
from pathlib import Path

import pytest

from app.ledger.database import FILE
from app.ledger.ledger import Ledger, LedgerTrouble
from tests.ledger.bench import RUN, Clock, a_draft, appending, keep
from tests.ledger.test_chain import damaged


def test_a_backup_opens_as_a_ledger_with_the_same_events(
    ledger: Ledger, clock: Clock, tmp_path: Path
) -> None:
    events = keep(ledger, a_draft(), a_draft("site"))

    copy = ledger.back_up(tmp_path / "copy" / FILE)

    assert [p.name for p in copy.parent.iterdir()] == [FILE]
    with Ledger.open(copy.parent, clock) as restored:
        assert list(restored.read_all()) == events
        assert restored.verify() == []


def test_a_backup_beside_a_busy_writer_ends_and_holds(
    ledger: Ledger, clock: Clock, tmp_path: Path
) -> None:
    enough = threading.Event()

    def write() -> None:
        while not enough.is_set():
            ledger.submit(appending(a_draft())).result(10)

    writing = threading.Thread(target=write)
    keep(ledger)
    writing.start()
    copy = ledger.back_up(tmp_path / "copy" / FILE)
    enough.set()
    writing.join()

    with Ledger.open(copy.parent, clock) as restored:
        copied = restored.read(RUN)
    assert copied == ledger.read(RUN)[: len(copied)]
    assert len(copied) >= 1


def test_a_backup_never_takes_the_place_of_another_file(ledger: Ledger, tmp_path: Path) -> None:
    (tmp_path / "copy.db").write_text("mine")

    with pytest.raises(LedgerTrouble) as trouble:
        ledger.back_up(tmp_path / "copy.db")

    assert trouble.value.code == "exists"
    assert (tmp_path / "copy.db").read_text() == "mine"


def test_a_backup_whose_chain_does_not_hold_gets_no_name(
    folder: Path, clock: Clock, tmp_path: Path
) -> None:
    with Ledger.open(folder, clock) as ledger:
        keep(ledger, a_draft(), a_draft())
    damaged(folder, lambda c: c.execute("UPDATE events SET by = 'XX' WHERE seq = 2"))

    with Ledger.open(folder, clock) as ledger, pytest.raises(LedgerTrouble) as trouble:
        ledger.back_up(tmp_path / "copies" / "copy.db")

    assert str(trouble.value) == (
        "The copy copy.db.part does not hold: run/R-0001: event 2 does not say what its row says."
    )
    assert list((tmp_path / "copies").iterdir()) == []
