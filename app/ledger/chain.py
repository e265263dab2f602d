"""The chain of a stream: every event carries the hash of the one before it.

Rules of a stream that holds:
1. its events are numbered 1, 2, 3 without a gap;
2. the first follows GENESIS, every other the hash of the event before it;
3. an event's hash is the SHA-256 of its stored bytes, and these are in canonical form;
4. the columns beside the bytes, and the name of the stream, say what the bytes say.
A tail that was cut off leaves a shorter stream that still holds: the heads kept in the site's own
stream show that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from app.ledger.canonical import digest, is_canonical, time_text
from app.ledger.stored import Stored, sound_envelope, unseal
from app.ledger.tables import EVENTS

GENESIS = "0" * 64
_THOROUGH = 100  # one event in so many is spelt again by the slow canonicaliser as well


@dataclass(frozen=True, slots=True)
class Link:
    """What the chain sees of an event."""

    seq: int
    prev: str
    hash: str


_BEFORE_ALL = Link(0, "", GENESIS)


@dataclass(frozen=True, slots=True)
class Break:
    """Where a chain stops holding, and why."""

    seq: int
    what: str
    stream: str = ""

    def __str__(self) -> str:
        return f"{self.stream}: {self.what}" if self.stream else self.what


@dataclass(frozen=True, slots=True)
class Columns:
    """What the table says beside an event's bytes."""

    stream: str
    seq: int
    at: str
    by: str
    kind: str
    hash: str

    @property
    def said(self) -> tuple[str, int, str, str, str]:
        """Return what the bytes must say too."""
        return (self.stream, self.seq, self.at, self.by, self.kind)


def first_break(links: Iterable[Link]) -> Break | None:
    """Return where the chain stops holding, or None if it holds to its end."""
    tail = _BEFORE_ALL
    for link in links:
        if what := _gap(tail, link):
            return Break(link.seq, what)
        tail = link
    return None


def event_or_break(
    stream: str, content: bytes, its_hash: str, *, thorough: bool = True
) -> Stored | Break:
    """Return the event that bytes spell, or what is wrong with it taken alone (rule 3)."""
    try:
        event = unseal(content, its_hash)
    except ValueError:
        return Break(0, "an event's bytes cannot be read.", stream)
    if digest(content) != its_hash:
        return Break(event.seq, f"event {event.seq} is not what its hash was taken over.", stream)
    if not is_canonical(content, thorough=thorough):
        return Break(event.seq, f"event {event.seq} is not in canonical form.", stream)
    if event.stream != stream:
        return Break(event.seq, f"event {event.seq} belongs to {event.stream}.", stream)
    return event


def stream_break(stream: str, kept: Iterable[tuple[bytes, str]]) -> Break | None:
    """Return where a stream, given as (canonical bytes, hash) in order, stops holding."""
    links: list[Link] = []
    for content, its_hash in kept:
        event = event_or_break(stream, content, its_hash)
        if isinstance(event, Break):
            before = first_break(links)
            return _of(stream, before) or event
        links.append(Link(event.seq, event.prev, event.hash))
    return _of(stream, first_break(links))


def ledger_breaks(connection: Connection) -> list[Break]:
    """Return the first break of every stream of a database that does not hold."""
    tails: dict[str, Link] = {}
    broken: dict[str, Break] = {}
    table = EVENTS.c
    rows = connection.execution_options(yield_per=1000).execute(
        select(
            table.stream, table.seq, table.at, table.by, table.kind, table.hash, table.canonical
        ).order_by(table.stream, table.seq)
    )
    for stream, seq, at, by, kind, its_hash, content in rows:
        if stream in broken:
            continue
        columns = Columns(stream, seq, at, by, kind, its_hash)
        link = _next(columns, content, tails.get(stream, _BEFORE_ALL))
        if isinstance(link, Break):
            broken[stream] = link
        else:
            tails[stream] = link
    return list(broken.values())


def _next(columns: Columns, content: bytes, tail: Link) -> Link | Break:
    thorough = columns.seq % _THOROUGH == 1
    envelope = None if thorough else sound_envelope(content, columns.hash)
    if envelope is None or _said_beside(envelope) != columns.said:
        return _looked_at(columns, content, tail, thorough=thorough)
    link = Link(columns.seq, envelope["prev"], columns.hash)
    what = _gap(tail, link)
    return Break(link.seq, what, columns.stream) if what else link


def _said_beside(envelope: Mapping[str, Any]) -> tuple[str, int, str, str, str]:
    return (
        envelope["stream"], envelope["seq"], envelope["at"], envelope["by"], envelope["kind"],
    )  # fmt: skip


def _looked_at(columns: Columns, content: bytes, tail: Link, *, thorough: bool) -> Link | Break:
    """Return the next link, or what is wrong with it, the slow way that tells."""
    event = event_or_break(columns.stream, content, columns.hash, thorough=thorough)
    if isinstance(event, Break):
        return Break(columns.seq, event.what, columns.stream)
    said = (event.seq, time_text(event.at), event.by, event.kind)
    if said != (columns.seq, columns.at, columns.by, columns.kind):
        what = f"event {columns.seq} does not say what its row says."
        return Break(columns.seq, what, columns.stream)
    link = Link(event.seq, event.prev, event.hash)
    what = _gap(tail, link)
    return Break(link.seq, what, columns.stream) if what else link


def _gap(tail: Link, link: Link) -> str:
    if link.seq != tail.seq + 1:
        return f"expected event {tail.seq + 1}, found {link.seq}."
    if link.prev != tail.hash:
        return f"event {link.seq} does not follow event {tail.seq}."
    return ""


def _of(stream: str, found: Break | None) -> Break | None:
    return None if found is None else Break(found.seq, found.what, stream)
