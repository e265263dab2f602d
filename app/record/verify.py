"""Verifies a record with nothing but its file, and says in sentences what holds and what does not.

A record is good only if all of this holds: it bears one seal, ours by name, that covers the whole
file but the seal itself; the seal is that of a key under the root that was asked for; the attached
events form one unbroken chain from the first to the last; they are those that the pages name; and
the attached procedure is the one that the first event names.

The file may be anything, made by anyone. What a hostile file can make the parser raise cannot be
listed, so this module catches all of it, at one place, and says that the file could not be read.
"""

from __future__ import annotations

import asyncio
import logging
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, TypeVar

from app.record.attached import contents_of
from app.record.events_check import events_sentences
from app.record.seal_check import Found, bare_fingerprint, seal_sentences

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.record.attached import Contents

__all__ = ["Report", "verify"]

WHOLE, BROKEN, UNREADABLE = 0, 1, 2
HEAD_OF_PDF = b"%PDF-"
FINGERPRINT_LENGTH = 64
UNREAD = "The {} of this file cannot be read: it is damaged or made to mislead."

T = TypeVar("T")

for _library in ("pyhanko", "pyhanko_certvalidator"):
    logging.getLogger(_library).addHandler(logging.NullHandler())  # the report says it all


@dataclass(frozen=True, slots=True)
class Report:
    """What was found. `exit_code` is 0 for a whole record, 1 for a broken one, 2 for no record."""

    ok: bool
    exit_code: int
    sentences: tuple[str, ...]

    def __str__(self) -> str:
        return "\n".join(self.sentences)


def verify(
    data: bytes, root_fingerprint: str | None = None, *, now: datetime | None = None
) -> Report:
    """Return whether a file is a whole record, and why. Slow: call it from a thread, not a loop.

    Args:
        data: the file.
        root_fingerprint: SHA-256 of the site's root certificate, got by another way than the file;
            hexadecimal, in groups or not.
        now: the moment at which the certificates must be in date; the present one if not given.

    Raises:
        RuntimeError: it was called inside a running event loop, which it would hold up.
    """
    _outside_a_loop()
    asked = None if root_fingerprint is None else bare_fingerprint(root_fingerprint)
    if asked is not None and len(asked) != FINGERPRINT_LENGTH:
        return _unreadable(
            f"The fingerprint given has {len(asked)} hexadecimal digits; a root's has "
            f"{FINGERPRINT_LENGTH}. Nothing was verified."
        )
    if not data.startswith(HEAD_OF_PDF):
        return _unreadable(
            "This file is empty." if not data else "This is not a PDF file, so it is no record."
        )
    contents = _tried(lambda: contents_of(data))
    if contents is None:
        return _unreadable(
            "This file cannot be read to its end: it is cut short, damaged or made to mislead. "
            "It is no whole record."
        )
    return _verified(contents, data, asked, now or datetime.now(UTC))


def _tried(look: Callable[[], T]) -> T | None:
    """Return what was found, None if the file made the parser fall over."""
    try:
        return look()
    except Exception:  # whatever a hostile file can raise: see the head of this module
        return None


def _outside_a_loop() -> None:
    """The signing library runs a loop of its own; inside another one, all files would seem bad."""
    try:
        asyncio.get_running_loop()
    except RuntimeError:
        return
    raise RuntimeError("verify was called inside a running event loop; call it from a thread")


def _unreadable(sentence: str) -> Report:
    return Report(ok=False, exit_code=UNREADABLE, sentences=(sentence,))


def _verified(contents: Contents, data: bytes, asked: str | None, now: datetime) -> Report:
    sealed = _tried(lambda: tuple(seal_sentences(contents, data, asked, now)))
    events = _tried(lambda: tuple(events_sentences(contents)))
    found = (
        *(sealed if sealed is not None else [Found(False, UNREAD.format("seal"))]),
        *(events if events is not None else [Found(False, UNREAD.format("attachments"))]),
    )
    ok = all(each.holds for each in found)
    first = _verdict(contents, ok=ok, sealed=bool(contents.seals))
    sentences = (first, *(each.sentence for each in sorted(found, key=_broken_first)))
    return Report(ok=ok, exit_code=WHOLE if ok else BROKEN, sentences=sentences)


def _broken_first(found: Found) -> bool:
    return found.holds


def _verdict(contents: Contents, *, ok: bool, sealed: bool) -> str:
    run = contents.info.get("runid", "")
    if ok:
        return f"Record {run} is whole."
    if not sealed and not run:
        return "This is no record: it bears no seal and names no run."
    return f"Record {run} is NOT whole." if run else "This is NOT a whole record."
