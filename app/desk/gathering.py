"""Gathering what the record of a run is made from: events, texts, photos, what went before."""

from __future__ import annotations

import io

from PIL import Image

from app.desk.shelf import RUN, Shelf, happened
from app.ledger.blobs import Blobs
from app.ledger.ledger import Ledger
from app.ledger.stored import SITE, Stored
from app.procedure.loader import load_procedure, load_site
from app.record.cast import resting_on
from app.record.previous import Previous
from app.record.sources import Sources, as_json, photos_of
from app.run.board import Board, post
from app.run.state import RunState, fold

PICTURE = (420, 420)  # of a photo in a record, points at most; the whole one is kept beside it
PICTURE_QUALITY = 70
MOST_PICTURES = 80  # in one record; of the others it has the SHA-256 alone


class Gathering:
    """Gathers the sources of records from the ledger and the photos."""

    def __init__(self, ledger: Ledger, shelf: Shelf, site_text: bytes, blobs: Blobs) -> None:
        self._ledger = ledger
        self._shelf = shelf
        self._site_text = site_text
        self._blobs = blobs

    def sources(self, run: str) -> Sources:
        """Return all that the record of a run is made from."""
        events = tuple(self._ledger.read(RUN + run))
        state = fold(happened(each) for each in events)
        return Sources(
            events=events,
            procedure=self._ledger.text(state.sha256) or b"",
            site=self._site_text,
            site_events=resting_on(self._ledger.read(SITE), events),
            earlier=self._earlier(state),
            previous=self._previous(state),
            changes={c.number: self._ledger.text(c.sha256) or b"" for c in state.changes},
            photos=self._pictures(events),
        )

    def _before(self, state: RunState) -> list[RunState]:
        """Return the runs of the same asset that were opened before this one, oldest first."""
        opened = state.opened_at
        return [
            each
            for each in self._shelf.seen_states()
            if each.asset == state.asset
            and each.run != state.run
            and opened is not None
            and each.opened_at is not None
            and each.opened_at < opened
        ]

    def _earlier(self, state: RunState) -> tuple[Stored, ...]:
        """Return the entries of earlier runs whose readings stood on the board at the opening."""
        board = Board(asset=state.asset)
        kept: dict[tuple[str, int], Stored] = {}
        for before in self._before(state):
            for each in self._ledger.read(RUN + before.run):
                board = post(board, before.run, happened(each))
                if each.kind == "EntryMade" and each.body["readings"]:
                    kept[before.run, each.seq] = each
        wanted = {(now.run, now.entry) for now in board.readings.values()}
        for key in [*wanted]:
            while (number := int(kept[key].body["replaces"])) and (key[0], number) in kept:
                key = (key[0], number)  # noqa: PLW2901  a corrected reading is as old as its first
                wanted.add(key)
        return tuple(kept[key] for key in sorted(wanted))

    def _previous(self, state: RunState) -> bytes:
        """Return the values of the last run of the same procedure that was carried to its end."""
        closed = [
            each
            for each in self._before(state)
            if each.procedure == state.procedure
            and each.closed_at is not None
            and each.abandoned is None
            and state.opened_at is not None
            and each.closed_at <= state.opened_at
        ]
        if not closed:
            return b""
        last = closed[-1]
        site, _ = load_site(self._site_text, "site.toml")
        text = self._ledger.text(last.sha256) or b""
        procedure = load_procedure(text, "procedure.toml", site)[0] if site is not None else None
        if procedure is None:
            return b""
        head = self._ledger.read(RUN + last.run)[-1].hash
        return as_json(Previous.of(procedure, last, head).plain())

    def _pictures(self, events: tuple[Stored, ...]) -> dict[str, bytes]:
        found: dict[str, bytes] = {}
        for sha256 in photos_of(happened(each) for each in events)[:MOST_PICTURES]:
            content = self._blobs.read(sha256)
            picture = _small(content) if content is not None else b""
            if picture:
                found[sha256] = picture
        return found


def _small(content: bytes) -> bytes:
    """Return a small JPEG of a photo, b"" of one that cannot be opened."""
    try:
        with Image.open(io.BytesIO(content)) as photo:
            photo.thumbnail(PICTURE)
            kept = io.BytesIO()
            photo.convert("RGB").save(kept, "JPEG", quality=PICTURE_QUALITY)
    except OSError:
        return b""
    return kept.getvalue()
