"""The board: what is true of an asset's hardware now, across all its runs. A fold, nothing else.

Rules: a done step's `sets` makes facts; a reopened step puts the facts that it last set in doubt
(value None) until it is done again; a struck entry takes its reading off the board. A corrected
reading is as old as the reading that it corrects: nobody read the instrument again. A reading that
a tablet kept is as old as its entry there, and does not come before one that was read after it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from app.procedure.model import Asset, FactValue
from app.run.events import EntryMade, EntryStruck, Happened, StepDone, StepReopened


@dataclass(frozen=True, slots=True, kw_only=True)
class FactNow:
    """A fact as the board has it; None when in doubt."""

    value: FactValue | None
    run: str = ""  # which run and step made it so; "" when declared
    step: str = ""
    at: datetime | None = None
    was: FactValue | None = None  # what it was before it came into doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingNow:
    """The latest value of a named reading, and when it was read."""

    value: str
    unit: str
    at: datetime
    run: str
    entry: int
    good: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """What is believed of one asset."""

    asset: str
    facts: Mapping[str, FactNow] = field(default_factory=dict)
    readings: Mapping[str, ReadingNow] = field(default_factory=dict)

    def value(self, fact: str) -> FactValue | None:
        """Return a fact's value, None if in doubt or never known."""
        now = self.facts.get(fact)
        return None if now is None else now.value


def first_board(asset: Asset) -> Board:
    """Return the board as the site's file states it."""
    return Board(
        asset=asset.id, facts={name: FactNow(value=fact.now) for name, fact in asset.facts.items()}
    )


def declare(board: Board, facts: Mapping[str, FactValue], at: datetime) -> Board:
    """Return the board after people have declared facts outside any run."""
    return replace(
        board, facts={**board.facts, **{k: FactNow(value=v, at=at) for k, v in facts.items()}}
    )


def post(board: Board, run: str, happened: Happened) -> Board:
    """Return the board after one more event of one of the asset's runs. Total."""
    match happened.event:
        case StepDone(step=step, sets=sets) if sets:
            made = {
                k: FactNow(value=v, run=run, step=step, at=happened.at) for k, v in sets.items()
            }
            return replace(board, facts={**board.facts, **made})
        case StepReopened(step=step):
            doubted = {
                name: replace(now, value=None, was=now.value)
                for name, now in board.facts.items()
                if (now.run, now.step) == (run, step) and now.value is not None
            }
            return replace(board, facts={**board.facts, **doubted}) if doubted else board
        case EntryMade(readings=readings) as made if readings:
            return replace(board, readings={**board.readings, **_read(board, run, happened, made)})
        case EntryStruck(entry=entry):
            left = {k: r for k, r in board.readings.items() if (r.run, r.entry) != (run, entry)}
            return replace(board, readings=left)
        case _:
            return board


def _read_at(received: datetime, made: EntryMade) -> datetime:
    """Return when an instrument was read: what a tablet kept is as old as it was there."""
    if made.tablet.get("late") != "yes":
        return received
    return min(received, datetime.fromisoformat(made.tablet["estimated"]))


def _read(board: Board, run: str, happened: Happened, made: EntryMade) -> dict[str, ReadingNow]:
    read: dict[str, ReadingNow] = {}
    for name, each in made.readings.items():
        at = _read_at(happened.at, made)
        if made.replaces:
            old = board.readings.get(name)
            if old is None or (old.run, old.entry) != (run, made.replaces):
                continue  # a later reading stands; the correction does not come before it
            at = old.at
        elif at < happened.at and name in board.readings and board.readings[name].at > at:
            continue
        read[name] = ReadingNow(
            value=each["value"],
            unit=each["unit"],
            at=at,
            run=run,
            entry=happened.seq,
            good=made.verdict == "good",
        )
    return read
