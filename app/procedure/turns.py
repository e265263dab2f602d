"""Whose turn it is among the parts of a step, and how each stands; for kinds that have many parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from app.procedure.entry import Entry


def counts(entry: Entry | None) -> bool:
    """Say whether a part is entered and good, or accepted as it is."""
    return entry is not None and (entry.verdict == "good" or bool(entry.accepted))


def next_part(parts: Iterable[str], latest: Mapping[str, Entry]) -> str:
    """Return the first part that does not count yet; "" when all do."""
    return next((part for part in parts if not counts(latest.get(part))), "")


def here_of(part: str, parts: Iterable[str], latest: Mapping[str, Entry]) -> str:
    """Return the part that was asked for, or else the one whose turn it is."""
    known = tuple(parts)
    return part if part in known else next_part(known, latest)


def mark_of(entry: Entry | None, *, here: bool = False) -> str:
    """Return the mark of a part."""
    if entry is None:
        return "here" if here else "todo"
    return "done" if counts(entry) else "out"


def rows_of(
    parts: Iterable[str], latest: Mapping[str, Entry], here: str
) -> tuple[Mapping[str, str], ...]:
    """Return each part with its mark and what was said of it."""
    return tuple(
        {
            "name": part,
            "mark": mark_of(latest.get(part), here=part == here),
            "word": latest[part].saying if part in latest else "To do",
        }
        for part in parts
    )


def answer_of(latest: Mapping[str, Entry], here: str, done: str) -> tuple[str, str]:
    """Return the answer of a card and its mark: what is out, or that all is done."""
    out = [entry for entry in latest.values() if not counts(entry)]
    if out:
        return out[0].saying, "out"
    return ("", "") if here else (done, "done")
