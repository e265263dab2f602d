"""Sealing the record of a closed run, and finding it again."""

from __future__ import annotations

import asyncio
import os
import secrets
from collections.abc import Sequence
from pathlib import Path

from app.desk.seen import SealedRecord, Seen
from app.desk.shelf import RUN, Shelf, happened
from app.ledger.canonical import digest
from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Draft, Stored
from app.procedure.model import Site
from app.record.document import Document, build
from app.record.keys import SiteKeys
from app.record.making import make_record
from app.record.pdf import Renderer
from app.run.crew import Crew
from app.run.state import RunState


class Sealing:
    """The desk's way to the sealed records; one record is made at a time."""

    def __init__(  # noqa: PLR0913 - what a record is made of
        self,
        ledger: Ledger,
        shelf: Shelf,
        *,
        site: Site,
        site_text: bytes,
        keys: SiteKeys,
        folder: Path,
    ) -> None:
        self._ledger = ledger
        self._shelf = shelf
        self._site = site
        self._site_text = site_text
        self._keys = keys
        self._folder = folder
        self._renderer = Renderer()
        self._turns: dict[str, asyncio.Task[SealedRecord]] = {}
        folder.mkdir(parents=True, exist_ok=True)

    def close(self) -> None:
        """Let the printing child end."""
        self._renderer.close()

    def found(self, run: str) -> SealedRecord | None:
        """Return a run's sealed record, None if it is not sealed (yet)."""
        told = self._shelf.sealed(run)
        if told is None:
            return None
        return SealedRecord(
            run=run,
            path=self._folder / f"{run}.pdf",
            sha256=str(told.body["sha256"]),
            head=str(told.body["head"]),
            root=str(told.body["root"]),
            at=told.at,
        )

    def document(self, seen: Seen, crew: Crew) -> tuple[Document, list[Stored]]:
        """Return a run's record as plain data, with the events it is made from."""
        events = self._ledger.read(RUN + seen.state.run)
        document = build(
            seen.procedure,
            seen.state,
            [happened(each) for each in events],
            crew,
            self._site,
            head=events[-1].hash,
            root=self._keys.fingerprint,
            released=self._released(seen.state),
        )
        return document, events

    async def seal(self, seen: Seen, crew: Crew) -> SealedRecord:
        """Seal a closed run's record, once; everyone who asks meanwhile waits for the same.

        Raises:
            RecordTrouble: the run is not closed, or the record cannot be printed.
        """
        done = self.found(seen.state.run)
        if done is not None:
            return done
        turn = self._turns.get(seen.state.run)
        if turn is None:
            turn = asyncio.create_task(asyncio.to_thread(self._make, seen, crew))
            self._turns[seen.state.run] = turn
            turn.add_done_callback(lambda _: self._turns.pop(seen.state.run, None))
        return await asyncio.shield(turn)

    def _make(self, seen: Seen, crew: Crew) -> SealedRecord:
        document, events = self.document(seen, crew)
        text = self._ledger.text(seen.procedure.sha256) or b""
        pdf = make_record(
            document,
            events,
            text,
            self._keys,
            renderer=self._renderer,
            site_toml=self._site_text,
            changes={c.number: self._ledger.text(c.sha256) or b"" for c in seen.state.changes},
        )
        _write(self._folder / f"{seen.state.run}.pdf", pdf)
        body = {
            "run": seen.state.run,
            "head": events[-1].hash,
            "sha256": digest(pdf),
            "root": self._keys.fingerprint,
        }

        def errand(tx: Transaction) -> None:
            told = tx.append(Draft(SITE, "RunSealed", body, ""), secrets.token_hex(16))
            self._shelf.note(told)

        self._ledger.submit(errand).result()
        sealed = self.found(seen.state.run)
        if sealed is None:  # the errand was committed, so the shelf knows it
            raise RuntimeError(f"{seen.state.run} was sealed and is not on the shelf")
        return sealed

    def _released(self, state: RunState) -> str:
        for each in reversed(self._site_events()):
            if each.kind == "ProcedureReleased" and each.body["sha256"] == state.sha256:
                reviewed = each.body["reviewed_by"]
                return f"Reviewed by {reviewed}, released by {each.by} on {each.at:%Y-%m-%d}."
        return ""

    def _site_events(self) -> Sequence[Stored]:
        return self._ledger.read(SITE)


def _write(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, and have it on the disk before going on."""
    part = path.with_suffix(".part")
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
