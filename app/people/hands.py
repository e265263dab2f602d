"""Who was entering at a tablet at a moment that has passed: for entries which the tablet kept.

Rules: each change of hands is written down with the end of that person's shift; nothing of it is
changed later. Whoever asks must show a token that was once given to that tablet, or the proof that
its pages carried (a cookie can be lost with the browser, what the page keeps is not): the name of a
tablet alone proves nothing.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import Connection, insert, select

from app.ledger.canonical import time_text
from app.people.tables import HANDS

if TYPE_CHECKING:
    from app.people.sessions import Session

PROOF_LENGTH = 32  # 128 bits
SLACK = timedelta(seconds=5)  # by which a tablet's time of entry may be mistaken


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """One person entering at one tablet, until someone else does or their shift ends."""

    person: str
    since: datetime
    until: datetime


def note_hands(connection: Connection, session: Session, at: datetime) -> None:
    """Write down who enters from now on at a tablet; nothing where that has not changed."""
    until = dict(session.ends).get(session.entering, at)
    asked = (
        select(HANDS.c.person, HANDS.c.token_hash, HANDS.c.until)
        .where(HANDS.c.device == session.device)
        .order_by(HANDS.c.number.desc())
        .limit(1)
    )
    last = connection.execute(asked).first()
    now = (session.entering, session.token_hash, time_text(until))
    if last is not None and tuple(last) == now:
        return
    row = {"device": session.device, "person": session.entering, "token_hash": session.token_hash}
    times = {"since": time_text(at), "until": time_text(until)}
    connection.execute(insert(HANDS).values(**row, **times))


def proof_of(token_hash: str) -> str:
    """Return what a tablet's pages carry: it shows that they were sent to that tablet, and no more."""
    return hashlib.sha256(f"hands {token_hash}".encode()).hexdigest()[:PROOF_LENGTH]


def device_by_proof(connection: Connection, proof: str) -> str:
    """Return the tablet whose pages carried a proof, "" if none did."""
    rows = connection.execute(select(HANDS.c.token_hash, HANDS.c.device).distinct()).all()
    return next((str(r.device) for r in rows if proof_of(r.token_hash) == proof), "")


def device_of(connection: Connection, token_hash: str) -> str:
    """Return the tablet that a token was once given to, "" if it was given to none."""
    found = connection.execute(
        select(HANDS.c.device).where(HANDS.c.token_hash == token_hash).limit(1)
    ).scalar()
    return str(found or "")


def spells(connection: Connection, device: str) -> tuple[Spell, ...]:
    """Return who was entering at a tablet, in order."""
    rows = connection.execute(
        select(HANDS).where(HANDS.c.device == device).order_by(HANDS.c.number)
    ).all()
    ends = [*(datetime.fromisoformat(row.since) for row in rows[1:]), None]
    return tuple(
        Spell(
            person=row.person,
            since=datetime.fromisoformat(row.since),
            until=min(datetime.fromisoformat(row.until), end or datetime.fromisoformat(row.until)),
        )
        for row, end in zip(rows, ends, strict=True)
    )


def was_entering(known: tuple[Spell, ...], person: str, at: datetime) -> bool:
    """Say whether a person was entering at a moment, as near as a tablet can tell it."""
    return any(
        spell.person == person and spell.since - SLACK <= at < spell.until + SLACK
        for spell in known
    )
