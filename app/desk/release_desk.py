"""The release desk: texts come in, are checked, reviewed, released, withdrawn, and read by the crew."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from app.desk.acts import REUSED
from app.desk.shelf import RUN, Shelf
from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Draft, Stored
from app.procedure.check import checked
from app.procedure.loader import load_procedure
from app.procedure.model import Procedure, Site
from app.procedure.versions import Changes, compare
from app.proof import releasing
from app.proof.checking import Checked, check_whole
from app.proof.releasing import Book, Text, difference
from app.run.commands import Abandon, Command, RefuseHold, ReportTrouble, StopWork
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.run.state import RunState

SITE_FILE = "site.toml"
LONGEST = 256 * 1024  # bytes of a text; the longest of a campaign has a tenth of it
FREE = (StopWork, ReportTrouble, RefuseHold, Abandon)  # to the safe side nobody must read first


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkup:
    """What was found in a text, and how long it took."""

    checked: Checked
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """A text that was taken, or why it was not, with the difference where that is the reason."""

    procedure: str = ""
    refusal: Refusal | None = None
    difference: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class By:
    """Whose act it is, at which tablet, under which key. Their secret was checked before."""

    person: str
    device: str
    key: str


class ReleaseDesk:
    """Everything that becomes of procedures' texts; each step is one event of the site's stream."""

    def __init__(
        self,
        ledger: Ledger,
        shelf: Shelf,
        site: Site,
        site_text: bytes,
        crew: Callable[[], Crew],
    ) -> None:
        self._ledger = ledger
        self._shelf = shelf
        self._site = site
        self._site_text = site_text
        self._crew = crew
        self._checkups: dict[tuple[str, str], Checkup] = {}

    # -- reading

    def books(self) -> tuple[Book, ...]:
        """Return every procedure's texts, by id."""
        return self._shelf.seen_books()

    def book(self, procedure: str) -> Book | None:
        """Return one procedure's texts."""
        return next((book for book in self.books() if book.id == procedure), None)

    def words(self, text: Text) -> str:
        """Return a text as it was brought."""
        return (self._ledger.text(text.sha256) or b"").decode("utf-8", "replace")

    def model(self, text: Text) -> Procedure | None:
        """Return a text's model, None if its form has faults."""
        return load_procedure(self.words(text), text.file, self._site)[0]

    def changes(self, book: Book, text: Text) -> Changes | None:
        """Return what a text changes against the release before it; None if there is none."""
        before = book.before(text)
        old, new = (self.model(each) if each is not None else None for each in (before, text))
        return compare(old, new) if old is not None and new is not None else None

    async def checkup(self, book: Book, text: Text) -> Checkup:
        """Check and prove a text, once for each text and the release before it."""
        before = book.before(text)
        key = (text.sha256, before.sha256 if before is not None else "")
        if key not in self._checkups:
            self._checkups[key] = await asyncio.to_thread(self._check, text, before)
        return self._checkups[key]

    # -- acting

    async def bring(self, content: bytes, file: str, by: By) -> Brought:
        """Take a text as the draft of a procedure's next revision."""
        read, faults = (None, []) if len(content) > LONGEST else self._read(content, file)
        if read is None:
            why = str(faults[0]) if faults else f"It has more than {LONGEST // 1024} kB."
            sentence = f"The text cannot be read. {why} Nothing was saved."
            return Brought(refusal=Refusal(code="release.unreadable", sentence=sentence))
        body = {
            "procedure": read.id,
            "revision": read.revision,
            "title": read.title,
            "sha256": read.sha256,
            "file": file,
        }
        told = await self._write(
            releasing.DRAFTED,
            body,
            by,
            lambda book: releasing.why_not_draft(book, read, self._crew(), by.person),
            text=content,
        )
        if isinstance(told, Refusal) and told.code == "release.same_revision":
            return Brought(refusal=told, difference=self._difference(read, content, file))
        if isinstance(told, Refusal):
            return Brought(procedure=read.id, refusal=told)
        return Brought(procedure=read.id)

    async def review(self, procedure: str, sha256: str, note: str, by: By) -> Book | Refusal:
        """Note that somebody has reviewed the draft."""
        return await self._of_text(
            releasing.REVIEWED,
            procedure,
            sha256,
            by,
            lambda book: releasing.why_not_review(book, sha256, self._crew(), by.person),
            note=note.strip(),
        )

    async def release(self, procedure: str, sha256: str, by: By) -> Book | Refusal:
        """Release the draft, if nothing stands against it."""
        book = self.book(procedure)
        text = book.text(sha256) if book is not None else None
        faults, more = 0, {}
        if book is not None and text is not None:
            checkup = await self.checkup(book, text)
            faults = len(checkup.checked.faults) or checkup.checked.exit_code
            changes = self.changes(book, text)
            more = {
                "title": text.title,
                "author": text.author,
                "reviewed_by": text.reviewed.by if text.reviewed is not None else "",
                "weight": changes.weight if changes is not None else "first",
            }
        return await self._of_text(
            releasing.RELEASED,
            procedure,
            sha256,
            by,
            lambda now: releasing.why_not_release(
                now, sha256, self._crew(), by.person, faults=faults
            ),
            **more,
        )

    async def withdraw(self, procedure: str, reason: str, by: By) -> Book | Refusal:
        """Withdraw the release: no new run of it, and those that go on stop at a safe point."""
        book = self.book(procedure)
        sha256 = book.current.sha256 if book is not None and book.current is not None else ""
        return await self._of_text(
            releasing.WITHDRAWN,
            procedure,
            sha256,
            by,
            lambda now: releasing.why_not_withdraw(now, self._crew(), by.person, reason),
            reason=reason.strip(),
        )

    async def acknowledge(self, procedure: str, by: By) -> Book | Refusal:
        """Note that a person has read what a major revision changed."""
        book = self.book(procedure)
        sha256 = book.current.sha256 if book is not None and book.current is not None else ""
        return await self._of_text(
            releasing.ACKNOWLEDGED,
            procedure,
            sha256,
            by,
            lambda now: releasing.why_not_acknowledge(now, self._crew(), by.person),
        )

    # -- what the front desk asks

    def why_not_act(self, state: RunState, command: Command) -> Refusal | None:
        """Return why a person may not act in a run yet: its text changed and they have not read it.

        A run is pinned and what was read stays read, so this can be asked before the writer's turn.
        """
        if isinstance(command, FREE):
            return None
        return releasing.why_not_act(self.book(state.procedure), state.revision, command.by)

    def why_not_open(self, procedure: str, sha256: str, by: str) -> Refusal | None:
        """Return why a run is not opened; asked inside the writer's turn."""
        book = self._shelf.book(procedure)
        refusal = releasing.why_not_open(book, procedure)
        if refusal is None and book is not None and book.current is not None:
            if book.current.sha256 != sha256:
                return Refusal(
                    code="release.changed",
                    sentence=f"{procedure} was released anew just now. Open the page again.",
                )
            refusal = releasing.why_not_act(book, book.current.revision, by)
        return refusal

    # -- inside

    def _read(self, content: bytes, file: str) -> tuple[Procedure | None, list[Any]]:
        read, faults = checked(content, file, self._site)
        return read, list(faults)

    def _check(self, text: Text, before: Text | None) -> Checkup:
        began = time.perf_counter()
        texts = {SITE_FILE: self._site_text, text.file: self.words(text).encode()}
        against = {} if before is None else {before.file: self.words(before).encode()}
        found = check_whole(texts, against=against)
        return Checkup(checked=found, seconds=time.perf_counter() - began)

    def _difference(self, read: Procedure, content: bytes, file: str) -> tuple[str, ...]:
        book = self.book(read.id)
        if book is None or book.last is None:
            return ()
        names = (f"{read.id} revision {book.last.revision}, released", f"{file}, brought now")
        return difference(self.words(book.last), content.decode("utf-8", "replace"), names)

    async def _of_text(
        self,
        kind: str,
        procedure: str,
        sha256: str,
        by: By,
        why_not: Callable[[Book | None], Refusal | None],
        **more: str,
    ) -> Book | Refusal:
        book = self.book(procedure)
        text = book.text(sha256) if book is not None else None
        revision = text.revision if text is not None else 0
        body = {"procedure": procedure, "revision": revision, "sha256": sha256, **more}
        return await self._write(kind, body, by, why_not)

    async def _write(
        self,
        kind: str,
        body: Mapping[str, Any],
        by: By,
        why_not: Callable[[Book | None], Refusal | None],
        *,
        text: bytes | None = None,
    ) -> Book | Refusal:
        name = str(body["procedure"])
        asked = f"{kind} {name} {body['sha256']} {by.person}"

        def errand(tx: Transaction) -> Refusal | None:
            known = tx.receipt(SITE, by.key)
            if known is not None:
                return None if known.fingerprint == asked else REUSED
            refusal = why_not(self._shelf.book(name))
            if refusal is not None:
                return refusal
            if text is not None:
                tx.keep_text(str(body["sha256"]), text)
            kept = [tx.append(Draft(SITE, kind, dict(body), by.person, by.device), by.key)]
            if kind == releasing.WITHDRAWN:
                kept += self._tell_runs(tx, body, by)
            tx.keep_receipt(SITE, by.key, asked, "{}")
            for each in kept:
                self._shelf.note(each)
            return None

        refusal = await asyncio.wrap_future(self._ledger.submit(errand))
        book = self.book(name)
        if refusal is not None:
            return refusal
        if book is None:  # it was committed, so the shelf knows it
            raise RuntimeError(f"{name} was kept and is not on the shelf")
        return book

    def _tell_runs(self, tx: Transaction, body: Mapping[str, Any], by: By) -> list[Stored]:
        told = {"reason": str(body["reason"])}
        return [
            tx.append(
                Draft(RUN + state.run, "ReleaseWithdrawn", told, by.person, by.device), by.key
            )
            for state in self._shelf.all_states()
            if state.sha256 == body["sha256"] and state.status in ("open", "suspended")
        ]
