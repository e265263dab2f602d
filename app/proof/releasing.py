"""From a draft to a release: who may do what, in which order; and what the crew must have read.

Rules, all of them here:
- an author brings a draft; the newest draft of the next revision is the one that counts;
- someone else who may release holds reviews it; a third person, who may release procedures,
  releases it. Author, reviewer and releaser are three people (DOE-STD-1073-2003 chapter 5: author,
  technical reviewer and approver; there for critical procedures, here for all). The texts that a
  site was founded with have no author: their reviewer and their releaser are two people;
- a text is released only if its check and its proof find no fault;
- the revision is that of the last release and one more; the same revision with other bytes is
  refused, with the difference;
- after a major change each person acknowledges what changed before their first act in a run of it
  (the same standard, 6.3.8: in writing). A first release is read at the briefing;
- a release is superseded by the next; a withdrawn one opens no run, and nothing older comes back.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Literal

from app.procedure.model import Procedure
from app.run.crew import Crew
from app.run.refusal import Refusal

State = Literal["draft", "reviewed", "replaced", "released", "superseded", "withdrawn"]

DRAFTED, REVIEWED, RELEASED = "ProcedureDrafted", "ProcedureReviewed", "ProcedureReleased"
WITHDRAWN, ACKNOWLEDGED = "ProcedureWithdrawn", "ProcedureAcknowledged"
RELEASE_EVENTS = frozenset({DRAFTED, REVIEWED, RELEASED, WITHDRAWN, ACKNOWLEDGED})
ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,39}", re.ASCII)  # it stands in addresses


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """Who did something with a text, and when."""

    by: str
    at: datetime
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One text of a procedure, by its exact bytes, and how far it has come."""

    procedure: str
    revision: int
    title: str
    sha256: str
    file: str
    drafted: Done | None = None
    reviewed: Done | None = None
    released: Done | None = None
    withdrawn: Done | None = None
    weight: str = ""  # of the change at its release: first, none, minor, major

    @property
    def author(self) -> str:
        """Return who brought it, "" for a text that a site was founded with."""
        return self.drafted.by if self.drafted is not None else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """All texts of one procedure, in the order in which they came; and who has read what."""

    id: str
    texts: tuple[Text, ...] = ()
    read: Mapping[str, int] = field(default_factory=dict)  # person -> revision acknowledged

    @property
    def last(self) -> Text | None:
        """Return the last text that was released, withdrawn or not."""
        return next((text for text in reversed(self.texts) if text.released), None)

    @property
    def current(self) -> Text | None:
        """Return the text of which a run may be opened."""
        last = self.last
        return None if last is None or last.withdrawn else last

    @property
    def draft(self) -> Text | None:
        """Return the draft that counts: the newest, if nothing was released since."""
        newest = self.texts[-1] if self.texts else None
        return None if newest is None or newest.released else newest

    def text(self, sha256: str) -> Text | None:
        """Return a text by its SHA-256."""
        return next((text for text in self.texts if text.sha256 == sha256), None)

    def before(self, text: Text) -> Text | None:
        """Return what was released before a text."""
        older = [t for t in self.texts if t.released and t.revision < text.revision]
        return older[-1] if older else None

    def state(self, text: Text) -> State:
        """Return how far a text has come."""
        if text.withdrawn:
            return "withdrawn"
        if text.released:
            return "released" if text == self.last else "superseded"
        if text != self.draft:
            return "replaced"
        return "reviewed" if text.reviewed else "draft"

    def to_read(self, person: str, revision: int) -> int:
        """Return the last major revision that a person has not acknowledged, 0 if none."""
        major = [t.revision for t in self.texts if t.released and t.weight == "major"]
        due = max((each for each in major if each <= revision), default=0)
        return due if self.read.get(person, 0) < due else 0


def noted(book: Book | None, kind: str, body: Mapping[str, Any], by: str, at: datetime) -> Book:
    """Return a procedure's book after one more event of the site's stream."""
    book = book or Book(id=str(body["procedure"]))
    sha256, revision = str(body["sha256"]), int(body["revision"])
    done = Done(by=by, at=at, words=str(body.get("reason", body.get("note", ""))))
    if kind == ACKNOWLEDGED:
        return replace(book, read={**book.read, by: max(revision, book.read.get(by, 0))})
    text = book.text(sha256) or Text(
        procedure=book.id,
        revision=revision,
        title=str(body.get("title", "")),
        sha256=sha256,
        file=str(body.get("file", f"{book.id}.toml")),
    )
    others = tuple(each for each in book.texts if each.sha256 != sha256)
    match kind:
        case "ProcedureDrafted":
            return replace(book, texts=(*others, replace(text, drafted=done, reviewed=None)))
        case "ProcedureReviewed":
            changed = replace(text, reviewed=done)
        case "ProcedureReleased":
            reviewed = text.reviewed or Done(by=str(body["reviewed_by"]), at=at)
            weight = str(body.get("weight", "first"))
            changed = replace(text, reviewed=reviewed, released=done, weight=weight)
        case _:
            changed = replace(text, withdrawn=done)
    if text not in book.texts:
        return replace(book, texts=(*book.texts, changed))
    return replace(book, texts=tuple(changed if t == text else t for t in book.texts))


def difference(old: str, new: str, names: tuple[str, str]) -> tuple[str, ...]:
    """Return the difference of two texts as unified lines."""
    lines = difflib.unified_diff(old.splitlines(), new.splitlines(), *names, lineterm="", n=2)
    return tuple(lines)


