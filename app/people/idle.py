"""The idle lock: a tablet that nobody has touched for a while asks for someone's own secret again.

Rules:
- ten minutes without a touch lock a tablet; whoever signs on at it unlocks it, the others stay;
- a touch is a request that a person makes, or a touch that the tablet's page tells of with its watch:
  one that came after a gap longer than that unlocks nothing;
- the watch itself is no touch, nor is what a page fetches by itself;
- nothing that was typed is lost, and stop work needs no session, so it needs no unlocking.
It is kept in memory: after a restart a tablet has its ten minutes anew.
"""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

LIMIT = timedelta(minutes=10)  # house rule
MOST = 10_000  # tablets remembered; a session lasts a shift, so there are never so many
_LONG_AGO = datetime(1, 1, 1, tzinfo=UTC)


class Idle:
    """When each tablet was last touched, by the digest of its token."""

    def __init__(self, limit: timedelta = LIMIT) -> None:
        self.limit = limit
        self._guard = threading.Lock()
        self._touched: dict[str, datetime] = {}

    def touch(self, tablet: str, at: datetime) -> None:
        """Note a touch; an older one than is known changes nothing."""
        with self._guard:
            if at > self._touched.get(tablet, _LONG_AGO):
                self._touched.pop(tablet, None)
                self._touched[tablet] = at
            if len(self._touched) > MOST:
                del self._touched[next(iter(self._touched))]

    def lock(self, tablet: str) -> None:
        """Lock a tablet now."""
        with self._guard:
            self._touched[tablet] = _LONG_AGO

    def locked_since(self, tablet: str, now: datetime) -> datetime | None:
        """Return since when a tablet is locked, None while it is not."""
        with self._guard:
            last = self._touched.setdefault(tablet, now)
        return last + self.limit if now - last >= self.limit else None
