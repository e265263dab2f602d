"""Whether a site's folder holds: its ledger, the heads that were noted, its texts, photos and records.

It only reads, and may be asked beside a running server.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, NullPool, create_engine, func, select
from sqlalchemy.exc import DatabaseError

from app.desk.founding import PHOTOS, RECORDS
from app.desk.shelf import RUN
from app.ledger.blobs import Blobs
from app.ledger.canonical import digest
from app.ledger.chain import ledger_breaks
from app.ledger.database import FILE
from app.ledger.reading import read_stream
from app.ledger.stored import SITE, Stored
from app.ledger.tables import EVENTS, TEXTS
from app.ledger.trouble import LedgerTrouble
from app.record.sources import photos_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Audit:
    """What was found in a site's folder; nothing, if it holds."""

    faults: tuple[str, ...]
    streams: int = 0
    events: int = 0
    photos: int = 0
    records: int = 0


@contextmanager
def reading(folder: Path) -> Iterator[Connection]:
    """Open a site's ledger for reading alone.

    Raises:
        LedgerTrouble: there is none.
    """
    path = folder / FILE
    if not path.is_file():
        raise LedgerTrouble("missing", f"There is no ledger in {folder}.")
    uri = f"{path.absolute().as_uri()}?mode=ro"
    engine = create_engine(
        "sqlite://", creator=lambda: sqlite3.connect(uri, uri=True), poolclass=NullPool
    )
    try:
        with engine.connect() as connection:
            yield connection
    finally:
        engine.dispose()


def audit(folder: Path) -> Audit:
    """Look through everything that a site keeps.

    Raises:
        LedgerTrouble: there is no ledger to look through.
    """
    with reading(folder) as connection:
        try:
            return _audited(connection, folder)
        except (sqlite3.DatabaseError, DatabaseError) as failure:
            return Audit(faults=(f"The file of the ledger is damaged: {failure}.",))


def _audited(connection: Connection, folder: Path) -> Audit:
    said = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one()
    if said != "ok":
        return Audit(faults=(f"The file of the ledger is damaged: {said}.",))
    broken = ledger_breaks(connection)
    faults = [str(each) for each in broken]
    photos: set[str] = set()
    records = 0
    if not broken:
        site = read_stream(connection, SITE)
        faults += _unlike_the_site(connection, site, folder)
        records = sum(each.kind == "RunSealed" for each in site)
        photos = _photos(connection)
        faults += _photo_faults(folder, photos)
    faults += _text_faults(connection)
    streams, events = connection.execute(
        select(func.count(func.distinct(EVENTS.c.stream)), func.count())
    ).one()
    return Audit(
        faults=tuple(faults), streams=streams, events=events, photos=len(photos), records=records
    )


def _text_faults(connection: Connection) -> Iterator[str]:
    for sha256, content in connection.execute(select(TEXTS.c.sha256, TEXTS.c.content)):
        # A hand that changes a text with the database's own functions leaves it as another type.
        found = content.encode() if isinstance(content, str) else content
        if digest(found) != sha256:
            yield f"The text kept as {sha256[:12]} is not that text."


def _unlike_the_site(connection: Connection, site: Sequence[Stored], folder: Path) -> Iterator[str]:
    """Yield where a run, or a sealed file, is not as the site's stream noted it."""
    rows = connection.execute(select(EVENTS.c.stream, EVENTS.c.seq, EVENTS.c.hash))
    hashes = {(row.stream, row.seq): row.hash for row in rows}
    known = {stream for stream, _ in hashes}
    opened = {f"{RUN}{each.body['run']}" for each in site if each.kind == "RunOpened"}
    yield from (f"{s} has events, and was never opened." for s in sorted(known - opened - {SITE}))
    yield from (f"{s} was opened, and its events are gone." for s in sorted(opened - known))
    for each in site:
        run = str(each.body.get("run", ""))
        if each.kind == "HeadNoted":
            seq = int(each.body["seq"])
            found = hashes.get((f"{RUN}{run}", seq))
            if found is None:
                yield f"{run} had come to event {seq}; its tail is cut."
            elif found != each.body["hash"]:
                yield f"{run} has another event {seq} than the one that was noted."
        elif each.kind == "RunSealed":
            yield from _sealed_file(each, folder / RECORDS / f"{run}.pdf")


def _sealed_file(told: Stored, file: Path) -> Iterator[str]:
    if not file.is_file():
        yield f"The sealed record {file.name} is not there. Put it back from a backup."
    elif digest(file.read_bytes()) != told.body["sha256"]:
        yield f"The sealed record {file.name} is another file than the one that was sealed."


def _photos(connection: Connection) -> set[str]:
    streams = connection.execute(select(EVENTS.c.stream).distinct()).scalars()
    return {
        sha256
        for stream in list(streams)
        if stream.startswith(RUN)
        for sha256 in photos_in(read_stream(connection, stream))
    }


def _photo_faults(folder: Path, photos: set[str]) -> Iterator[str]:
    blobs = Blobs(folder / PHOTOS)
    for sha256 in sorted(photos):
        path = blobs.path(sha256)
        if path is None:
            yield f"The photo {sha256[:12]} is named in a run, and is not there."
        elif digest(path.read_bytes()) != sha256:
            yield f"The photo {sha256[:12]} is another file than the one that was kept."


def site_log(folder: Path) -> list[Stored]:
    """Return the site's own stream, whole.

    Raises:
        LedgerTrouble: there is none, or an event of it is damaged.
    """
    with reading(folder) as connection:
        return read_stream(connection, SITE)
