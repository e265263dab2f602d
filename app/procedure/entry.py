"""What a person enters on a step, and how a kind of step judges it. Plain data, shared by all kinds."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from app.procedure.model import Procedure

if TYPE_CHECKING:
    from app.procedure.tool import Tool

Verdict = Literal["good", "out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing entered on one part of a step, exactly as typed, with what was made of it."""

    number: int  # the sequence number of its event; names the entry within its run
    step: str
    part: str  # an item, cell, view or person; "" where the step has one part
    seat: int | None  # the independent seat it belongs to, or None
    round: int
    by: str
    at: datetime
    values: Mapping[str, str]  # as typed
    computed: Mapping[str, str]  # decimal strings, no unit in the text
    verdict: Verdict
    saying: str  # one sentence, values and limits in it
    signed: bool  # entered with the person's own secret
    struck: str = ""  # the reason, once struck
    accepted: str = ""  # the reason, once accepted as it is
    tablet: Mapping[str, str] = field(default_factory=dict)  # its times on a tablet that kept it

    @property
    def estimated(self) -> datetime | None:
        """Return when it was entered, if that was well before it reached the recorder."""
        if self.tablet.get("late") != "yes":
            return None
        return datetime.fromisoformat(self.tablet["estimated"])


MADE_AT = "at"  # under this name a kind keeps the moment of an act that is older than its entry


def made_at(entry: Entry) -> datetime:
    """Return when the act was: a corrected entry is as old as the one that it corrects.

    An entry that a tablet kept is as old as it was on the tablet.
    """
    kept = entry.computed.get(MADE_AT)
    return datetime.fromisoformat(kept) if kept else entry.estimated or entry.at


@dataclass(frozen=True, slots=True, kw_only=True)
class OnBoard:
    """A named reading that an entry puts on the board."""

    value: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LastRead:
    """A named reading as the board has it, and when it was read."""

    value: str
    unit: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """An entry that can be kept: good, or out of limit and kept as such."""

    verdict: Verdict
    saying: str
    computed: Mapping[str, str] = field(default_factory=dict)
    readings: Mapping[str, OnBoard] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreadable:
    """An entry that cannot be kept as typed: nothing is saved, the person types again."""

    code: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Whether a step's entries (or those of one seat) are all there and all good."""

    complete: bool
    missing: str = ""  # one sentence when not complete


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Whether independent seats agree with each other and with what must be."""

    agree: bool
    as_expected: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What a kind may look at when it judges: live entries only, people, and the server's time.

    `entries` holds each step's live (not struck) entries of the present round; when a card is drawn
    for a blind step, other people's entries have been taken out before the kind sees it.
    """

    procedure: Procedure
    now: datetime
    entries: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    roles: Mapping[str, frozenset[str]] = field(default_factory=dict)  # person id -> roles
    names: Mapping[str, str] = field(default_factory=dict)  # person id -> name
    done_at: Mapping[str, datetime] = field(default_factory=dict)  # step id -> when done
    passed: Set[str] = frozenset()  # steps of branches that were not taken
    who: str = ""  # the person entering, "" when nobody
    readings: Mapping[str, LastRead] = field(
        default_factory=dict
    )  # on the board, none of a blind step
    tools: Mapping[str, Tool] = field(default_factory=dict)  # the site's register, by serial

    def of(self, step: str) -> tuple[Entry, ...]:
        """Return the live entries of a step, oldest first."""
        return self.entries.get(step, ())
