"""The records and one record: which one, is it whole, can I take it away?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.desk.seen import SealedRecord, Seen
from app.people.sessions import Session
from app.record.shown import Document, fingerprint
from app.run.crew import Crew
from app.run.state import RunState
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.words import day_and_clock, several

MARKS = {
    "done": "done",
    "corrected": "fixed",
    "differs": "out",
    "out": "out",
    "stopped": "stop",
    "refused": "out",
    "open": "todo",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordRow:
    """One run in the list."""

    run: str
    mark: str
    word: str
    procedure: str
    release: str
    closed: str
    signatures: str
    struck: int
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordsView:
    """The list of records."""

    frame: Frame
    answer: str
    find: str
    rows: tuple[RecordRow, ...]
    reads_only: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordView:
    """One record."""

    frame: Frame
    run: str
    mark: str
    verdict: str
    more: tuple[str, ...]
    document: Document | None
    marks: Mapping[str, str]  # the record's marks as the page draws them
    sealed: bool
    waits: bool  # closed, its seal still being made
    sealed_words: str
    sha256: str
    groups: tuple[str, ...]
    root_groups: tuple[str, ...]
    download: str
    run_page: str


def records_view(
    runs: Sequence[Seen],
    sealed: Mapping[str, SealedRecord | None],
    crew: Crew,
    session: Session,
    *,
    find: str = "",
) -> RecordsView:
    """Return the list of records, newest first; `find` narrows it."""
    rows = [_row(seen, sealed.get(seen.state.run)) for seen in runs if _is_meant(seen, crew, find)]
    reads_only = not crew.may(session.entering, "perform")
    return RecordsView(
        frame=_frame(session, "Records", _role_words(crew, session), reads_only=reads_only),
        answer=_answer(rows, find),
        find=find,
        rows=tuple(rows),
        reads_only=reads_only,
    )


def record_view(
    seen: Seen,
    document: Document | None,
    sealed: SealedRecord | None,
    crew: Crew,
    session: Session,
) -> RecordView:
    """Return one record; without a document it is still open."""
    state = seen.state
    reads_only = not crew.may(session.entering, "perform")
    sub = f"{seen.procedure.title}, release {state.revision}"
    links = () if reads_only else (Way(words="Today", href="/"),)
    return RecordView(
        frame=frame_of(
            session,
            where=f"Record {state.run}",
            sub=f"{sub}. Read only",
            links=(Way(words="Records", href="/records"), *links),
            desk=True,
        ),
        run=state.run,
        mark=_whole_mark(state, sealed) if document is not None else "half",
        verdict=document.verdict if document is not None else "This run is still open",
        more=document.verdict_more if document is not None else _open_words(seen),
        document=document,
        marks=MARKS,
        sealed=sealed is not None,
        waits=document is not None and sealed is None,
        sealed_words=f"Sealed {day_and_clock(sealed.at)}." if sealed is not None else "",
        sha256=sealed.sha256 if sealed is not None else "",
        groups=fingerprint(sealed.sha256) if sealed is not None else (),
        root_groups=fingerprint(sealed.root) if sealed is not None else (),
        download=f"/records/{state.run}/record.pdf",
        run_page="" if reads_only else f"/runs/{state.run}",
    )


def _open_words(seen: Seen) -> tuple[str, ...]:
    done = sum(seen.state.progress(step.id).done for step in seen.procedure.steps)
    return (
        f"{done} of {len(seen.procedure.steps)} steps are done.",
        "Its record can be read when it is closed: until then a count may be blind.",
    )


def _is_meant(seen: Seen, crew: Crew, find: str) -> bool:
    state = seen.state
    people = {state.opened_by, state.closed_by} | _people(state)
    names = [crew.people[person].name for person in people if person in crew.people]
    text = " ".join((state.run, state.procedure, state.title, *people, *names))
    return all(word in text.casefold() for word in find.casefold().split())


def _people(state: RunState) -> set[str]:
    return {signature.by for p in state.steps.values() for signature in p.signatures}


def _row(seen: Seen, sealed: SealedRecord | None) -> RecordRow:
    state = seen.state
    signed = sum(len(progress.signatures) for progress in state.steps.values())
    struck = sum(bool(e.struck) for progress in state.steps.values() for e in progress.entries)
    mark, word = _state_words(state, sealed)
    return RecordRow(
        run=state.run,
        mark=mark,
        word=word,
        procedure=f"{state.procedure}, {state.title}",
        release=f"rel. {state.revision}",
        closed=day_and_clock(state.closed_at) if state.closed_at else "still open",
        signatures=str(signed),
        struck=struck,
        href=f"/records/{state.run}",
    )


def _state_words(state: RunState, sealed: SealedRecord | None) -> tuple[str, str]:
    if state.stop is not None:
        return "stop", "Stopped"
    if state.status == "suspended":
        return "wait", "Suspended"
    if state.status != "closed":
        return "half", "Open"
    mark = _whole_mark(state, sealed)
    if state.abandoned is not None:
        return mark, "Abandoned, sealed" if sealed is not None else "Abandoned, not sealed yet"
    return mark, "Sealed" if sealed is not None else "Closed, not sealed yet"


def _whole_mark(state: RunState, sealed: SealedRecord | None) -> str:
    return "both" if sealed is not None and state.status == "closed" else "empty"


def _answer(rows: Sequence[RecordRow], find: str) -> str:
    found = several(len(rows), "record")
    if find:
        return f"{found} for “{find}”"
    still = sum(row.mark not in ("both", "empty") for row in rows)
    if not rows:
        return "There is no record yet"
    return f"{found}. {still} still open" if still else f"{found}, all closed"


def _role_words(crew: Crew, session: Session) -> str:
    roles = ", ".join(sorted(crew.roles(session.entering))).capitalize()
    return f"{roles}. Read only"


def _frame(session: Session, where: str, sub: str, *, reads_only: bool) -> Frame:
    links = () if reads_only else (Way(words="Today", href="/"),)
    hands = Way(words="Hands", href="/sign-on?back=/records")
    return frame_of(session, where=where, sub=sub, links=(*links, hands), desk=True)
