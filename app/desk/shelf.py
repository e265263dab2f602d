"""What is kept at hand: every run's state, every asset's board, every procedure that was released.

Rules:
- what lies here is the fold of the ledger, and nothing else;
- inside a batch the writer's thread works on what is pending; it is published after the commit,
  and dropped if the commit fails;
- readers see published states only.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from app.desk.seen import Released
from app.ledger.stored import SITE, Stored
from app.procedure.loader import load_procedure
from app.procedure.model import Procedure, Site
from app.procedure.tool import Tool
from app.proof.releasing import RELEASE_EVENTS, Book
from app.proof.releasing import noted as noted_release
from app.run.board import Board, declare, first_board, post
from app.run.events import Happened, from_body
from app.run.state import RunState, evolve
from app.run.tool_events import TOOL_EVENTS, noted

RUN = "run/"


def happened(stored: Stored) -> Happened:
    """Return a run's event as the core knows it."""
    return Happened(
        seq=stored.seq,
        at=stored.at,
        by=stored.by,
        device=stored.device,
        event=from_body(stored.kind, stored.body),
    )


@dataclass(slots=True)
class _Layer:
    """A set of states, boards and releases; the pending one lies over the published one."""

    states: dict[str, RunState] = field(default_factory=dict)
    boards: dict[str, Board] = field(default_factory=dict)
    books: dict[str, Book] = field(default_factory=dict)
    sealed: dict[str, Stored] = field(default_factory=dict)
    tools: dict[str, Tool] = field(default_factory=dict)


class Shelf:
    """The states at hand."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._published = _Layer(
            boards={asset.id: first_board(asset) for asset in site.assets.values()}
        )
        self._pending = _Layer()
        self._procedures: dict[str, Procedure] = {}

    # -- filling

    def fill(self, events: Iterable[Stored]) -> None:
        """Fold everything that the ledger holds, in the order in which it was kept."""
        for stored in events:
            self.note(stored)
        self.publish()

    def note(self, stored: Stored) -> None:
        """Fold one more event into what is pending."""
        if stored.stream == SITE:
            self._note_site(stored)
        elif stored.stream.startswith(RUN):
            run = stored.stream.removeprefix(RUN)
            each = happened(stored)
            state = evolve(self.state(run) or RunState(), each)
            self._pending.states[run] = state
            board = self.board(state.asset)
            if board is not None:
                self._pending.boards[state.asset] = post(board, run, each)

    def _note_site(self, stored: Stored) -> None:
        body = stored.body
        if stored.kind in RELEASE_EVENTS:
            name = str(body["procedure"])
            book = noted_release(self.book(name), stored.kind, body, stored.by, stored.at)
            self._pending.books[name] = book
        elif stored.kind == "FactsDeclared":
            asset = str(body["asset"])
            board = self.board(asset)
            if board is not None:
                self._pending.boards[asset] = declare(board, body["facts"], stored.at)
        elif stored.kind == "RunSealed":
            self._pending.sealed[str(body["run"])] = stored
        elif stored.kind in TOOL_EVENTS:
            serial = str(body["serial"])
            changed = noted(self.tools().get(serial), stored.kind, body, stored.at)
            if changed is not None:
                self._pending.tools[serial] = changed

    def publish(self) -> None:
        """Let readers see what is pending: it is committed."""
        pending, self._pending = self._pending, _Layer()
        self._published.states.update(pending.states)
        self._published.boards.update(pending.boards)
        self._published.books.update(pending.books)
        self._published.sealed.update(pending.sealed)
        self._published.tools.update(pending.tools)

    def drop(self) -> None:
        """Forget what is pending: it was not committed."""
        self._pending = _Layer()

    def known_procedure(self, sha256: str) -> Procedure | None:
        """Return a released procedure's model if its text was loaded before."""
        return self._procedures.get(sha256)

    def keep_procedure(self, sha256: str, text: bytes) -> Procedure:
        """Load a released text once and keep its model.

        Raises:
            ValueError: the text, which was sound when it was released, does not load any more.
        """
        known = self._procedures.get(sha256)
        if known is None:
            known, faults = load_procedure(text, f"{sha256[:12]}.toml", self._site)
            if known is None:
                raise ValueError(f"a released procedure does not load: {faults[0]}")
            self._procedures[sha256] = known
        return known

    # -- the writer's view (pending over published)

    def state(self, run: str) -> RunState | None:
        """Return a run's state as the writer's thread has it."""
        return self._pending.states.get(run) or self._published.states.get(run)

    def board(self, asset: str) -> Board | None:
        """Return an asset's board as the writer's thread has it."""
        return self._pending.boards.get(asset) or self._published.boards.get(asset)

    def all_states(self) -> tuple[RunState, ...]:
        """Return every run's state as the writer's thread has it, in the order of opening."""
        both = {**self._published.states, **self._pending.states}
        return tuple(both[run] for run in sorted(both))

    def book(self, procedure: str) -> Book | None:
        """Return a procedure's texts as the writer's thread has them."""
        return self._pending.books.get(procedure) or self._published.books.get(procedure)

    def tools(self) -> dict[str, Tool]:
        """Return the register of tools as the writer's thread has it, by serial."""
        return {**self._published.tools, **self._pending.tools}

    # -- the readers' view (published only)

    def seen_state(self, run: str) -> RunState | None:
        """Return a run's committed state."""
        return self._published.states.get(run)

    def seen_board(self, asset: str) -> Board | None:
        """Return an asset's committed board."""
        return self._published.boards.get(asset)

    def seen_states(self) -> tuple[RunState, ...]:
        """Return every run's committed state, in the order of opening."""
        return tuple(self._published.states[run] for run in sorted(self._published.states))

    def released(self) -> tuple[Released, ...]:
        """Return the procedures that may be run, by id."""
        return tuple(
            Released.of(book.current) for book in self.seen_books() if book.current is not None
        )

    def seen_books(self) -> tuple[Book, ...]:
        """Return every procedure's committed texts, by id."""
        return tuple(self._published.books[name] for name in sorted(self._published.books))

    def seen_tools(self) -> dict[str, Tool]:
        """Return the committed register of tools, by serial."""
        return dict(sorted(self._published.tools.items()))

    def sealed(self, run: str) -> Stored | None:
        """Return the site's announcement of a run's sealed record, or None."""
        return self._published.sealed.get(run)


def runs_touched(stored: Sequence[Stored]) -> frozenset[str]:
    """Return the runs to which some of these events belong."""
    return frozenset(s.stream.removeprefix(RUN) for s in stored if s.stream.startswith(RUN))
