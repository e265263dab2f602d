"""What holds of the events inside a record: one chain, of one run, that the pages name."""

from __future__ import annotations

import hashlib
import itertools
from typing import TYPE_CHECKING

from app.ledger.canonical import digest
from app.ledger.chain import stream_break
from app.record.making import ENDINGS
from app.record.seal_check import Found
from app.record.sources import (
    CHANGE_FILE,
    EVENTS_FILE,
    PROCEDURE_FILE,
    SITE_EVENTS_FILE,
    SITE_FILE,
    events_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from app.ledger.stored import Stored
    from app.record.attached import Contents, Files

WANTED = (EVENTS_FILE, PROCEDURE_FILE, SITE_FILE, SITE_EVENTS_FILE)


def events_sentences(contents: Contents, attached: Files) -> Iterator[Found]:
    """Yield what holds of the attached events and of the attached procedure."""
    files = attached.by_name
    missing = [name for name in WANTED if name not in files]
    if missing:
        yield Found(False, f"It has no attachment {' and no attachment '.join(missing)}.")
    if attached.doubled:
        yield Found(False, f"It has more than one attachment {' and '.join(attached.doubled)}.")
    if EVENTS_FILE not in files:
        return
    lines = files[EVENTS_FILE].split(b"\n")
    if lines.pop() != b"" or not lines:
        yield Found(False, f"The last event of {EVENTS_FILE} is cut short.")
        return
    run = contents.info.get("runid", "")
    broken = stream_break(f"run/{run}", [(line, digest(line)) for line in lines])
    if broken is not None:
        yield Found(False, f"The chain of events is broken: {broken.what}")
    events = events_of(files[EVENTS_FILE])
    if events:
        yield from _ends(events, run)
        yield _head(events, contents)
        yield from _procedure(events[0], files.get(PROCEDURE_FILE), contents)
        yield from _changes(events, files)


def _ends(events: Sequence[Stored], run: str) -> Iterator[Found]:
    first, last = events[0], events[-1]
    if first.kind != "RunOpened" or first.body.get("run") != run:
        yield Found(False, f"The events do not begin with the opening of run {run}.")
    if last.kind not in ENDINGS:
        yield Found(False, "The events do not end with the closing of the run: the tail is cut.")
    if last.kind == "RunAbandoned":
        yield Found(True, "The run was abandoned: its procedure was not finished.")
    if any(later.at < earlier.at for earlier, later in itertools.pairwise(events)):
        yield Found(False, "An event is dated before the one that it follows.")


def _head(events: Sequence[Stored], contents: Contents) -> Found:
    named = contents.info.get("streamhead", "")
    if events[-1].hash != named:
        return Found(False, "The last event is not the one whose hash the pages name as the head.")
    return Found(
        True,
        f"The {len(events)} events follow one another from the opening to the closing of the run, "
        "and end in the head that the pages name.",
    )


def _procedure(opened: Stored, text: bytes | None, contents: Contents) -> Iterator[Found]:
    if text is None:
        return
    found = hashlib.sha256(text).hexdigest()
    if not found == opened.body.get("sha256") == contents.info.get("proceduresha256"):
        yield Found(False, "The attached procedure is not the one that was followed.")
        return
    said = f"{opened.body.get('procedure')} revision {opened.body.get('revision')}"
    yield Found(True, f"The attached procedure is the one that was followed, {said}.")


def _changes(events: Sequence[Stored], files: Mapping[str, bytes]) -> Iterator[Found]:
    """Yield whether the text of every change that was approved for the run is the one attached."""
    approved = {
        CHANGE_FILE.format(event.body.get("change")): event.body.get("sha256")
        for event in events
        if event.kind == "FieldChangeApproved"
    }
    found = {name: hashlib.sha256(files[name]).hexdigest() for name in approved if name in files}
    wrong = [name for name, sha256 in approved.items() if found.get(name) != sha256]
    if wrong:
        yield Found(False, f"{' and '.join(wrong)} is not the text that was approved for this run.")
    elif approved:
        count = "1 change was" if len(approved) == 1 else f"{len(approved)} changes were"
        yield Found(True, f"{count} approved for this run; the attached texts are those approved.")
