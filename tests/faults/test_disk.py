"""What the disk can do to a ledger, and what the person at the tablet is told."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.ledger.database import FILE
from app.ledger.ledger import Ledger, LedgerTrouble, Transaction
from app.ledger.trouble import SENTENCES
from tests.ledger.bench import RUN, Clock, a_draft, appending, keep, together


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    Ledger.create(tmp_path / "site")
    return tmp_path / "site"


@pytest.fixture
def ledger(folder: Path) -> Iterator[Ledger]:
    with Ledger.open(folder, Clock()) as opened:
        yield opened


def trouble_of(ledger: Ledger, part: str = "") -> LedgerTrouble:
    trouble = ledger.submit(appending(a_draft(part=part))).exception(10)
    assert isinstance(trouble, LedgerTrouble)
    return trouble


def pragma(ledger: Ledger, setting: str) -> None:
    def errand(transaction: Transaction) -> None:
        transaction.connection.exec_driver_sql(f"PRAGMA {setting}").close()

    ledger.submit(errand).result(10)


def test_a_full_database_keeps_none_of_a_batch_and_goes_on_when_there_is_room(
    ledger: Ledger,
) -> None:
    (first,) = keep(ledger)
    pragma(ledger, "max_page_count=1")  # SQLite sets it to what is there

    small, large = together(ledger, [appending(a_draft()), appending(a_draft(text="x" * 200_000))])

    for future in (small, large):
        trouble = future.exception()
        assert isinstance(trouble, LedgerTrouble)
        assert (trouble.code, str(trouble)) == ("disk_full", SENTENCES["disk_full"])
    assert ledger.read(RUN) == [first]

    pragma(ledger, "max_page_count=100000")
    (second,) = keep(ledger, a_draft(text="x" * 200_000))
    assert (second.seq, second.prev) == (2, first.hash)
    assert ledger.verify() == []


def test_an_errand_cannot_swallow_a_full_disk(ledger: Ledger) -> None:
    keep(ledger)
    pragma(ledger, "max_page_count=1")

    def swallow(transaction: Transaction) -> str:
        try:
            transaction.append(a_draft(text="x" * 200_000), "k")
        except Exception:  # noqa: BLE001, RUF100 - what a careless errand would do
            return "saved, it thinks"
        return "saved"

    trouble = ledger.submit(swallow).exception(10)

    assert isinstance(trouble, LedgerTrouble)
    assert trouble.code == "disk_full"
    assert len(ledger.read(RUN)) == 1


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Give a file system of 2 MiB of its own, where this system lets us mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = shutil.which("mount")
    made = mount and subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)],
        capture_output=True,
        check=False,
    )
    if not made or made.returncode != 0:
        pytest.skip("this system lets the tests mount no file system of their own")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_disk_that_is_really_full_loses_nothing_that_was_acknowledged(small_disk: Path) -> None:
    folder = small_disk / "site"
    Ledger.create(folder)
    with Ledger.open(folder, Clock()) as ledger:
        kept = 0
        while (future := ledger.submit(appending(a_draft(text="x" * 20_000)))).exception(
            10
        ) is None:
            kept += 1
        trouble = future.exception()

        assert isinstance(trouble, LedgerTrouble)
        assert trouble.code == "disk_full"
        assert len(ledger.read(RUN)) == kept > 10

    subprocess.run(["mount", "-o", "remount,size=8m", str(small_disk)], check=True)
    with Ledger.open(folder, Clock()) as ledger:
        keep(ledger)
        assert len(ledger.read(RUN)) == kept + 1
        assert ledger.verify() == []


def test_a_folder_that_may_only_be_read_is_refused_at_the_start(small_disk: Path) -> None:
    folder = small_disk / "site"
    Ledger.create(folder)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)

    with pytest.raises(LedgerTrouble) as trouble:
        Ledger.open(folder, Clock())

    assert trouble.value.code == "read_only"
    assert str(trouble.value) == f"The server cannot write in {folder}: Read-only file system."


def test_a_ledger_that_may_only_be_read_is_still_read(ledger: Ledger) -> None:
    (first,) = keep(ledger)
    pragma(ledger, "query_only=ON")

    trouble = trouble_of(ledger)

    assert (trouble.code, str(trouble)) == ("read_only", SENTENCES["read_only"])
    assert ledger.read(RUN) == [first]
    assert ledger.trouble is None


def test_a_failed_write_stops_the_writer_until_the_next_start(folder: Path) -> None:
    """The system's limit on the size of a file makes the write itself fail."""
    with Ledger.open(folder, Clock()) as ledger:
        (first,) = keep(ledger)
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, hard))
        try:
            trouble = ledger.submit(appending(a_draft(text="x" * 500_000))).exception(10)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

        assert isinstance(trouble, LedgerTrouble)
        assert trouble.code == "disk_fault"
        assert trouble_of(ledger).code == "disk_fault"
        assert ledger.read(RUN) == [first]

    with Ledger.open(folder, Clock()) as ledger:
        assert ledger.read(RUN) == [first]
        keep(ledger)


