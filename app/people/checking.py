"""Checks one person's own secret, and counts the wrong tries.

The hash is checked in a thread of its own; what became of it is settled in the writer's
transaction, one after another. So tries sent at the same moment are counted once each, and a right
one that comes behind the fifth wrong one finds the person locked.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import datetime, tzinfo

from sqlalchemy import Connection, select, update

from app.ledger.canonical import time_text
from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Draft
from app.people import lockout
from app.people.secrets import Busy, Hashing
from app.people.tables import PEOPLE
from app.run.refusal import Refusal


@dataclass(frozen=True, slots=True)
class Verified:
    """The secret is this person's own."""

    person: str


@dataclass(frozen=True, slots=True)
class Wrong:
    """The secret is not this person's (or there is no such person: the answer does not tell)."""

    person: str
    tries_left: int
    lock_minutes: int = 10

    def refusal(self) -> Refusal:
        """Return the sentence for the page."""
        tries = "1 try" if self.tries_left == 1 else f"{self.tries_left} tries"
        return Refusal(
            code="pin.wrong",
            sentence=f"That secret is not {self.person}'s. {tries} left, "
            f"then {self.person} is locked for {_minutes(self.lock_minutes)}.",
            who=self.person,
        )


@dataclass(frozen=True, slots=True)
class Locked:
    """The person is locked; the secret was not looked at."""

    person: str
    until: datetime

    def refusal(self, zone: tzinfo, unlocks: str = "keeper") -> Refusal:
        """Return the sentence for the page, in the site's time; `unlocks` says who can clear it."""
        clock = self.until.astimezone(zone)
        return Refusal(
            code="pin.locked",
            sentence=f"{self.person} is locked until {clock:%H:%M} on {clock.day} {clock:%B} after "
            f"{lockout.TRIES} wrong tries. A {unlocks} can unlock at the desk. "
            "Stop work still works.",
            who=unlocks,
            where="at the desk",
        )


Checked = Verified | Wrong | Locked | Busy


@dataclass(frozen=True, slots=True)
class _Looked:
    """What was found outside the transaction, to be settled inside it."""

    kept: str | None
    matched: bool
    renewed: str = ""  # a hash of today's strength, when the kept one is of another


def _minutes(minutes: int) -> str:
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h"


class Checking:
    """Looks at secrets in threads of their own, and settles what it saw in the writer's turn."""

    def __init__(self, ledger: Ledger, hashing: Hashing) -> None:
        self._ledger = ledger
        self._hashing = hashing

    async def check(self, person: str, secret: str, now: datetime, device: str = "") -> Checked:
        """Say whether the secret is the person's own, and count it if not."""
        looked = await self._hashing.run(lambda: self._look(person, secret, now))
        if isinstance(looked, Busy | Locked):
            return looked
        settled = self._ledger.submit(lambda tx: _settle(tx, person, looked, now, device))
        return await asyncio.wrap_future(settled)

    def _look(self, person: str, secret: str, now: datetime) -> _Looked | Locked:
        with self._ledger.reader() as connection:
            kept = kept_hash(connection, person)
            lock = lockout.read(connection, person)
        if lock.is_shut(now) and lock.until is not None:
            return Locked(person, lock.until)
        matched = self._hashing.matches(secret, kept)
        outdated = matched and kept is not None and self._hashing.is_outdated(kept)
        return _Looked(kept, matched, self._hashing.hash(secret) if outdated else "")


def kept_hash(connection: Connection, person: str) -> str | None:
    """Return the hash of an active person's secret, None for anyone else."""
    found = connection.execute(
        select(PEOPLE.c.secret_hash).where(PEOPLE.c.id == person, PEOPLE.c.active)
    ).scalar()
    return None if found is None else str(found)


def _settle(
    tx: Transaction, person: str, looked: _Looked, now: datetime, device: str
) -> Verified | Wrong | Locked:
    before = lockout.read(tx.connection, person)
    if before.is_shut(now) and before.until is not None:
        return Locked(person, before.until)
    if looked.kept is None or looked.kept != kept_hash(tx.connection, person):
        # Nobody of this name, or the secret was changed meanwhile: nothing to count against.
        return Wrong(person, lockout.TRIES - 1)
    if looked.matched:
        return _let_in(tx, person, looked)
    return _count(tx, person, before, now, device)


def _let_in(tx: Transaction, person: str, looked: _Looked) -> Verified:
    lockout.clear(tx.connection, person)
    if looked.renewed:
        tx.connection.execute(
            update(PEOPLE).where(PEOPLE.c.id == person).values(secret_hash=looked.renewed)
        )
    return Verified(person)


def _count(
    tx: Transaction, person: str, before: lockout.Lockout, now: datetime, device: str
) -> Wrong | Locked:
    after = lockout.next_lock(before, now)
    lockout.keep(tx.connection, person, after)
    if after.until is None or not after.is_shut(now):
        return Wrong(person, after.tries_left, _whole_minutes(after))
    body = {"person": person, "until": time_text(after.until), "locks": after.locks}
    draft = Draft(stream=SITE, kind="PersonLocked", body=body, by="", device=device)
    tx.append(draft, f"lock-{person}-{time_text(now)}-{after.locks}")
    return Locked(person, after.until)


def _whole_minutes(lock: lockout.Lockout) -> int:
    return int(lock.next_length.total_seconds() // 60)
