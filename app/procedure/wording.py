"""How a value, a breach, a length of time and a list are said, so that every kind says them alike."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from app.calculations.rounding import level

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime, timedelta, tzinfo
    from decimal import Decimal

    from app.calculations.quantity import Limits
    from app.procedure.entry import Entry

Side = Literal["good", "high", "low"]
MOST_NAMED = 6  # a sentence that names more things than this is not read


def side(value: Decimal, limits: Limits) -> Side:
    """Say on which side of its limits a value lies; both ends belong to what is good."""
    if limits.at_least is not None and value < limits.at_least:
        return "low"
    return "high" if limits.at_most is not None and value > limits.at_most else "good"


def said(number: str, unit: str) -> str:
    """Return a number with its unit: `0.62 mm`."""
    return f"{number} {unit}".strip()


def against(value: Decimal, limits: Limits) -> str:
    """Return a value against its limits, in equal digits: `0.62 mm is above the limit, 0.50 mm`."""
    where = side(value, limits)
    limit = limits.at_least if where == "low" else limits.at_most
    if where == "good" or limit is None:
        return f"{said(*_one(value, limits))} is within the limits{_range(value, limits)}"
    shown, edge = level(value, limit)
    word = "below" if where == "low" else "above"
    return f"{said(shown, limits.unit)} is {word} the limit, {said(edge, limits.unit)}"


def _one(value: Decimal, limits: Limits) -> tuple[str, str]:
    ends = [end for end in (limits.at_least, limits.at_most) if end is not None]
    return level(value, *ends)[0], limits.unit


def _range(value: Decimal, limits: Limits) -> str:
    ends = [end for end in (limits.at_least, limits.at_most) if end is not None]
    _, *shown = level(value, *ends)
    if len(ends) == 2:
        return f", {shown[0]} to {said(shown[1], limits.unit)}"
    word = "at least" if limits.at_least is not None else "at most"
    return f", {word} {said(shown[0], limits.unit)}" if ends else ""


def span(length: timedelta) -> str:
    """Return a length of time: `11 min 18 s`, `2 h`, `45 s`. Part seconds are left off."""
    seconds = int(length.total_seconds())
    counted = ((seconds // 3600, "h"), (seconds % 3600 // 60, "min"), (seconds % 60, "s"))
    return " ".join(f"{n} {unit}" for n, unit in counted if n) or "0 s"


def span_up(length: timedelta) -> str:
    """Return a length of time that must still pass: a begun second counts as a whole one."""
    begun = length.microseconds > 0
    return span(
        length - type(length)(microseconds=length.microseconds) + type(length)(seconds=begun)
    )


def clock(at: datetime, zone: tzinfo | None) -> str:
    """Return the clock time in a zone, `10:53:25`; where the zone is UTC, it says so."""
    there = at.astimezone(zone)
    return f"{there:%H:%M:%S}{'' if there.utcoffset() else ' UTC'}"


def listed(names: Sequence[str]) -> str:
    """Return names as a person lists them: `B1, B2 and B3`; of many, the first and how many more."""
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[: MOST_NAMED - 1])} and {len(names) - MOST_NAMED + 1} more"
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


def in_words(number: int) -> str:
    """Return a small number as a word, a larger one in digits."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    return words[number] if 0 <= number < len(words) else str(number)


def verdict_words(entry: Entry) -> str:
    """Return what became of an entry, for the record."""
    if entry.struck:
        return f"Struck: {entry.struck}"
    if entry.accepted:
        return f"Out of limit, accepted as it is: {entry.accepted}"
    return "Good" if entry.verdict == "good" else "Out of limit"
