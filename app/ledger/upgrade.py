"""Bringing an older ledger up to this version: backup first, then Alembic, all in one transaction."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from app.ledger.backup import back_up
from app.ledger.database import write_engine
from app.ledger.trouble import LedgerTrouble


def migrations_folder() -> Path:
    """Return where the migrations lie: inside the installed package, else in the checkout."""
    package = Path(__file__).resolve().parents[1]
    packaged = package / "_data" / "migrations"
    return packaged if packaged.is_dir() else package.parent / "migrations"


def upgrade(path: Path, *, backups: Path, at: datetime, migrations: Path | None = None) -> None:
    """Upgrade the database at a path if it is behind; a backup is taken just before.

    Raises:
        LedgerTrouble: it was written by a newer version, or the backup does not hold.
    """
    config = Config()
    folder = str(migrations or migrations_folder())
    config.set_main_option("script_location", folder.replace("%", "%%"))
    script = ScriptDirectory.from_config(config)
    newest = script.get_current_head()
    engine = write_engine(path)
    with engine.connect() as connection:
        present = MigrationContext.configure(connection).get_current_revision()
    if present == newest:
        return
    if present is not None:
        _refuse_newer(present, script)
        back_up(path, backups / f"before-{newest}-{at:%Y%m%dT%H%M%SZ}.db")
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _refuse_newer(present: str, script: ScriptDirectory) -> None:
    known = {each.revision for each in script.walk_revisions()}
    if present not in known:
        sentence = (
            f"The ledger was written by a newer version (form {present}). Start that version."
        )
        raise LedgerTrouble("newer", sentence)
