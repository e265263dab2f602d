"""Sealing the record of a closed run, and finding it again."""

from __future__ import annotations

import asyncio
import os
import secrets
from pathlib import Path

from app.desk.gathering import Gathering
from app.desk.seen import SealedRecord, Seen
from app.desk.shelf import Shelf
from app.ledger.blobs import Blobs
from app.ledger.canonical import digest
from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Draft
from app.record.document import Document
from app.record.keys import SiteKeys
from app.record.making import make_record
from app.record.pdf import Renderer


class Sealing:
    """The desk's way to the sealed records; one record is made at a time."""

    def __init__(  # noqa: PLR0913 - what a record is made of
        self,
        ledger: Ledger,
        shelf: Shelf,
        *,
        site_text: bytes,
        keys: SiteKeys,
        folder: Path,
        blobs: Blobs,
    ) -> None:
        self._ledger = ledger
        self._shelf = shelf
        self._gathering = Gathering(ledger, shelf, site_text, blobs)
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

    def document(self, run: str) -> Document:
        """Return a run's record as plain data, made of the very files that are sealed."""
        return self._gathering.sources(run).document(self._keys.fingerprint)

    async def seal(self, seen: Seen) -> SealedRecord:
        """Seal a closed run's record, once; everyone who asks meanwhile waits for the same.

        Raises:
            RecordTrouble: the run is not closed, or the record cannot be printed.
        """
        done = self.found(seen.state.run)
        if done is not None:
            return done
        turn = self._turns.get(seen.state.run)
        if turn is None:
            turn = asyncio.create_task(asyncio.to_thread(self._make, seen.state.run))
            self._turns[seen.state.run] = turn
            turn.add_done_callback(lambda _: self._turns.pop(seen.state.run, None))
        return await asyncio.shield(turn)

    def _make(self, run: str) -> SealedRecord:
        sources = self._gathering.sources(run)
        pdf = make_record(sources, self._keys, renderer=self._renderer)
        _write(self._folder / f"{run}.pdf", pdf)
        body = {
            "run": run,
            "head": sources.events[-1].hash,
            "sha256": digest(pdf),
            "root": self._keys.fingerprint,
        }

        def errand(tx: Transaction) -> None:
            told = tx.append(Draft(SITE, "RunSealed", body, ""), secrets.token_hex(16))
            self._shelf.note(told)

        self._ledger.submit(errand).result()
        sealed = self.found(run)
        if sealed is None:  # the errand was committed, so the shelf knows it
            raise RuntimeError(f"{run} was sealed and is not on the shelf")
        return sealed


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
