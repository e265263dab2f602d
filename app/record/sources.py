"""All that a record is made from, as bytes that travel inside it; and the record made from them.

The sealed pages are a function of these files and of nothing else: whoever has them makes the same
pages again, and so sees whether others were put in their place.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from app.ledger.canonical import digest
from app.ledger.stored import unseal
from app.procedure.loader import load_procedure, load_site
from app.record.cast import SiteCast
from app.record.document import build
from app.record.previous import Previous
from app.run.board import Board, FactNow, post
from app.run.changing import followed
from app.run.events import EVENTS, EntryMade, Happened, RunOpened, from_body
from app.run.replay import Stage
from app.run.state import RunState, fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from app.ledger.stored import Stored
    from app.procedure.model import Procedure, Site
    from app.record.document import Document

EVENTS_FILE = "events.jsonl"
PROCEDURE_FILE = "procedure.toml"
SITE_FILE = "site.toml"
SITE_EVENTS_FILE = "site-events.jsonl"
EARLIER_FILE = "earlier-readings.jsonl"
PREVIOUS_FILE = "previous.json"
CERTIFICATES_FILE = "certificates.pem"
CHANGE_FILE = "change-{}.toml"  # the text of a field change, by its number
PHOTO_FILE = "photo-{}.jpg"  # a small picture of a photo, by the SHA-256 of the whole one
NOTHING: Mapping[Any, bytes] = MappingProxyType({})


class Unusable(Exception):  # noqa: N818 - told to a person
    """A record cannot be made from these files; the message says why."""


@dataclass(frozen=True, kw_only=True)  # no slots: it keeps what it has worked out
class Sources:
    """The files of one record."""

    events: tuple[Stored, ...]
    procedure: bytes
    site: bytes
    site_events: tuple[Stored, ...] = ()  # of the site's own stream, those on which the run rests
    earlier: tuple[Stored, ...] = ()  # entries of other runs whose readings stood on the board
    previous: bytes = b""  # values of the last run of the same procedure, JSON
    changes: Mapping[int, bytes] = field(default_factory=lambda: NOTHING)
    photos: Mapping[str, bytes] = field(default_factory=lambda: NOTHING)

    @cached_property
    def happened(self) -> tuple[Happened, ...]:
        """Return the events that this version knows."""
        return tuple(as_happened(each) for each in self.events if each.kind in EVENTS)

    @cached_property
    def unknown(self) -> tuple[Stored, ...]:
        """Return the events of a kind that this version does not know."""
        return tuple(each for each in self.events if each.kind not in EVENTS)

    @cached_property
    def acts(self) -> tuple[tuple[Happened, ...], ...]:
        """Return the events act by act: those that one press came to."""
        acts: list[list[Happened]] = []
        key = ""
        for each in self.events:
            alone = each.kind in ("ActRefused", "ReleaseWithdrawn") or not each.key
            if each.kind not in EVENTS:
                key = ""
                continue
            if alone or each.key != key:
                acts.append([])
            acts[-1].append(as_happened(each))
            key = "" if alone else each.key
        return tuple(tuple(act) for act in acts)

    @cached_property
    def opened(self) -> RunOpened:
        """Return the event that opened the run."""
        first = self.happened[0].event if self.happened else None
        if not isinstance(first, RunOpened):
            raise Unusable("The events do not begin with the opening of a run.")
        return first

    @cached_property
    def state(self) -> RunState:
        """Return the run as it stood at its end."""
        return fold(self.happened)

    @cached_property
    def the_site(self) -> Site:
        """Return the model of the site's file."""
        site, faults = load_site(self.site, SITE_FILE)
        if site is None:
            raise Unusable(f"{SITE_FILE} does not load: {faults[0] if faults else 'it is empty'}")
        return site

    @cached_property
    def released(self) -> Procedure:
        """Return the model of the procedure as it was released."""
        return self._loaded(self.procedure, PROCEDURE_FILE)

    @cached_property
    def texts(self) -> dict[str, Procedure]:
        """Return the texts that were approved for this run alone, by SHA-256."""
        return {
            digest(text): self._loaded(text, CHANGE_FILE.format(number))
            for number, text in self.changes.items()
        }

    @cached_property
    def cast(self) -> SiteCast:
        """Return who and what the site had at each moment."""
        return SiteCast(self.the_site, self.site_events)

    @cached_property
    def board(self) -> Board:
        """Return the board at the opening: its facts, and the readings of earlier runs."""
        facts = {name: FactNow(value=None) for name in self.released.asset.facts}
        facts |= {name: FactNow(value=value) for name, value in self.opened.facts.items()}
        board = Board(asset=self.opened.asset, facts=facts)
        for each in self.earlier:
            board = post(board, each.stream.removeprefix("run/"), as_happened(each))
        return board

    @cached_property
    def stage(self) -> Stage:
        """Return what the run was played on."""
        return Stage(released=self.released, board=self.board, cast=self.cast, texts=self.texts)

    def document(self, root: str) -> Document:
        """Return the record as plain data.

        Args:
            root: SHA-256 of the site's root certificate, hexadecimal.

        Raises:
            Unusable: a file does not load.
        """
        last = self.happened[-1]
        return build(
            followed(self.released, self.texts, self.state, last.at),
            self.state,
            self.happened,
            self.cast.crew(last.at),
            self.the_site,
            head=self.events[-1].hash,
            root=root,
            site_events=self.site_events,
            tools=self.cast.tools(last.at),
            previous=Previous.read(self.previous),
            photos=self.photos,
        )

    def _loaded(self, text: bytes, name: str) -> Procedure:
        procedure, faults = load_procedure(text, name, self.the_site)
        if procedure is None:
            raise Unusable(f"{name} does not load: {faults[0] if faults else 'it is empty'}")
        return procedure


