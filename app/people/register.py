"""The register of people: who is who, what roles they hold, and whether a secret is their own.

Rules:
- every change writes an event of the site's stream in the same transaction; a secret, or its hash,
  is never in one;
- a person is retired, never removed, and an id is never given to another;
- whoever changes another's secret or roles is the keeper: `why_not_keeper` is for the desk to ask.
"""

from __future__ import annotations

import re
import secrets as lots
import threading
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Draft, Stored
from app.people import lockout, sessions
from app.people.checking import Checked, Checking
from app.people.secrets import Hashing, why_refused
from app.people.tables import PEOPLE, ROLES
from app.procedure.model import Site
from app.run.crew import Crew, Person
from app.run.refusal import Refusal

KINDS = frozenset(
    {
        "PersonAdded",
        "RolesChanged",
        "SecretChanged",
        "PersonUnlocked",
        "PersonLocked",
        "PersonRetired",
    }
)

_ID = re.compile(r"[A-Z]{2,4}")


class Register:
    """Everyone the site knows. Changes wait for the commit; `crew` costs no read once asked."""

    def __init__(self, ledger: Ledger, hashing: Hashing | None = None) -> None:
        self._ledger = ledger
        self._hashing = hashing or Hashing()
        self._checking = Checking(ledger, self._hashing)
        self._guard = threading.Lock()
        self._turn = 0  # grows with each change: a read begun before it is not kept
        self._known: dict[str, Person] | None = None
        self._crew: Crew | None = None
        ledger.after_commit(self._forget_if_changed)
        ledger.after_rollback(self._forget)

    def close(self) -> None:
        """Let the secrets' threads end."""
        self._hashing.close()

    def people(self) -> tuple[Person, ...]:
        """Return everyone, the retired too, by id."""
        return tuple(self._all().values())

    def crew(self, site: Site) -> Crew:
        """Return the people with the abilities that this site gives their roles."""
        people, kept = self._all(), self._crew
        if kept is None or kept.people is not people or kept.abilities is not site.roles:
            kept = self._crew = Crew(people=people, abilities=site.roles)
        return kept

    async def check(self, person: str, secret: str, now: datetime, device: str = "") -> Checked:
        """Say whether the secret is the person's own; wrong tries are counted, and five lock."""
        return await self._checking.check(person, secret, now, device)

    def add(self, person: Person, secret: str, by: str, device: str = "") -> Person | Refusal:
        """Add someone with their first secret."""
        refused = _why_not_person(person) or _why_not_secret(secret, person)
        if refused is not None:
            return refused
        hashed = self._hashing.hash(secret)
        return self._ledger.submit(lambda tx: _add(tx, person, hashed, by, device)).result()

    def change_roles(
        self, person: str, roles: frozenset[str], by: str, device: str = ""
    ) -> Person | Refusal:
        """Give a person these roles in place of those they hold."""

        def change(tx: Transaction, known: Person) -> None:
            tx.connection.execute(delete(ROLES).where(ROLES.c.person == person))
            _insert_roles(tx.connection, person, roles)
            body = {"person": person, "roles": sorted(roles), "before": sorted(known.roles)}
            _write(tx, "RolesChanged", body, by, device)

        return self._change(person, change)

    def reset_secret(self, person: str, secret: str, by: str, device: str = "") -> Person | Refusal:
        """Give a person a new secret; it unlocks them, and signs them off everywhere."""
        known = self._all().get(person)
        refused = None if known is None else _why_not_secret(secret, known)
        if refused is not None:
            return refused
        hashed = self._hashing.hash(secret)

        def change(tx: Transaction, _known: Person) -> None:
            tx.connection.execute(
                update(PEOPLE).where(PEOPLE.c.id == person).values(secret_hash=hashed)
            )
            lockout.clear(tx.connection, person)
            sessions.sign_off_everywhere(tx.connection, person, tx.at)
            _write(tx, "SecretChanged", {"person": person}, by, device)

        return self._change(person, change)

    def unlock(self, person: str, by: str, device: str = "") -> Person | Refusal:
        """Forget a person's wrong tries."""

        def change(tx: Transaction, _known: Person) -> None:
            if lockout.clear(tx.connection, person):
                _write(tx, "PersonUnlocked", {"person": person}, by, device)

        return self._change(person, change)

    def retire(self, person: str, by: str, device: str = "") -> Person | Refusal:
        """Close a person's place: they sign nothing more, and stay in the record."""

        def change(tx: Transaction, _known: Person) -> None:
            tx.connection.execute(update(PEOPLE).where(PEOPLE.c.id == person).values(active=False))
            lockout.clear(tx.connection, person)
            sessions.sign_off_everywhere(tx.connection, person, tx.at)
            _write(tx, "PersonRetired", {"person": person}, by, device)

        return self._change(person, change)

    def lockouts(self, now: datetime) -> dict[str, datetime]:
        """Return who is locked at this moment, and until when."""
        with self._ledger.reader() as connection:
            kept = {person: lockout.read(connection, person) for person in self._all()}
        return {
            person: lock.until
            for person, lock in kept.items()
            if lock.until is not None and lock.is_shut(now)
        }

    def _change(
        self, person: str, change: Callable[[Transaction, Person], None]
    ) -> Person | Refusal:
        def errand(tx: Transaction) -> Person | Refusal:
            known = _read(tx.connection).get(person)
            if known is None or not known.active:
                return _unknown(person)
            change(tx, known)
            return _read(tx.connection)[person]

        return self._ledger.submit(errand).result()

    def _all(self) -> dict[str, Person]:
        with self._guard:
            known, turn = self._known, self._turn
        if known is not None:
            return known
        with self._ledger.reader() as connection:
            read = _read(connection)
        with self._guard:
            if turn == self._turn:
                self._known = read
        return read

    def _forget_if_changed(self, stored: Sequence[Stored]) -> None:
        if any(each.stream == SITE and each.kind in KINDS for each in stored):
            self._forget()

    def _forget(self) -> None:
        with self._guard:
            self._turn += 1
            self._known = None


