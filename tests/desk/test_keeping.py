"""Backups that are known to be good, and putting one back."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.desk.auditing import audit
from app.desk.desk import Desk
from app.desk.keeping import back_up_site, last_backup, restore_site
from app.ledger.trouble import LedgerTrouble
from app.record.verify import verify

NOW = datetime(2027, 5, 6, 20, 0, tzinfo=UTC)


def test_a_backup_beside_a_running_server_holds_everything(demo_site: Path, tmp_path: Path) -> None:
    desk = Desk.open(demo_site)
    try:
        kept = back_up_site(demo_site, tmp_path / "far", NOW)
    finally:
        desk.close()

    assert kept.folder == tmp_path / "far" / "20270506T200000Z"
    assert kept.audit == audit(demo_site)
    assert {each.name for each in (kept.folder / "photos").iterdir()} == {
        each.name for each in (demo_site / "photos").iterdir()
    }


def test_neither_the_passphrase_nor_the_roots_key_is_in_a_backup(
    demo_site: Path, tmp_path: Path
) -> None:
    kept = back_up_site(demo_site, tmp_path, NOW)

    assert {each.name for each in (kept.folder / "keys").iterdir()} == {
        "root.pem",
        "signing.pem",
        "signing-key.pem",
    }


def test_the_drill_of_restoring_ends_in_a_site_that_works(demo_site: Path, tmp_path: Path) -> None:
    kept = back_up_site(demo_site, tmp_path / "far", NOW)

    back = restore_site(kept.folder, tmp_path / "again")

    assert back.audit.faults == ()
    shutil.copy2(demo_site / "keys" / "passphrase", tmp_path / "again" / "keys" / "passphrase")
    desk = Desk.open(tmp_path / "again")
    try:
        assert [state.run for state in desk.runs()] == ["R-0001", "R-0002"]
        sealed = desk.record("R-0001")
    finally:
        desk.close()
    assert sealed is not None
    assert verify(sealed.path.read_bytes(), sealed.root).ok


@pytest.mark.parametrize("name", ["ledger.db", "records/R-0001.pdf"])
def test_a_backup_that_was_changed_is_not_put_back(
    demo_site: Path, tmp_path: Path, name: str
) -> None:
    kept = back_up_site(demo_site, tmp_path / "far", NOW)
    file = kept.folder / name
    file.write_bytes(file.read_bytes()[:-1] + b"\7")

    with pytest.raises(
        LedgerTrouble, match=r"is not as it was backed up[.] Nothing was written[.]"
    ):
        restore_site(kept.folder, tmp_path / "again")

    assert not (tmp_path / "again").exists()


def test_a_site_that_does_not_hold_is_not_backed_up(demo_site: Path, tmp_path: Path) -> None:
    min((demo_site / "photos").iterdir()).unlink()

    with pytest.raises(LedgerTrouble, match="The copy does not hold: The photo "):
        back_up_site(demo_site, tmp_path / "far", NOW)

    assert list((tmp_path / "far").iterdir()) == []


def test_nothing_is_written_over(demo_site: Path, tmp_path: Path) -> None:
    kept = back_up_site(demo_site, tmp_path, NOW)

    with pytest.raises(LedgerTrouble, match=r"is there already[.] Nothing was written[.]"):
        back_up_site(demo_site, tmp_path, NOW)
    with pytest.raises(LedgerTrouble, match=r"is there already[.] Nothing was written[.]"):
        restore_site(kept.folder, demo_site)


def test_the_last_backup_is_known_by_its_name(demo_site: Path) -> None:
    assert last_backup(demo_site) is None

    back_up_site(demo_site, None, NOW)

    assert last_backup(demo_site) == NOW
