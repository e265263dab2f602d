"""D: the least that one durable entry can cost on this disk; and the refusal of disks in memory.

A raw insert of a row as heavy as an event's, in a file of its own on the disk that is judged, under
the ledger's own settings. What the disk asks for one flush is measured beside it, for orientation.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

from app.ledger.database import connect

IN_MEMORY = {"tmpfs", "ramfs"}
ROW = "x" * 357  # bytes of an event's canonical form, as was measured
TABLE = "CREATE TABLE e (id INTEGER PRIMARY KEY, stream TEXT, seq INTEGER, hash TEXT, body TEXT)"
INSERT = "INSERT INTO e (stream, seq, hash, body) VALUES (?, ?, ?, ?)"


class Durable:
    """A file into which raw rows are put, each flushed."""

    def __init__(self, folder: Path) -> None:
        path = folder / "durable.db"
        path.touch()
        self._connection = connect(path, "rw")
        self._connection.execute(TABLE)
        self._count = 0

    def insert(self) -> None:
        """Put one row in, durably."""
        self._count += 1
        self._connection.execute("BEGIN IMMEDIATE")
        self._connection.execute(INSERT, ("run/R-0001", self._count, "0" * 64, ROW))
        self._connection.execute("COMMIT")


def flush_ms(folder: Path, count: int = 50) -> list[float]:
    """Return how long single flushes take on this disk."""
    took = []
    with (folder / "flushed").open("wb") as file:
        for _ in range(count):
            file.write(b"x" * 4096)
            file.flush()
            started = time.perf_counter()
            os.fdatasync(file.fileno())
            took.append((time.perf_counter() - started) * 1e3)
    return took


def file_system(folder: Path) -> str:
    """Return the kind of file system that a folder is on."""
    home, longest, kind = folder.resolve(), -1, "?"
    for line in Path("/proc/mounts").read_text("utf-8", "replace").splitlines():
        _, point, found, *_ = line.split(" ")
        place = Path(point)
        if home.is_relative_to(place) and len(place.parts) >= longest:
            longest, kind = len(place.parts), found
    return kind
