from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory

from app.ledger import upgrade as upgrading
from app.ledger.backup import check_copy
from app.ledger.canonical import digest
from app.ledger.database import FILE
from app.ledger.ledger import Ledger, LedgerTrouble
from app.ledger.stored import Receipt
from app.ledger.upgrade import migrations_folder, upgrade
from tests.ledger.bench import NOON, RUN, Clock, keep

STORED = Path(__file__).parent / "stored"
LATER = """
from alembic import op
revision = "9999"
down_revision = "{head}"
def upgrade() -> None:
    op.execute("CREATE TABLE later (id INTEGER)")
    {more}
"""


def newest() -> str:
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    return str(ScriptDirectory.from_config(config).get_current_head())


def restored(version: str, folder: Path) -> Path:
    folder.mkdir()
    connection = sqlite3.connect(folder / FILE)
    connection.executescript((STORED / f"{version}.sql").read_text())
    connection.close()
    return folder


def version_of(path: Path) -> str:
    connection = sqlite3.connect(path)
    (version,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    connection.close()
    return str(version)


@pytest.fixture
def later(tmp_path: Path) -> Path:
    """Give migrations that know one version more."""
    folder = tmp_path / "100% migrations"
    shutil.copytree(migrations_folder(), folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "9999_a_later_version.py").write_text(
        LATER.format(head=newest(), more="")
    )
    return folder


def test_a_ledger_of_the_first_version_is_opened_whole(tmp_path: Path, clock: Clock) -> None:
    folder = restored("0001", tmp_path / "site")

    with Ledger.open(folder, clock) as ledger:
        events = list(ledger.read_all())
        receipt = ledger.submit(lambda tx: tx.receipt(RUN, "key-1")).result(10)
        (added,) = keep(ledger)

        assert [(e.stream, e.seq, e.kind) for e in events] == [
            ("site", 1, "PersonAdded"),
            (RUN, 1, "RunOpened"),
            (RUN, 2, "EntryMade"),
        ]
        assert receipt == Receipt(RUN, "key-1", "f", '{"seq":2}')
        assert ledger.text(digest(b'id = "QP-4"\n')) == b'id = "QP-4"\n'
        assert added.prev == events[-1].hash
        assert ledger.verify() == []
    assert version_of(folder / FILE) == newest()


def test_a_backup_is_made_before_a_ledger_is_upgraded(
    folder: Path, clock: Clock, later: Path, tmp_path: Path
) -> None:
    with Ledger.open(folder, clock) as ledger:
        keep(ledger)

    upgrade(folder / FILE, backups=tmp_path / "backups", at=NOON, migrations=later)

    (backup,) = (tmp_path / "backups").iterdir()
    assert backup.name == "before-9999-20261125T120000Z.db"
    assert version_of(folder / FILE) == "9999"
    assert version_of(backup) == newest()
    check_copy(backup)


def test_an_upgrade_that_breaks_off_changes_nothing(
    folder: Path, later: Path, tmp_path: Path
) -> None:
    (later / "versions" / "9999_a_later_version.py").write_text(
        LATER.format(head=newest(), more='raise RuntimeError("power cut")')
    )

    with pytest.raises(RuntimeError, match="power cut"):
        upgrade(folder / FILE, backups=tmp_path / "backups", at=NOON, migrations=later)

    connection = sqlite3.connect(folder / FILE)
    tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    connection.close()
    assert "later" not in tables
    assert version_of(folder / FILE) == newest()


def test_a_ledger_that_is_up_to_date_is_not_backed_up(folder: Path, clock: Clock) -> None:
    Ledger.open(folder, clock).close()

    assert not (folder / "backups").exists()


def test_a_ledger_of_a_newer_version_is_refused(
    folder: Path, clock: Clock, later: Path, tmp_path: Path
) -> None:
    upgrade(folder / FILE, backups=tmp_path / "backups", at=NOON, migrations=later)

    with pytest.raises(LedgerTrouble) as trouble:
        Ledger.open(folder, clock)

    assert trouble.value.code == "newer"
    assert str(trouble.value) == (
        "The ledger was written by a newer version (form 9999). Start that version."
    )


def test_migrations_come_from_inside_an_installed_package_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "app"
    (package / "ledger").mkdir(parents=True)
    monkeypatch.setattr(upgrading, "__file__", str(package / "ledger" / "upgrade.py"))

    assert migrations_folder() == tmp_path / "migrations"
    (package / "_data" / "migrations").mkdir(parents=True)
    assert migrations_folder() == package / "_data" / "migrations"


def test_migrations_are_named_in_order_and_by_what_they_do() -> None:
    names = sorted(p.stem for p in (migrations_folder() / "versions").glob("*.py"))

    assert [name[:4] for name in names] == [f"{n:04}" for n in range(1, len(names) + 1)]
    assert all(name[4] == "_" and len(name) > 10 for name in names)