def why_not_draft(
    book: Book | None, procedure: Procedure, crew: Crew, author: str
) -> Refusal | None:
    """Return why this text is not taken as a draft, or None."""
    if not crew.may(author, "perform"):
        return _no("role", "Only someone who works here brings a text.", who="the crew")
    if not ID.fullmatch(procedure.id):
        sentence = "The text names no procedure: id takes letters, digits and dashes."
        return _no("id", sentence, where="the key id")
    if book is None:
        return None
    known = book.text(procedure.sha256)
    if known is not None and (known.released or known == book.draft):
        state = book.state(known)
        return _no("known", f"This exact text is here already: revision {known.revision}, {state}.")
    last = book.last
    if last is None or procedure.revision == last.revision + 1:
        return None
    due = f"Write revision = {last.revision + 1}."
    if procedure.revision == last.revision:
        sentence = (
            f"{book.id} revision {last.revision} is released, and this text is another one. {due}"
        )
        return _no("same_revision", sentence, where="the key revision")
    sentence = f"The last release is revision {last.revision}, and this text says {procedure.revision}. {due}"
    return _no("revision", sentence, where="the key revision")


def why_not_review(book: Book | None, sha256: str, crew: Crew, reviewer: str) -> Refusal | None:
    """Return why this person may not review this text, or None."""
    if not crew.may(reviewer, "release-hold"):
        who = crew.who_may("release-hold")
        return _no("role", f"Only {who} reviews a text.", who=who)
    draft = book.draft if book is not None else None
    if draft is None or draft.sha256 != sha256:
        return _not_the_draft(book)
    if draft.author == reviewer:
        return _no("author", f"{reviewer} wrote this text. Another person must review it.")
    if draft.reviewed is not None:
        return _no("reviewed", f"{draft.reviewed.by} has reviewed this text already.")
    return None


def why_not_release(
    book: Book | None, sha256: str, crew: Crew, releaser: str, *, faults: int
) -> Refusal | None:
    """Return why this person may not release this text, or None."""
    if not crew.may(releaser, "release-procedure"):
        who = crew.who_may("release-procedure")
        return _no("role", f"Only {who} releases a procedure.", who=who)
    draft = book.draft if book is not None else None
    if draft is None or draft.sha256 != sha256:
        return _not_the_draft(book)
    if draft.author == releaser:
        return _no("author", f"{releaser} wrote this text. Another person must release it.")
    if faults:
        count = "1 fault" if faults == 1 else f"{faults} faults"
        sentence = f"{draft.procedure} revision {draft.revision} cannot be released: {count}."
        return _no("faults", sentence, who=draft.author, where="the check report")
    if draft.reviewed is None:
        who = crew.who_may("release-hold")
        return _no("unreviewed", "Nobody has reviewed this text yet.", who=who)
    if draft.reviewed.by == releaser:
        sentence = f"{releaser} reviewed it. Another person must release it."
        return _no("same_person", sentence, who=crew.who_may("release-procedure"))
    return None


def why_not_withdraw(book: Book | None, crew: Crew, by: str, reason: str) -> Refusal | None:
    """Return why this person may not withdraw the release, or None."""
    if not crew.may(by, "release-procedure"):
        who = crew.who_may("release-procedure")
        return _no("role", f"Only {who} withdraws a procedure.", who=who)
    if book is None or book.current is None:
        return _no("none", "There is no release to withdraw.")
    return None if reason.strip() else _no("reason", "Say why it is withdrawn.")


def why_not_acknowledge(book: Book | None, crew: Crew, person: str) -> Refusal | None:
    """Return why this person has nothing to acknowledge, or None."""
    if not crew.may(person, "perform"):
        return _no("role", "Only someone who works here acknowledges a change.", who="the crew")
    if book is None or book.current is None:
        return _no("none", "There is no release to acknowledge.")
    if not book.to_read(person, book.current.revision):
        return _no("read", f"{person} has nothing to acknowledge in {book.id}.")
    return None


def why_not_act(book: Book | None, revision: int, person: str) -> Refusal | None:
    """Return why a person may not act in a run of a revision: a major change they have not read."""
    due = book.to_read(person, revision) if book is not None else 0
    if book is None or not due:
        return None
    sentence = (
        f"{book.id} was changed in revision {due}, and {person} has not acknowledged it. "
        "Read what changed, then sign it."
    )
    return _no("acknowledge", sentence, who=person, where=f"Procedures, {book.id}, Acknowledge")


def why_not_open(book: Book | None, procedure: str) -> Refusal | None:
    """Return why no run of a procedure is opened, or None."""
    if book is not None and book.current is not None:
        return None
    last = book.last if book is not None else None
    if last is None or last.withdrawn is None:
        sentence = f"No procedure {procedure} is released here."
    else:
        gone = last.withdrawn
        sentence = (
            f"{gone.by} withdrew {procedure} revision {last.revision}: “{gone.words}” "
            "No run of it is opened."
        )
    return Refusal(code="open.released", sentence=sentence, where="Procedures")


def _not_the_draft(book: Book | None) -> Refusal:
    if book is None:
        return _no("none", "There is no text of that procedure here.")
    return _no("changed", "This is not the draft that stands now. Open its page again.")


def _no(word: str, sentence: str, *, who: str = "", where: str = "") -> Refusal:
    return Refusal(
        code=f"release.{word}", sentence=f"{sentence} Nothing was saved.", who=who, where=where
    )
