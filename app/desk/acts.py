"""Errands to the ledger: what is decided inside the writer's thread and kept in one transaction."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime
from typing import Any

import orjson

from app.desk.shelf import RUN, Shelf
from app.ledger.ledger import Transaction
from app.ledger.stored import SITE, Draft, Receipt, Stored
from app.procedure.model import Procedure
from app.procedure.registry import kind_of
from app.run.commands import ChangeSteps, Command, Enter
from app.run.crew import Crew
from app.run.decide import decide, decide_open
from app.run.events import (
    ActRefused,
    Event,
    RunAbandoned,
    RunClosed,
    StepDone,
    kind_name,
    to_body,
)
from app.run.refusal import Refusal
from app.run.state import RunState

Asked = Command | ChangeSteps
TextOf = Callable[[RunState, datetime], Procedure]
REUSED = Refusal(
    code="key.reused",
    sentence=(
        "This press was already answered, for something else. Nothing was saved. "
        "Open the page again, then do it."
    ),
    where="the page it came from",
    recorded=True,
)


NOT_ASKED = (
    "tablet",
    "own",
    "unsent",
)  # differ from one sending to the next; what is asked for does not


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The events that an act made, by run and number."""

    run: str
    seqs: tuple[int, ...]


def fingerprint(run: str, asked: object) -> str:
    """Return the SHA-256 of what was asked, so that a key used again is known for the same ask."""
    named = (each.name for each in fields(asked))  # type: ignore[arg-type]
    asked_for = {name: getattr(asked, name) for name in named if name not in NOT_ASKED}
    plain = {"run": run, "act": type(asked).__name__, **asked_for}
    return hashlib.sha256(orjson.dumps(_plain(plain), option=orjson.OPT_SORT_KEYS)).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    return value


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """One ask at the desk: in which run, what, by whose tablet, under which key."""

    run: str
    key: str
    device: str
    print: str


def act_errand(
    shelf: Shelf, text_of: TextOf, crew: Crew, command: Command, asking: Asking
) -> Callable[[Transaction], Kept | Refusal]:
    """Return the errand that decides a command and keeps what it came to.

    `text_of` gives the text that a run follows at a moment: a change for it alone may begin or end.
    """

    def errand(tx: Transaction) -> Kept | Refusal:
        known = tx.receipt(RUN + asking.run, asking.key)
        if known is not None:
            return again(tx, shelf, known, command, asking)
        state = shelf.state(asking.run)
        board = None if state is None else shelf.board(state.asset)
        if state is None or board is None:
            return Refusal(code="run.none", sentence=f"There is no run {asking.run}.")
        procedure = text_of(state, tx.at)
        ready = _with_own(tx, command, asking)
        answer = decide(procedure, state, board, ready, crew, tx.at, shelf.tools())
        if isinstance(answer, Refusal):
            return _refused(tx, shelf, command, asking, answer)
        return keep(tx, shelf, procedure, command.by, asking, answer)

    return errand


def _with_own(tx: Transaction, command: Command, asking: Asking) -> Command:
    """Say what the tablet's own entry before came to, so that it does not conflict with itself."""
    if not isinstance(command, Enter) or not command.after:
        return command
    before = tx.receipt(RUN + asking.run, command.after)
    told = {} if before is None else orjson.loads(before.answer)
    return replace(command, own=tuple(told.get("seqs", ())))


def refusal_errand(
    shelf: Shelf, command: Command, asking: Asking, refusal: Refusal
) -> Callable[[Transaction], Refusal]:
    """Return the errand that keeps a refusal which the desk itself made, as of a wrong secret."""

    def errand(tx: Transaction) -> Refusal:
        if shelf.state(asking.run) is None:
            return refusal
        return _write_refusal(tx, shelf, command, asking, refusal)

    return errand


