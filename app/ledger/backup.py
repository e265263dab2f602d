"""A copy of the ledger that is known to be good: made beside the writer, checked, then named.

`VACUUM INTO` on a reading connection: the step-by-step backup call starts again at every commit
and was measured never to end beside fifty entries a second.
"""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

from sqlalchemy import NullPool, create_engine

from app.ledger.chain import ledger_breaks
from app.ledger.database import connect, flush_folder
from app.ledger.trouble import LedgerTrouble, trouble_code


def back_up(path: Path, target: Path) -> Path:
    """Copy the database to a new file, photos not included, and return the file.

    Raises:
        LedgerTrouble: the copy could not be made, or does not hold; nothing bears the name then.
    """
    if target.exists():
        raise LedgerTrouble("exists", f"{target} is there already. Nothing was written.")
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(target.name + ".part")
    part.unlink(missing_ok=True)
    try:
        _copy(path, part)
        check_copy(part)
        part.rename(target)
    except sqlite3.Error as failure:
        code = trouble_code(failure) or "disk_fault"
        raise LedgerTrouble(code, f"No backup was made: {failure}.") from failure
    finally:
        part.unlink(missing_ok=True)
    flush_folder(target.parent)
    return target


def check_copy(copy: Path) -> None:
    """Check a copy that nothing writes to: every page, every chain.

    Raises:
        LedgerTrouble: it does not hold.
        sqlite3.Error: it cannot be read.
    """
    uri = f"{copy.absolute().as_uri()}?mode=ro&immutable=1"
    engine = create_engine(
        "sqlite://", creator=lambda: sqlite3.connect(uri, uri=True), poolclass=NullPool
    )
    with engine.connect() as connection:
        said = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one()
        if said != "ok":
            raise LedgerTrouble("corrupt", f"The copy {copy.name} is damaged: {said}.")
        for found in ledger_breaks(connection):
            raise LedgerTrouble("corrupt", f"The copy {copy.name} does not hold: {found}")


def _copy(path: Path, part: Path) -> None:
    connection = connect(path, "ro")
    try:
        connection.execute("VACUUM INTO ?", (str(part),))
    finally:
        connection.close()
    descriptor = os.open(part, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
