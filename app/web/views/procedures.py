"""The procedures of the site: which text of each counts, how far it has come, who has to read it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.people.sessions import Session
from app.procedure.model import Procedure
from app.procedure.versions import Change, Changes
from app.proof.releasing import Book, Text
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.web.submitted import Submitted
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import able, people_to_choose
from app.web.views.seats import Chooser
from app.web.views.words import day_and_clock, several

MARKS = {
    "draft": "todo",
    "reviewed": "half",
    "released": "both",
    "superseded": "done",
    "withdrawn": "stop",
    "replaced": "done",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TextRow:
    """One text of a procedure, with everyone whose name stands to it."""

    revision: str
    state: str
    mark: str
    story: str
    print: str
    href: str  # "" where this person may not read its report


@dataclass(frozen=True, slots=True, kw_only=True)
class BookRow:
    """One procedure, with the texts that still count."""

    id: str
    title: str
    texts: tuple[TextRow, ...]
    acknowledge: str  # where this person reads what changed; "" when they have


@dataclass(frozen=True, slots=True, kw_only=True)
class ProceduresView:
    """The list."""

    frame: Frame
    answer: str
    rows: tuple[BookRow, ...]
    chooser: Chooser
    refusal: Refusal | None
    difference: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AcknowledgeView:
    """What a major revision changed, to be read and signed."""

    frame: Frame
    answer: str
    mark: str
    action: str
    title: str
    since: str
    changes: tuple[str, ...]
    chooser: Chooser
    refusal: Refusal | None


def procedures_view(  # noqa: PLR0913 - each is one thing that the page shows
    books: Sequence[Book],
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    difference: tuple[str, ...] = (),
    sent: Submitted | None = None,
) -> ProceduresView:
    """Return the list of procedures, as one person may see it."""
    person = session.entering
    rows = tuple(_book_row(book, crew, person) for book in books)
    unread = sum(bool(row.acknowledge) for row in rows)
    released = sum(book.current is not None for book in books)
    return ProceduresView(
        frame=frame_of(
            session,
            where="Procedures",
            sub="What may be run, and what is on its way",
            links=(Way(words="Today", href="/"),),
            stop="/stop",
            desk=True,
        ),
        answer=(
            f"{several(unread, 'procedure')} changed. Read what is new before you act"
            if unread
            else f"{several(released, 'procedure')} released"
        ),
        rows=rows,
        chooser=people_to_choose(
            crew, session, chosen=(sent or Submitted()).text("person"), may=able(crew, "perform")
        ),
        refusal=refusal,
        difference=difference,
    )


def acknowledge_view(
    book: Book,
    changes: Changes | None,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
) -> AcknowledgeView:
    """Return what changed, and who has still to sign that they have read it."""
    text = book.current or book.texts[-1]

    def unread(person: str) -> bool:
        return crew.may(person, "perform") and bool(book.to_read(person, text.revision))

    due = book.to_read(session.entering, text.revision)
    words = tuple(change_words(each, changes.new) for each in changes.changes) if changes else ()
    return AcknowledgeView(
        frame=frame_of(
            session,
            where=f"{book.id}, revision {text.revision}",
            sub="What changed",
            links=(Way(words="Procedures", href="/procedures"), Way(words="Today", href="/")),
            stop="/stop",
        ),
        answer="Read what changed, then sign it" if due else "You have read what changed",
        mark="empty" if due else "both",
        action=f"/procedures/{book.id}/acknowledge",
        title=text.title,
        since=f"Since revision {changes.old.revision}" if changes else "Nothing to compare with",
        changes=words,
        chooser=people_to_choose(crew, session, may=unread),
        refusal=refusal,
    )


def may_read(crew: Crew, person: str, text: Text) -> bool:
    """Say whether a person may read a text's report: who reviews, who releases, who wrote it.

    Nobody else: the text holds what a blind count must come to.
    """
    able_to = crew.may(person, "release-hold") or crew.may(person, "release-procedure")
    return able_to or (bool(person) and person == text.author)


def change_words(change: Change, procedure: Procedure) -> str:
    """Return one change as a sentence; of a step whose entries are blind, no value."""
    step = procedure.step(change.step)
    where = f"Step {step.number}: " if step is not None else change.step and f"{change.step}: "
    key = change.key.replace("_", " ")
    if step is not None and step.check == "independent":
        return f"{where}{key} changed."
    if change.key == "step":
        return f"{where}{'new' if change.after else 'taken out'}."
    return f"{where}{key}: {change.before or 'nothing'} → {change.after or 'nothing'}"


def text_row(book: Book, text: Text, href: str) -> TextRow:
    """Return a text with its story."""
    state = book.state(text)
    return TextRow(
        revision=f"Revision {text.revision}",
        state=state.capitalize(),
        mark=MARKS[state],
        story=_story(text),
        print=text.sha256[:12],
        href=href,
    )


def _story(text: Text) -> str:
    told = [
        f"{word} {done.by} {day_and_clock(done.at)}"
        for word, done in (
            ("Written by", text.drafted),
            ("reviewed by", text.reviewed),
            ("released by", text.released),
            ("withdrawn by", text.withdrawn),
        )
        if done is not None
    ]
    why = f" “{text.withdrawn.words}”" if text.withdrawn is not None else ""
    weight = f" A {text.weight} change." if text.weight in ("major", "minor") else ""
    story = ", ".join(told)
    return f"{story[:1].upper()}{story[1:]}.{why}{weight}"


def _book_row(book: Book, crew: Crew, person: str) -> BookRow:
    shown = [text for text in (book.draft, book.last) if text is not None]
    newest = shown[0] if shown else book.texts[-1]
    due = book.to_read(person, book.current.revision) if book.current is not None else 0
    may = crew.may(person, "perform")
    return BookRow(
        id=book.id,
        title=newest.title,
        texts=tuple(
            text_row(book, text, address(text) if may_read(crew, person, text) else "")
            for text in shown
        ),
        acknowledge=f"/procedures/{book.id}/acknowledge" if due and may else "",
    )


def address(text: Text) -> str:
    """Return where a text's report stands."""
    return f"/procedures/{text.procedure}?text={text.sha256}"