def open_errand(  # noqa: PLR0913 - what opening a run takes
    shelf: Shelf,
    procedure: Procedure,
    crew: Crew,
    *,
    by: str,
    key: str,
    device: str,
    why_not: Callable[[], Refusal | None] = lambda: None,
) -> Callable[[Transaction], Kept | Refusal]:
    """Return the errand that opens a run under the next free number."""
    asked = f"open {procedure.sha256} {by}"

    def errand(tx: Transaction) -> Kept | Refusal:
        known = tx.receipt(SITE, key)
        if known is not None:
            if known.fingerprint != asked:
                return REUSED
            kept = orjson.loads(known.answer)
            return Kept(run=kept["run"], seqs=tuple(kept["seqs"]))
        refusal = why_not()
        if refusal is not None:
            return refusal
        states = shelf.all_states()
        run = f"R-{len(states) + 1:04d}"
        board = shelf.board(procedure.asset.id)
        if board is None:
            return Refusal(code="open.asset", sentence=f"No board of {procedure.asset.title}.")
        answer = decide_open(procedure, board, crew, run=run, by=by, open_runs=states)
        if isinstance(answer, Refusal):
            return answer
        asking = Asking(run=run, key=key, device=device, print="")
        body = {
            "run": run,
            "procedure": procedure.id,
            "revision": procedure.revision,
            "sha256": procedure.sha256,
        }
        site = tx.append(Draft(SITE, "RunOpened", body, by, device), key)
        stored = [tx.append(_draft(asking, by, event), key) for event in answer]
        kept = Kept(run=run, seqs=tuple(each.seq for each in stored))
        tx.keep_receipt(SITE, key, asked, _answer(kept))
        for each in (site, *stored):
            shelf.note(each)
        return kept

    return errand


def keep(  # noqa: PLR0913, PLR0917 - one transaction's worth
    tx: Transaction,
    shelf: Shelf,
    procedure: Procedure,
    by: str,
    asking: Asking,
    events: list[Event],
) -> Kept:
    """Keep the events of an act, with its receipt, in one transaction."""
    stored = [tx.append(_draft(asking, by, event), asking.key) for event in events]
    noted: list[Stored] = []
    if any(_is_anchor(procedure, event) for event in events):
        # The site's stream remembers how far the run had come: a cut tail shows there.
        head = tx.head(RUN + asking.run)
        body = {"run": asking.run, "seq": head.seq, "hash": head.hash}
        noted = [tx.append(Draft(SITE, "HeadNoted", body, by, asking.device), asking.key)]
    kept = Kept(run=asking.run, seqs=tuple(each.seq for each in stored))
    tx.keep_receipt(RUN + asking.run, asking.key, asking.print, _answer(kept))
    for each in (*stored, *noted):
        shelf.note(each)
    return kept


def _is_anchor(procedure: Procedure, event: Event) -> bool:
    if isinstance(event, RunClosed | RunAbandoned):
        return True
    step = procedure.step(event.step) if isinstance(event, StepDone) else None
    return step is not None and kind_of(step).is_hold


def _refused(
    tx: Transaction, shelf: Shelf, command: Command, asking: Asking, refusal: Refusal
) -> Refusal:
    if not refusal.recorded:
        return refusal
    told = _append_refusal(tx, command, asking, refusal)
    tx.keep_receipt(RUN + asking.run, asking.key, asking.print, _answer(refusal))
    shelf.note(told)  # last: what is on the shelf cannot be taken back by a failing errand
    return refusal


def _write_refusal(
    tx: Transaction, shelf: Shelf, command: Asked, asking: Asking, refusal: Refusal
) -> Refusal:
    shelf.note(_append_refusal(tx, command, asking, refusal))
    return refusal


def _append_refusal(tx: Transaction, command: Asked, asking: Asking, refusal: Refusal) -> Stored:
    event = ActRefused(
        act=type(command).__name__,
        step=getattr(command, "step", refusal.step),
        rule=refusal.code,
        sentence=refusal.sentence,
    )
    return tx.append(_draft(asking, command.by, event), asking.key)


def again(
    tx: Transaction, shelf: Shelf, known: Receipt, command: Asked, asking: Asking
) -> Kept | Refusal:
    """Return what a key was answered before; a key used for something else is refused."""
    if known.fingerprint != asking.print:
        refusal = replace(REUSED, step=getattr(command, "step", ""))
        return _write_refusal(tx, shelf, command, asking, refusal)
    told = orjson.loads(known.answer)
    if "code" in told:
        return Refusal(**told)
    return Kept(run=told["run"], seqs=tuple(told["seqs"]))


def _draft(asking: Asking, by: str, event: Event) -> Draft:
    return Draft(RUN + asking.run, kind_name(event), to_body(event), by, asking.device)


def _answer(told: Kept | Refusal) -> str:
    return orjson.dumps(asdict(told)).decode()
