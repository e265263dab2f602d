"""Verifies a record with nothing but its file, and says in sentences what holds and what does not.

A record is good only if all of this holds:
- it bears one seal, ours by name, that covers the whole file but the seal itself, and is that of a
  key under the root that was asked for;
- the attached events form one unbroken chain from the first to the last, and are those that the
  pages name; the attached procedure is the one that the first event names;
- the run, played again act by act through the rules that bind a run, comes to these very events;
- the pages say, character for character, what these files make of a record;
- the site's stream, as attached, tells of the release, the opening and the heads of this run; and
  beside the site's whole log, where it is given, nothing of it is wanting.

The file may be anything, made by anyone. What a hostile file can make the parser raise cannot be
listed, so this module catches all of it, at one place, and says that the file could not be read.
"""

from __future__ import annotations

import asyncio
import logging
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, TypeVar

from app.ledger.canonical import digest
from app.record.attached import contents_of, files_of
from app.record.events_check import events_sentences
from app.record.pages_check import page_sentences
from app.record.photos_check import photo_sentences
from app.record.replay_check import replay_sentences
from app.record.seal_check import Found, bare_fingerprint, root_of, seal_sentences
from app.record.site_check import log_sentences, site_sentences
from app.record.sources import Unusable, sources_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from app.record.attached import Contents, Files
    from app.record.sources import Sources

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
    """What was found.

    `exit_code` is 0 for a whole record, 1 for a broken one, 2 for no record or one that this
    version cannot judge to its end.
    """

    ok: bool
    exit_code: int
    sentences: tuple[str, ...]

    def __str__(self) -> str:
        return "\n".join(self.sentences)


def verify(
    data: bytes,
    root_fingerprint: str | None = None,
    *,
    now: datetime | None = None,
    site_log: bytes | None = None,
    photo: Callable[[str], bytes | None] | None = None,
) -> Report:
    """Return whether a file is a whole record, and why. Slow: call it from a thread, not a loop.

    Args:
        data: the file.
        root_fingerprint: SHA-256 of the site's root certificate, got by another way than the file;
            hexadecimal, in groups or not.
        now: the moment at which the certificates must be in date; the present one if not given.
        site_log: the whole of the site's own stream, as it was exported, if it is at hand.
        photo: finds the bytes of a photo by its SHA-256, if the photos are at hand.

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
    beside = _Beside(site_log=site_log, photo=photo)
    return _verified(contents, data, asked, now or datetime.now(UTC), beside)


@dataclass(frozen=True, slots=True)
class _Beside:
    """What was given beside the file."""

    site_log: bytes | None
    photo: Callable[[str], bytes | None] | None


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


def _verified(
    contents: Contents, data: bytes, asked: str | None, now: datetime, beside: _Beside
) -> Report:
    found = [*_looked("seal", lambda: seal_sentences(contents, data, asked, now))]
    files = _tried(lambda: files_of(contents))
    if files is None:
        found.append(Found(False, UNREAD.format("attachments")))
    else:
        found += _looked("attachments", lambda: events_sentences(contents, files))
        found += _told_of_the_run(contents, files, data, beside)
    ok = all(each.holds for each in found)
    judged = all(each.judged for each in found)
    first = _verdict(contents, ok=ok, judged=judged, sealed=bool(contents.seals))
    sentences = (first, *(each.sentence for each in sorted(found, key=_broken_first)))
    code = BROKEN if not ok else WHOLE if judged else UNREADABLE
    return Report(ok=ok and judged, exit_code=code, sentences=sentences)


def _looked(what: str, look: Callable[[], Iterable[Found]]) -> tuple[Found, ...]:
    found = _tried(lambda: tuple(look()))
    return (Found(False, UNREAD.format(what)),) if found is None else found


def _told_of_the_run(
    contents: Contents, files: Files, data: bytes, beside: _Beside
) -> Iterator[Found]:
    """Yield what holds of the run; nothing more where its files are not all there to be read."""
    sources = sources_of(files.by_name)
    unusable = _why_unusable(sources)
    if unusable:
        yield Found(False, unusable)
        return
    root = _tried(lambda: root_of(contents)) or ""
    yield from _looked("site's stream", lambda: site_sentences(files.by_name, sources, root))
    yield from _looked("run", lambda: replay_sentences(sources))
    named = contents.info.get("rootsha256", "")
    yield from _looked("pages", lambda: page_sentences(contents, sources.document(named)))
    yield from _looked("photos", lambda: photo_sentences(sources, beside.photo))
    log = beside.site_log
    if log is not None:
        yield from _looked("site's log", lambda: log_sentences(log, sources, digest(data)))


def _why_unusable(sources: Sources) -> str:
    """Return why the run cannot be played again at all, or ""."""
    try:
        _ = sources.stage, sources.state, sources.acts
    except Unusable as failure:
        return f"The run cannot be judged: {failure}"
    except Exception:  # whatever a hostile file can raise: see the head of this module
        return "The run cannot be judged: its files do not fit each other."
    return ""


def _broken_first(found: Found) -> bool:
    return found.holds


def _verdict(contents: Contents, *, ok: bool, judged: bool, sealed: bool) -> str:
    run = contents.info.get("runid", "")
    if ok and not judged:
        return f"Record {run} could not be judged to its end by this version."
    if ok:
        return f"Record {run} is whole."
    if not sealed and not run:
        return "This is no record: it bears no seal and names no run."
    return f"Record {run} is NOT whole." if run else "This is NOT a whole record."
