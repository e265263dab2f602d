"""The file that the ledger lies in: how it is opened, and when it is refused.

Rules:
- a connection never makes the file (`mode=rw`); only `make` does, when asked to by name;
- every connection sets its PRAGMAs and reads them back, since `synchronous` is not kept in the file;
- one server at a time holds the lock file: heads and states are cached in one process;
- the path must lead to the file that was opened, else entries go into a file nobody will find.
"""

from __future__ import annotations

import fcntl
import os
import sqlite3
from pathlib import Path

from sqlalchemy import Connection, Engine, NullPool, QueuePool, create_engine, event

from app.ledger.trouble import LedgerTrouble, trouble_code

FILE = "ledger.db"
LOCK = "ledger.lock"
FULL = 2  # PRAGMA synchronous: a commit returns after the flush

_PRAGMAS: dict[str, str | int] = {
    "journal_mode": "wal",
    "synchronous": FULL,
    "busy_timeout": 5000,
    "foreign_keys": 1,
    "recursive_triggers": 1,  # else REPLACE deletes without asking the DELETE trigger
    "fullfsync": 1,  # macOS: a plain flush stops at the drive's own cache
}

# Where WAL's shared memory does not work, or locks are not kept (SQLite: "WAL", section 1).
_NETWORK = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ceph", "glusterfs", "fuse.sshfs"}
_NETWORK |= {"fuse.glusterfs", "lustre", "gfs2", "ocfs2", "davfs", "fuse.rclone"}


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """Open the file as `rw` or `ro`, with all settings read back.

    Raises:
        sqlite3.Error: SQLite cannot open it.
        LedgerTrouble: a setting did not hold.
    """
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    # isolation_level None: SQLAlchemy's begin event decides when and how a transaction begins
    connection = sqlite3.connect(uri, uri=True, check_same_thread=False, isolation_level=None)
    try:
        for name, wanted in _PRAGMAS.items():
            connection.execute(f"PRAGMA {name}={wanted}")
            found = connection.execute(f"PRAGMA {name}").fetchone()[0]
            if found != wanted:
                sentence = (
                    f"The ledger does not open: SQLite keeps {name} at {found}, not {wanted}."
                )
                raise LedgerTrouble("disk_fault", sentence)
    except BaseException:
        connection.close()
        raise
    return connection


def write_engine(path: Path) -> Engine:
    """Return the engine of the one writer: every transaction takes the write lock at once."""
    engine = create_engine("sqlite://", creator=lambda: connect(path, "rw"), poolclass=NullPool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def read_engine(path: Path) -> Engine:
    """Return the engine of the readers: connections that cannot write, each on one snapshot."""
    engine = create_engine(
        "sqlite://", creator=lambda: connect(path, "ro"), poolclass=QueuePool, max_overflow=10
    )

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def make(path: Path) -> None:
    """Make an empty database file in WAL mode, and flush its name to the disk.

    Raises:
        LedgerTrouble: there is one already.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        path.open("xb").close()
    except FileExistsError as failure:
        sentence = f"{path.parent} holds a ledger already. Nothing was changed."
        raise LedgerTrouble("exists", sentence) from failure
    connect(path, "rw").close()
    flush_folder(path.parent)


def flush_folder(folder: Path) -> None:
    """Flush a folder, so that the names in it outlast a power cut."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def check_pages(path: Path) -> None:
    """Look through the file's pages (`quick_check`).

    Raises:
        LedgerTrouble: they are damaged, or cannot be read.
    """
    try:
        connection = connect(path, "rw")
        try:
            said = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
        finally:
            connection.close()
    except sqlite3.Error as failure:
        code = trouble_code(failure) or "corrupt"
        raise LedgerTrouble(code, f"The ledger {path} does not open: {failure}.") from failure
    if said != "ok":
        sentence = f"The ledger {path} is damaged: {said}. Put the last backup in its place."
        raise LedgerTrouble("corrupt", sentence)


def refuse_network_disk(folder: Path, mounts: Path = Path("/proc/mounts")) -> None:
    """Refuse a folder on a network file system, where the system tells.

    Raises:
        LedgerTrouble: it is on one.
    """
    if not mounts.exists():
        return
    home, longest, kind = folder.resolve(), -1, ""
    for line in mounts.read_text("utf-8", "replace").splitlines():
        _, point, filesystem, *_ = line.split(" ")
        place = Path(point.replace("\\040", " "))
        if home.is_relative_to(place) and len(place.parts) >= longest:
            longest, kind = len(place.parts), filesystem
    if kind in _NETWORK:
        sentence = f"{folder} is on a network disk ({kind}). Put the ledger on a disk of the server itself."
        raise LedgerTrouble("network_disk", sentence)


class Lock:
    """The lock file beside the database; the system lets go of it when the process ends."""

    def __init__(self, folder: Path) -> None:
        try:
            self._descriptor = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT, 0o644)
        except OSError as failure:
            sentence = f"The server cannot write in {folder}: {failure.strerror}."
            raise LedgerTrouble("read_only", sentence) from failure
        try:
            fcntl.flock(self._descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as failure:
            os.close(self._descriptor)
            sentence = f"Another server has the ledger in {folder} open. Stop it first."
            raise LedgerTrouble("second_server", sentence) from failure

    def release(self) -> None:
        """Let another server open the ledger."""
        os.close(self._descriptor)


class Place:
    """Which files the path and its write-ahead log led to when the ledger was opened."""

    def __init__(self, path: Path) -> None:
        self._paths = (path, path.with_name(path.name + "-wal"))
        self._opened = self._look()

    def check(self) -> None:
        """Make sure that what is written goes where it will be looked for.

        Raises:
            LedgerTrouble: the path leads elsewhere, or nowhere.
        """
        if self._look() != self._opened:
            raise LedgerTrouble("replaced")

    def _look(self) -> list[tuple[int, int] | None]:
        seen: list[tuple[int, int] | None] = []
        for path in self._paths:
            try:
                found = path.stat()
            except OSError:
                seen.append(None)
            else:
                seen.append((found.st_dev, found.st_ino))
        return seen


def sqlite_warning(version: tuple[int, int, int] = sqlite3.sqlite_version_info) -> str:
    """Return a sentence if this SQLite has the rare write-ahead-log reset race, else nothing.

    Public summaries say 3.7.0 to 3.51.2, mended in 3.51.3, 3.50.7 and 3.44.6; not checked at the
    source. One connection does all commits and checkpoints here, which takes its window away.
    """
    mended = version >= (3, 51, 3) or (
        version[:2] in {(3, 50), (3, 44)} and version[2] >= (7 if version[1] == 50 else 6)
    )
    if mended or version < (3, 7, 0):
        return ""
    said = ".".join(map(str, version))
    return f"SQLite {said} has a rare fault in its write-ahead log, mended in 3.51.3. Update SQLite when you can."