def as_happened(stored: Stored) -> Happened:
    """Return a run's event as the core knows it.

    Raises:
        Unusable: its body has other fields than its kind.
    """
    try:
        event = from_body(stored.kind, stored.body)
    except (TypeError, KeyError) as failure:
        raise Unusable(f"Event {stored.seq} has not the fields of its kind.") from failure
    return Happened(seq=stored.seq, at=stored.at, by=stored.by, device=stored.device, event=event)


def photos_of(happened: Iterable[Happened]) -> tuple[str, ...]:
    """Return the SHA-256 of every photo in a run's entries, in order."""
    return tuple(
        dict.fromkeys(
            value
            for each in happened
            if isinstance(each.event, EntryMade)
            for name, value in each.event.values.items()
            if name.startswith("photo") and len(value) == 64
        )
    )


def photos_in(events: Iterable[Stored]) -> tuple[str, ...]:
    """Return the SHA-256 of every photo in the events of a run, as they are stored."""
    made = [as_happened(each) for each in events if each.kind == "EntryMade"]
    return photos_of(made)


def lines_of(events: Sequence[Stored]) -> bytes:
    """Return events as they are kept, one to a line."""
    return b"".join(event.canonical + b"\n" for event in events)


def events_of(content: bytes) -> tuple[Stored, ...]:
    """Return the events that lines spell; a line that cannot be read is left out."""
    events = []
    for line in content.splitlines():
        try:
            events.append(unseal(line, digest(line)))
        except ValueError:
            continue
    return tuple(events)


def sources_of(files: Mapping[str, bytes]) -> Sources:
    """Return the sources that travel inside a record, by the names of its attachments."""
    events = events_of(files.get(EVENTS_FILE, b""))
    numbers = [each.body.get("change") for each in events if each.kind == "FieldChangeApproved"]
    kept = {n: files.get(CHANGE_FILE.format(n)) for n in numbers if isinstance(n, int)}
    head, tail = PHOTO_FILE.split("{}")
    return Sources(
        events=events,
        procedure=files.get(PROCEDURE_FILE, b""),
        site=files.get(SITE_FILE, b""),
        site_events=events_of(files.get(SITE_EVENTS_FILE, b"")),
        earlier=events_of(files.get(EARLIER_FILE, b"")),
        previous=files.get(PREVIOUS_FILE, b""),
        changes={number: text for number, text in kept.items() if text is not None},
        photos={
            name.removeprefix(head).removesuffix(tail): content
            for name, content in files.items()
            if name.startswith(head) and name.endswith(tail)
        },
    )


def as_json(value: object) -> bytes:
    """Return plain data as JSON, always the same bytes for the same data."""
    return json.dumps(value, ensure_ascii=False, indent=1, sort_keys=True).encode()
