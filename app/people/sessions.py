"""Who is signed on at which tablet, and which of them is entering now.

Rules:
- a tablet has one session, known by a random token of 256 bits that only the tablet holds: the
  server keeps its SHA-256, and never takes up a token that it did not give;
- several people may be signed on at one tablet, one of them entering; signing on takes the tablet
  over; when the one who enters leaves, nobody enters until someone says so;
- each person's stay ends with their shift, twelve hours after they signed on;
- being signed on lets nobody sign: each signature asks for the person's own secret;
- all sessions are in memory too, so that `get` reads no database; a restart reads them again.
"""

from __future__ import annotations

import hashlib
import secrets as lots
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, insert, select, update

from app.ledger.canonical import time_text
from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Stored
from app.people.hands import device_by_proof, device_of, note_hands, proof_of, spells, was_entering
from app.people.idle import Idle
from app.people.tables import SESSIONS, STAYS
from app.run.refusal import Refusal

SHIFT = timedelta(hours=12)
TOKEN_BYTES = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One tablet: the people signed on at it, the one entering ("" when nobody), their shift ends."""

    token_hash: str
    device: str
    entering: str
    ends: tuple[tuple[str, datetime], ...]  # person, end of their shift; in the order of signing on
    token: str = field(default="", repr=False, compare=False)  # only in the answer of `sign_on`

    @property
    def people(self) -> tuple[str, ...]:
        """Return the people signed on at this tablet."""
        return tuple(person for person, _ in self.ends)

    @property
    def hands(self) -> str:
        """Return what this tablet's pages carry, so that what they keep can be known for its own."""
        return proof_of(self.token_hash)

    @property
    def until(self) -> datetime:
        """Return when the session ends of itself: with its last person's shift."""
        return max(end for _, end in self.ends)

    def at(self, now: datetime) -> Session | None:
        """Return the session without those whose shift has ended; None when nobody is left."""
        if all(now < end for _, end in self.ends):
            return self if self.ends else None
        left = tuple((person, end) for person, end in self.ends if now < end)
        return self._with(left) if left else None

    def without(self, person: str) -> Session | None:
        """Return the session without one person; None when nobody is left."""
        left = tuple((each, end) for each, end in self.ends if each != person)
        return self._with(left) if left else None

    def _with(self, left: tuple[tuple[str, datetime], ...]) -> Session:
        entering = self.entering if self.entering in {person for person, _ in left} else ""
        return replace(self, ends=left, entering=entering)


class Sessions:
    """The tablets' sessions. Changes wait for the commit; `get` costs no read."""

    def __init__(self, ledger: Ledger, shift: timedelta = SHIFT) -> None:
        self._ledger = ledger
        self._shift = shift
        self._idle = Idle()
        self._changing = threading.Lock()  # one change at a time, so that memory follows the tables
        self._here: dict[str, Session] = {}
        self._sent_away = 0  # how often the register has sent someone away
        ledger.after_commit(self._send_away)
        with ledger.reader() as connection:
            self._here.update(_read(connection))

    def sign_on(self, token: str | None, person: str, device: str) -> Session:
        """Sign a person on at a tablet, after their secret was checked; they are entering now.

        The answer carries the token to give to the tablet: the same, or a new one when the tablet
        had none that is known.
        """

        def errand(tx: Transaction) -> Session:
            known = _stored(tx, token)
            kept = token if known is not None and token else lots.token_urlsafe(TOKEN_BYTES)
            ends = () if known is None else known.ends
            left = tuple((each, end) for each, end in ends if each != person)
            session = Session(
                token_hash=_hash(kept),
                device=device,
                entering=person,
                ends=(*left, (person, tx.at + self._shift)),
                token=kept,
            )
            _drop_ended(tx.connection, tx.at)
            _keep(tx.connection, session, tx.at)
            return session

        with self._changing:
            turn = self._sent_away
            session = self._ledger.submit(errand).result()
            self._remember(session.token_hash, replace(session, token=""), turn)
        self._idle.touch(session.token_hash, session.ends[-1][1] - self._shift)
        return session

    def get(self, token: str | None, now: datetime) -> Session | None:
        """Return the session of a tablet at this moment, from memory."""
        return self._known(token, now)

    def touch(self, token: str, at: datetime) -> None:
        """Note that a person touched a tablet."""
        self._idle.touch(_hash(token), at)

    def told_of_touch(self, token: str, now: datetime, ago: timedelta, gap: timedelta) -> None:
        """Note what a tablet's page tells: the last touch, and the longest time without one."""
        if gap >= self._idle.limit:
            self._idle.lock(_hash(token))
        else:
            self._idle.touch(_hash(token), now - ago)

    def locked_since(self, token: str, now: datetime) -> datetime | None:
        """Return since when a tablet asks for a secret again, None while it does not."""
        return self._idle.locked_since(_hash(token), now)

    def was_entering(
        self, token: str | None, person: str, at: datetime, *, proof: str = ""
    ) -> bool:
        """Say whether a person was entering at this tablet at a moment that has passed.

        The token may have ended: that it was once given to this tablet is what it shows.
        """
        with self._ledger.reader() as connection:
            device = device_by_proof(connection, proof) if proof else ""
            device = device or (device_of(connection, _hash(token)) if token else "")
            return bool(device) and was_entering(spells(connection, device), person, at)

    def present(self, now: datetime) -> frozenset[str]:
        """Return everyone who is signed on at some tablet."""
        here = (session.at(now) for session in tuple(self._here.values()))
        return frozenset(person for each in here if each is not None for person in each.people)

    def change_hands(self, token: str | None, person: str) -> Session | Refusal:
        """Say that another of the people signed on at this tablet is entering now."""

        def change(session: Session) -> Session | Refusal:
            if person in session.people:
                return replace(session, entering=person)
            return Refusal(
                code="session.not_here",
                sentence=f"{person} is not signed on at this tablet. {person} signs on first.",
                who=person,
                where="at this tablet",
            )

        answer = self._change(token, change)
        return answer if answer is not None else _nobody()

    def sign_off(self, token: str | None, person: str) -> Session | None:
        """Sign one person off; None when nobody is left at the tablet."""
        answer = self._change(token, lambda session: session.without(person))
        return answer if isinstance(answer, Session) else None

    def _change(
        self, token: str | None, change: Callable[[Session], Session | Refusal | None]
    ) -> Session | Refusal | None:
        def errand(tx: Transaction) -> Session | Refusal | None:
            known = _stored(tx, token)
            if known is None:
                return None
            changed = change(known)
            if changed is None:
                _drop(tx.connection, known.token_hash)
                note_hands(tx.connection, replace(known, entering=""), tx.at)
            elif isinstance(changed, Session):
                _keep(tx.connection, changed, tx.at)
            return changed

        with self._changing:
            turn = self._sent_away
            answer = self._ledger.submit(errand).result()
            if token and not isinstance(answer, Refusal):
                self._remember(_hash(token), answer, turn)
        return answer

    def _remember(self, token_hash: str, session: Session | None, turn: int) -> None:
        if session is None:
            self._here.pop(token_hash, None)
        else:
            self._here[token_hash] = session
        while turn != self._sent_away:  # someone was sent away meanwhile: read what stands
            turn = self._sent_away
            with self._ledger.reader() as connection:
                self._here = _read(connection)

    def _known(self, token: str | None, now: datetime) -> Session | None:
        kept = self._here.get(_hash(token)) if token else None
        return None if kept is None else kept.at(now)

    def _send_away(self, stored: Sequence[Stored]) -> None:
        """Follow the register: the retired, and those with a new secret, are signed off."""
        for each in stored:
            if each.stream == SITE and each.kind in {"PersonRetired", "SecretChanged"}:
                self._sent_away += 1
                self._forget(str(each.body["person"]))

    def _forget(self, person: str) -> None:
        for token_hash, session in tuple(self._here.items()):
            left = session.without(person)
            if left is None:
                self._here.pop(token_hash, None)
            elif left != session:
                self._here[token_hash] = left


