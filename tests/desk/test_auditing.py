"""What is done to a site's folder behind the server's back, and what looking through it says."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import orjson
import pytest

from app.desk.auditing import audit, site_log
from app.ledger.canonical import canonical, digest
from app.ledger.trouble import LedgerTrouble

RUN = "run/R-0001"


def opened(folder: Path) -> sqlite3.Connection:
    """Open the ledger as its keeper could: without what forbids changes."""
    connection = sqlite3.connect(folder / "ledger.db", isolation_level=None)
    for (name,) in connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall():
        connection.execute(f"DROP TRIGGER {name}")
    return connection


def number_of(connection: sqlite3.Connection, kind: str) -> int:
    query = "SELECT min(seq) FROM events WHERE stream = ? AND kind = ?"
    found: int = connection.execute(query, (RUN, kind)).fetchone()[0]
    return found


def one_value(folder: Path) -> None:
    """The bytes alone."""
    with opened(folder) as ledger:
        at = number_of(ledger, "EntryMade")
        ledger.execute(
            "UPDATE events SET canonical = CAST(replace(canonical, 'good', 'fine') AS BLOB) "
            "WHERE stream = ? AND seq = ?",
            (RUN, at),
        )


def one_event_with_its_hash(folder: Path) -> None:
    with opened(folder) as ledger:
        told(ledger, number_of(ledger, "SeatSigned"), by="SH")


def one_column(folder: Path) -> None:
    with opened(folder) as ledger:
        ledger.execute(
            'UPDATE events SET "by" = ? WHERE stream = ? AND seq = ?',
            ("SH", RUN, number_of(ledger, "SeatSigned")),
        )


def the_tail(folder: Path) -> None:
    with opened(folder) as ledger:
        last = number_of(ledger, "RunClosed")
        ledger.execute("DELETE FROM events WHERE stream = ? AND seq >= ?", (RUN, last))


def the_middle(folder: Path) -> None:
    with opened(folder) as ledger:
        at = number_of(ledger, "WorkStopped")
        ledger.execute("DELETE FROM events WHERE stream = ? AND seq = ?", (RUN, at))


def the_whole_run(folder: Path) -> None:
    with opened(folder) as ledger:
        ledger.execute("DELETE FROM events WHERE stream = ?", (RUN,))


def the_whole_chain_mended(folder: Path) -> None:
    """The stop told otherwise, and every event after it chained anew."""
    with opened(folder) as ledger:
        told(ledger, number_of(ledger, "WorkStopped"), mend=True, by="")


def the_text_of_the_procedure(folder: Path) -> None:
    with opened(folder) as ledger:
        ledger.execute("UPDATE texts SET content = content || '\n# afterwards'")


def the_order(folder: Path) -> None:
    with opened(folder) as ledger:
        at = number_of(ledger, "RestartSigned")
        for old, new in ((at, -1), (at + 1, at), (-1, at + 1)):
            ledger.execute(
                "UPDATE events SET seq = ? WHERE stream = ? AND seq = ?", (new, RUN, old)
            )


def the_sealed_file(folder: Path) -> None:
    record = folder / "records" / "R-0001.pdf"
    record.write_bytes(record.read_bytes() + b"\n")


def no_sealed_file(folder: Path) -> None:
    (folder / "records" / "R-0001.pdf").unlink()


def a_photo_gone(folder: Path) -> None:
    min((folder / "photos").iterdir()).unlink()


def a_photo_changed(folder: Path) -> None:
    photo = min((folder / "photos").iterdir())
    photo.write_bytes(photo.read_bytes() + b"\0")


def told(ledger: sqlite3.Connection, at: int, *, mend: bool = False, **other: str) -> None:
    """Tell one event otherwise, its hash too; with `mend` the whole chain after it."""
    rows = ledger.execute(
        "SELECT seq, canonical, hash FROM events WHERE stream = ? AND seq >= ? ORDER BY seq",
        (RUN, at),
    ).fetchall()
    prev = ""
    for seq, content, _ in rows if mend else rows[:1]:
        envelope = orjson.loads(content)
        if seq == at:
            envelope |= other
        envelope["prev"] = prev or envelope["prev"]
        spelt = canonical(envelope)
        prev = digest(spelt)
        ledger.execute(
            'UPDATE events SET canonical = ?, hash = ?, "by" = ? WHERE stream = ? AND seq = ?',
            (spelt, prev, envelope["by"], RUN, seq),
        )


TAMPERINGS: dict[Callable[[Path], None], str] = {
    one_value: "is not what its hash was taken over.",
    one_event_with_its_hash: "does not follow event",
    one_column: "does not say what its row says.",
    the_tail: "its tail is cut.",
    the_middle: "run/R-0001: expected event",
    the_whole_run: "run/R-0001 was opened, and its events are gone.",
    the_whole_chain_mended: "than the one that was noted.",
    the_text_of_the_procedure: "is not that text.",
    the_order: "run/R-0001: ",
    the_sealed_file: "The sealed record R-0001.pdf is another file than the one that was sealed.",
    no_sealed_file: "The sealed record R-0001.pdf is not there. Put it back from a backup.",
    a_photo_gone: "is named in a run, and is not there.",
    a_photo_changed: "is another file than the one that was kept.",
}


def test_a_site_left_alone_holds(demo_site: Path) -> None:
    found = audit(demo_site)

    assert found.faults == ()
    assert (found.streams, found.records) == (3, 1)
    assert found.events > 300
    assert found.photos > 20


@pytest.mark.parametrize("tamper", TAMPERINGS, ids=lambda each: each.__name__)
def test_whatever_is_changed_in_a_sites_folder_is_found(
    demo_site: Path, tamper: Callable[[Path], None]
) -> None:
    tamper(demo_site)

    found = audit(demo_site)

    assert any(TAMPERINGS[tamper] in fault for fault in found.faults), found.faults


def test_a_file_that_is_no_ledger_is_told(demo_site: Path) -> None:
    (demo_site / "ledger.db").write_bytes(b"SQLite format 3\0" + b"\1" * 4096)

    assert any("damaged" in fault for fault in audit(demo_site).faults)


def test_a_folder_without_a_ledger_is_told(tmp_path: Path) -> None:
    with pytest.raises(LedgerTrouble, match="There is no ledger in"):
        site_log(tmp_path)


def test_looking_through_changes_nothing(demo_site: Path) -> None:
    before = digest((demo_site / "ledger.db").read_bytes())

    audit(demo_site)

    assert digest((demo_site / "ledger.db").read_bytes()) == before
    shutil.rmtree(demo_site)
