"""Reading events and texts back from a connection."""

from __future__ import annotations

from sqlalchemy import Connection, select

from app.ledger.canonical import digest
from app.ledger.stored import Stored, unseal
from app.ledger.tables import EVENTS, TEXTS
from app.ledger.trouble import LedgerTrouble

_DAMAGED = "An event in the ledger is damaged. Verify the ledger, then put back the last backup."


def read_stream(connection: Connection, stream: str, after: int = 0) -> list[Stored]:
    """Return a stream's events past a number, in order.

    Raises:
        LedgerTrouble: an event is no longer what its hash was taken over.
    """
    rows = connection.execute(
        select(EVENTS.c.canonical, EVENTS.c.hash)
        .where(EVENTS.c.stream == stream, EVENTS.c.seq > after)
        .order_by(EVENTS.c.seq)
    )
    return [read_event(content, its_hash) for content, its_hash in rows]


def read_text(connection: Connection, sha256: str) -> bytes | None:
    """Return the bytes of a procedure, None if they were never kept."""
    query = select(TEXTS.c.content).where(TEXTS.c.sha256 == sha256)
    content: bytes | None = connection.execute(query).scalar_one_or_none()
    return content


def read_event(content: bytes, its_hash: str) -> Stored:
    """Return the event of a row, after comparing its bytes with its hash.

    Raises:
        LedgerTrouble: they differ, or are no event.
    """
    try:
        event = unseal(content, its_hash)
    except ValueError as failure:
        raise LedgerTrouble("corrupt", _DAMAGED) from failure
    if digest(content) != its_hash:
        raise LedgerTrouble("corrupt", _DAMAGED)
    return event