def why_not_keeper(crew: Crew, by: str) -> Refusal | None:
    """Return why this person may not change the register, or None when they may."""
    if crew.may(by, "manage-people"):
        return None
    who = crew.who_may("manage-people")
    return Refusal(
        code="people.keeper",
        sentence=f"Only a {who} changes who is who. {by or 'Nobody'} does not hold that role.",
        who=who,
        where="at the desk",
    )


def _add(tx: Transaction, person: Person, hashed: str, by: str, device: str) -> Person | Refusal:
    taken = _read(tx.connection).get(person.id)
    if taken is not None:
        return Refusal(
            code="people.taken",
            sentence=f"{person.id} already stands for {taken.name}. Choose other letters.",
        )
    row = {"id": person.id, "name": person.name, "active": True, "secret_hash": hashed}
    tx.connection.execute(insert(PEOPLE).values(row))
    _insert_roles(tx.connection, person.id, person.roles)
    body = {"person": person.id, "name": person.name, "roles": sorted(person.roles)}
    _write(tx, "PersonAdded", body, by, device)
    return _read(tx.connection)[person.id]


def _insert_roles(connection: Connection, person: str, roles: frozenset[str]) -> None:
    if roles:
        connection.execute(
            insert(ROLES), [{"person": person, "role": role} for role in sorted(roles)]
        )


def _read(connection: Connection) -> dict[str, Person]:
    held: dict[str, set[str]] = {}
    for row in connection.execute(select(ROLES.c.person, ROLES.c.role)):
        held.setdefault(row.person, set()).add(row.role)
    people = connection.execute(
        select(PEOPLE.c.id, PEOPLE.c.name, PEOPLE.c.active).order_by(PEOPLE.c.id)
    )
    return {
        row.id: Person(
            id=row.id,
            name=row.name,
            roles=frozenset(held.get(row.id, ())),
            active=bool(row.active),
        )
        for row in people
    }


def _write(tx: Transaction, kind: str, body: dict[str, Any], by: str, device: str) -> None:
    draft = Draft(stream=SITE, kind=kind, body=body, by=by, device=device)
    tx.append(draft, lots.token_hex(16))


def _why_not_person(person: Person) -> Refusal | None:
    if not _ID.fullmatch(person.id):
        return Refusal(
            code="people.id",
            sentence=f'"{person.id}" cannot stand in the record. Use 2 to 4 capital letters.',
        )
    if not person.name.strip() or not person.name.isprintable() or len(person.name) > 80:
        return Refusal(
            code="people.name",
            sentence=f"{person.id} has no name that can be printed. Write 1 to 80 letters.",
        )
    return None


def _why_not_secret(secret: str, person: Person) -> Refusal | None:
    sentence = why_refused(secret, person.id, person.name)
    if not sentence:
        return None
    return Refusal(code="people.secret", sentence=f"{sentence} Nothing was saved.")


def _unknown(person: str) -> Refusal:
    return Refusal(
        code="people.unknown",
        sentence=f"Nobody who works here signs as {person}. Nothing was saved.",
    )
