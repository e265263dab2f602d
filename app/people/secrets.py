"""People's secrets: what makes one good enough, and how one is kept and checked.

Rules:
- at least eight characters of any kind, no rule of composition, a short list of refused ones
  (SP 800-63B-4, 3.1.1); a badge code and a six-digit PIN in one field is such a secret;
- only an argon2id hash is kept; its default strength is the one OWASP's password storage page
  names as equal to its first choice (19 MiB, 2 passes, 1 lane);
- hashing has its own few threads, so that a crew signing at once does not stop the pages, and a
  bounded queue: when it is full the answer is Busy at once, not a wait without end.
"""

from __future__ import annotations

import asyncio
import os
import threading
import unicodedata
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

from argon2 import PasswordHasher, Type
from argon2.exceptions import InvalidHashError, VerificationError

LEAST_LENGTH = 8  # characters; SP 800-63B-4, 3.1.1
MOST_LENGTH = 256  # long enough for any phrase, short enough that nobody stuffs the queue
WAITING = 32  # checks that may wait or run at once; at 20 ms each a second's work or less

# From memory: what is tried first anywhere, and the words of this place.
OBVIOUS = """
password password1 passwort passw0rd letmein1 welcome1 qwertyui qwertyuiop qwerty12
qwerty123 iloveyou sunshine princess football baseball superman trustno1 starwars
whatever abcd1234 abc12345 1q2w3e4r 1qaz2wsx 11223344 12341234 12121212 00000000
admin123 changeme secret12 mirror12 mirrorwright telescope observatory technician
supervisor
"""
REFUSED = frozenset(OBVIOUS.split())
STRAIGHTS = (
    "01234567890",
    "09876543210",
    "abcdefghijklmnopqrstuvwxyz",
    "zyxwvutsrqponmlkjihgfedcba",
)

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """What one hash costs."""

    memory_kib: int = 19 * 1024
    passes: int = 2
    lanes: int = 1


@dataclass(frozen=True, slots=True)
class Busy:
    """Too many secrets are being checked; the same may be tried again in a moment."""

    sentence: str = (
        "Too many people are signing at once. Nothing was saved. Sign again in a moment."
    )


def why_refused(secret: str, person: str = "", name: str = "") -> str:
    """Return why a secret cannot be taken, in one sentence, or "" when it can."""
    if not _is_clean(secret):
        return (
            "The secret has a sign in it that cannot be kept. Use letters, digits, marks, spaces."
        )
    if len(secret) < LEAST_LENGTH:
        return (
            f"The secret has {len(secret)} characters. It must have at least {LEAST_LENGTH}, "
            "or be a badge code with a 6-digit PIN behind it."
        )
    if len(secret) > MOST_LENGTH:
        return f"The secret is longer than {MOST_LENGTH} characters. Choose a shorter one."
    if _is_easily_guessed(secret.casefold(), person.casefold(), name.casefold()):
        return "The secret is among the first that anyone would try. Choose another."
    return ""


def _is_clean(secret: str) -> bool:
    """Say whether the text can be written as UTF-8 and holds no control character."""
    return not any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in secret)


def _is_easily_guessed(secret: str, person: str, name: str) -> bool:
    if secret in REFUSED or len(set(secret)) <= 2:
        return True
    if any(secret in straight for straight in STRAIGHTS):
        return True
    own = {person, name, name.replace(" ", "")} - {""}
    return any(not secret.replace(word, "").strip("0123456789 ") and word in secret for word in own)


class Hashing:
    """Makes and checks hashes of secrets, in a few threads of its own."""

    def __init__(
        self,
        strength: Strength | None = None,
        *,
        threads: int | None = None,
        waiting: int = WAITING,
    ) -> None:
        cost = strength or Strength()
        self._argon2 = PasswordHasher(
            time_cost=cost.passes,
            memory_cost=cost.memory_kib,
            parallelism=cost.lanes,
            type=Type.ID,
        )
        count = threads or max(1, (os.cpu_count() or 1) - 1)
        self._threads = ThreadPoolExecutor(count, thread_name_prefix="secrets")
        self._room = threading.BoundedSemaphore(waiting)
        # An unknown person's secret is checked against this, so that it takes as long as any.
        self._nobody = self._argon2.hash("a secret that nobody has")

    def hash(self, secret: str) -> str:
        """Return the hash of a secret that `why_refused` has passed."""
        return self._argon2.hash(unicodedata.normalize("NFC", secret))

    def matches(self, secret: str, kept: str | None) -> bool:
        """Say whether the secret is the one kept; of nobody (None) it takes as long, and is not."""
        readable = _is_clean(secret) and len(secret) <= MOST_LENGTH
        typed = unicodedata.normalize("NFC", secret) if readable else ""
        try:
            self._argon2.verify(self._nobody if kept is None else kept, typed)
        except (VerificationError, InvalidHashError):
            return False
        return kept is not None and readable

    def is_outdated(self, kept: str) -> bool:
        """Say whether a hash was made with another strength than today's."""
        return self._argon2.check_needs_rehash(kept)

    async def run(self, work: Callable[[], Answer]) -> Answer | Busy:
        """Do the work in one of the threads; Busy at once when too much is waiting."""
        if not self._room.acquire(blocking=False):
            return Busy()
        try:
            future = self._threads.submit(work)
        except BaseException:
            self._room.release()
            raise
        future.add_done_callback(self._make_room)
        return await asyncio.wrap_future(future)

    def _make_room(self, _done: Future[Answer]) -> None:
        self._room.release()

    def close(self) -> None:
        """Let the running checks end, drop the waiting ones."""
        self._threads.shutdown(cancel_futures=True)