@pytest.mark.parametrize("name", [FILE, FILE + "-wal"])
@pytest.mark.parametrize("act", ["delete", "rename", "replace"])
def test_a_file_that_was_moved_away_under_the_server_takes_no_more_entries(
    folder: Path, ledger: Ledger, name: str, act: str
) -> None:
    keep(ledger)
    path = folder / name
    copy = path.read_bytes()
    path.rename(folder / "moved")
    if act == "delete":
        (folder / "moved").unlink()
    if act == "replace":
        path.write_bytes(copy)

    first, second = trouble_of(ledger), trouble_of(ledger)

    assert (first.code, str(first)) == ("replaced", SENTENCES["replaced"])
    assert second.code == "replaced"
    assert ledger.trouble is not None


def test_a_file_that_is_moved_away_during_a_batch_is_noticed_before_anyone_is_answered(
    folder: Path, ledger: Ledger
) -> None:
    def move(transaction: Transaction) -> None:
        transaction.append(a_draft(), "k")
        (folder / FILE).rename(folder / "moved")

    trouble = ledger.submit(move).exception(10)

    assert isinstance(trouble, LedgerTrouble)
    assert trouble.code == "replaced"


def filled(folder: Path) -> None:
    with Ledger.open(folder, Clock()) as ledger:
        keep(ledger, *[a_draft(text="x" * 3000) for _ in range(20)])


def overwrite_pages(path: Path, first: int, last: int) -> None:
    with path.open("r+b") as file:
        file.seek((first - 1) * 4096)
        file.write(os.urandom((last - first + 1) * 4096))


def test_damaged_pages_are_found_at_the_start(folder: Path) -> None:
    filled(folder)
    pages = (folder / FILE).stat().st_size // 4096
    overwrite_pages(folder / FILE, pages // 2, pages)

    with pytest.raises(LedgerTrouble) as trouble:
        Ledger.open(folder, Clock())

    assert trouble.value.code == "corrupt"
    assert str(folder / FILE) in str(trouble.value)


def test_a_damaged_page_that_nothing_reads_at_the_start_is_found_all_the_same(
    folder: Path,
) -> None:
    filled(folder)
    content = bytearray((folder / FILE).read_bytes())
    leaves = [
        at
        for at in range(4096, len(content), 4096)
        if content[at] == 0x0D and b"xxx" in content[at : at + 4096]
    ]
    middle = leaves[len(leaves) // 2]
    content[middle + 8 : middle + 10] = b"\xff\xff"  # where its first row lies: outside the page
    (folder / FILE).write_bytes(content)

    with pytest.raises(LedgerTrouble) as trouble:
        Ledger.open(folder, Clock())

    assert trouble.value.code == "corrupt"
    assert "Put the last backup in its place." in str(trouble.value)


def test_damage_met_while_running_stops_the_writer(folder: Path) -> None:
    filled(folder)
    with Ledger.open(folder, Clock()) as ledger:
        pages = (folder / FILE).stat().st_size // 4096
        overwrite_pages(folder / FILE, 2, pages)

        trouble = trouble_of(ledger)

        assert trouble.code == "corrupt"
        assert ledger.trouble is not None
        assert trouble_of(ledger).code == "corrupt"


def test_what_was_flushed_is_there_when_the_log_was_never_folded_in(
    folder: Path, tmp_path: Path
) -> None:
    """Copy the files as a power cut would leave them, with the log beside the database."""
    with Ledger.open(folder, Clock()) as ledger:
        events = keep(ledger, a_draft(), a_draft())
        shutil.copytree(folder, tmp_path / "after")
    (tmp_path / "after" / (FILE + "-shm")).unlink()

    with Ledger.open(tmp_path / "after", Clock()) as ledger:
        assert ledger.read(RUN) == events


def test_a_torn_log_loses_only_what_nobody_was_told_of(folder: Path, tmp_path: Path) -> None:
    with Ledger.open(folder, Clock()) as ledger:
        events = keep(ledger, a_draft())
        whole = (folder / (FILE + "-wal")).stat().st_size
        keep(ledger, a_draft())
        shutil.copytree(folder, tmp_path / "after")
    (tmp_path / "after" / (FILE + "-shm")).unlink()
    os.truncate(tmp_path / "after" / (FILE + "-wal"), whole + 100)

    with Ledger.open(tmp_path / "after", Clock()) as ledger:
        assert ledger.read(RUN) == events
        assert ledger.verify() == []
