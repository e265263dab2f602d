"""Wrong tries of a secret, counted where a restart does not clear them.

Rules:
- five wrong tries in a row lock the person for ten minutes; each further lock lasts twice as long,
  up to four hours; after a hundred wrong tries in a row only a keeper unlocks
  (SP 800-63B-4, 3.2.2: a ceiling of 100, growing waits, cleared by the right secret);
- a try while locked is not looked at and not counted;
- a lock shuts signing and signing on, nothing else: stopping work asks for no secret.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, insert, select

from app.ledger.canonical import time_text
from app.people.tables import LOCKOUTS

TRIES = 5
FIRST_LOCK = timedelta(minutes=10)
LONGEST_LOCK = timedelta(hours=4)
CEILING = 100  # wrong tries in a row
FOR_A_KEEPER = timedelta(days=366)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lockout:
    """A person's wrong tries since their last right one."""

    tries: int = 0  # since the last lock
    locks: int = 0
    until: datetime | None = None

    def is_shut(self, now: datetime) -> bool:
        """Say whether the person is locked at this moment."""
        return self.until is not None and now < self.until

    @property
    def tries_left(self) -> int:
        """Return how many wrong tries are left before the next lock."""
        return TRIES - self.tries

    @property
    def next_length(self) -> timedelta:
        """Return how long the next lock will last."""
        return lock_length(self.locks + 1)


def lock_length(locks: int) -> timedelta:
    """Return how long the lock with this number, from 1, lasts."""
    if locks * TRIES >= CEILING:
        return FOR_A_KEEPER
    # Doubling stops mattering long before the shift grows large.
    return min(FIRST_LOCK * (1 << min(locks - 1, 10)), LONGEST_LOCK)


def next_lock(before: Lockout, now: datetime) -> Lockout:
    """Return the lockout after one more wrong try; the fifth locks."""
    if before.is_shut(now):
        return before
    if before.tries + 1 < TRIES:
        return replace(before, tries=before.tries + 1)
    locks = before.locks + 1
    return Lockout(tries=0, locks=locks, until=now + lock_length(locks))


def read(connection: Connection, person: str) -> Lockout:
    """Return a person's lockout as it is kept."""
    row = connection.execute(
        select(LOCKOUTS.c.tries, LOCKOUTS.c.locks, LOCKOUTS.c.until).where(
            LOCKOUTS.c.person == person
        )
    ).first()
    if row is None:
        return Lockout()
    return Lockout(
        tries=row.tries,
        locks=row.locks,
        until=datetime.fromisoformat(row.until) if row.until else None,
    )


def keep(connection: Connection, person: str, lockout: Lockout) -> None:
    """Keep a person's lockout in place of the one before."""
    clear(connection, person)
    connection.execute(
        insert(LOCKOUTS).values(
            person=person,
            tries=lockout.tries,
            locks=lockout.locks,
            until=time_text(lockout.until) if lockout.until else "",
        )
    )


def clear(connection: Connection, person: str) -> bool:
    """Forget a person's wrong tries; say whether there were any."""
    return connection.execute(delete(LOCKOUTS).where(LOCKOUTS.c.person == person)).rowcount > 0
