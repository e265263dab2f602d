"""Words that several pages share: moments, lists, lines."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from app.procedure.model import FactValue


def clock(at: datetime) -> str:
    """Return a moment as `10:44:52 UTC`; the zone is said, for the crew's own clocks differ."""
    return f"{at.astimezone(UTC):%H:%M:%S} UTC"


def day_and_clock(at: datetime) -> str:
    """Return a moment with its day, as `6 May, 10:44 UTC`."""
    utc = at.astimezone(UTC)
    return f"{utc.day} {utc:%b}, {utc:%H:%M} UTC"


def span(length: timedelta) -> str:
    """Return a length of time as `4 min`, `2 h 10 min` or `3 days`."""
    minutes = int(length.total_seconds()) // 60
    if minutes < 120:
        return f"{max(minutes, 0)} min"
    hours = minutes // 60
    return f"{hours} h {minutes % 60} min" if hours < 48 else f"{hours // 24} days"


def sentences(text: str) -> tuple[str, ...]:
    """Return a text's sentences one by one, for lines that are read while acting."""
    return tuple(part for part in re.split(r"(?<=[.!])\s+(?=[A-Z])", text.strip()) if part)


def several(count: int, thing: str, things: str = "") -> str:
    """Return `1 hold` or `3 holds`."""
    return f"{count} {thing if count == 1 else things or thing + 's'}"


def listed(things: Sequence[str]) -> str:
    """Return `JB`, `JB and AN` or `JB, AN and SH`."""
    if len(things) < 2:
        return "".join(things)
    return f"{', '.join(things[:-1])} and {things[-1]}"


def fact_words(name: str, value: FactValue | None) -> str:
    """Return a fact of the board as `Brackets: 21`."""
    shown = "in doubt" if value is None else str(value)
    return f"{name.replace('_', ' ').capitalize()}: {shown}"
