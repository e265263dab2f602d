"""Isolation points: who has which lock on, by the entries of the step that put them on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.procedure.usual import latest_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.procedure.entry import Entry

DEAD, NOT_DEAD = "dead", "not dead"
LONGEST_LOCK = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """The keys of an isolation."""

    points: tuple[str, ...]


def locks_of(entries: Sequence[Entry]) -> dict[str, Entry]:
    """Return the entry that put the lock on each point."""
    return latest_of(entries)


def same_lock(one: str, other: str) -> bool:
    """Say whether two lock numbers are the same; case and spaces do not count."""
    return "".join(one.split()).casefold() == "".join(other.split()).casefold()