def sign_off_everywhere(connection: Connection, person: str, at: datetime) -> None:
    """Take a person out of every session, inside the transaction that changes the person."""
    for session in _read(connection).values():
        if session.entering == person:
            note_hands(connection, replace(session, entering=""), at)
    connection.execute(update(SESSIONS).where(SESSIONS.c.entering == person).values(entering=""))
    connection.execute(delete(STAYS).where(STAYS.c.person == person))


def _hash(token: str) -> str:
    # A token comes from a cookie: whatever bytes it holds, looking it up does not raise.
    return hashlib.sha256(token.encode(errors="surrogatepass")).hexdigest()


def _keep(connection: Connection, session: Session, at: datetime) -> None:
    _drop(connection, session.token_hash)
    note_hands(connection, session, at)
    row = {"device": session.device, "entering": session.entering}
    connection.execute(insert(SESSIONS).values(token_hash=session.token_hash, **row))
    stays = [
        {
            "token_hash": session.token_hash,
            "person": person,
            "place": place,
            "until": time_text(end),
        }
        for place, (person, end) in enumerate(session.ends)
    ]
    connection.execute(insert(STAYS), stays)


def _drop(connection: Connection, token_hash: str) -> None:
    connection.execute(delete(STAYS).where(STAYS.c.token_hash == token_hash))
    connection.execute(delete(SESSIONS).where(SESSIONS.c.token_hash == token_hash))


def _drop_ended(connection: Connection, now: datetime) -> None:
    connection.execute(delete(STAYS).where(STAYS.c.until <= time_text(now)))
    staying = select(STAYS.c.token_hash)
    connection.execute(delete(SESSIONS).where(SESSIONS.c.token_hash.not_in(staying)))


def _stored(tx: Transaction, token: str | None) -> Session | None:
    """Return a session as the tables have it: another change may stand in this same batch."""
    kept = _read(tx.connection).get(_hash(token)) if token else None
    return None if kept is None else kept.at(tx.at)


def _read(connection: Connection) -> dict[str, Session]:
    ends: dict[str, list[tuple[str, datetime]]] = {}
    for row in connection.execute(select(STAYS).order_by(STAYS.c.token_hash, STAYS.c.place)):
        ends.setdefault(row.token_hash, []).append((row.person, datetime.fromisoformat(row.until)))
    return {
        row.token_hash: Session(
            token_hash=row.token_hash,
            device=row.device,
            entering=row.entering,
            ends=tuple(ends[row.token_hash]),
        )
        for row in connection.execute(select(SESSIONS))
        if row.token_hash in ends
    }


def _nobody() -> Refusal:
    return Refusal(
        code="session.nobody",
        sentence="Nobody is signed on at this tablet. Sign on first. Stop work still works.",
        where="at this tablet",
    )
