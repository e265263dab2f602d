"""What a person can ask for, each in the imperative. `by` is a person's id.

`signed` says that the desk has checked this person's own secret in the same request.
`seen` is the sequence number up to which the person's page was drawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Disposition = Literal["use as is", "redo", "repair", "reject"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Enter:
    """Enter values on one part of a step; a tick is an entry without values."""

    by: str
    step: str
    part: str = ""
    values: Mapping[str, str] = field(default_factory=dict)
    signed: bool = False
    seen: int
    after: str = ""  # the key of this tablet's own entry before, on the same part
    own: tuple[int, ...] = ()  # what that one came to, as the desk finds it in the ledger
    tablet: Mapping[str, str] = field(
        default_factory=dict
    )  # `tablet_time.reckoned`, if it was kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """Put one's name to a seat of a step. The first free seat that fits is taken."""

    by: str
    step: str
    how: str = ""  # a countersigner's answer to "How did you check?"
    signed: bool
    seen: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RefuseHold:
    """Refuse to sign a hold, and say why."""

    by: str
    step: str
    reason: str
    signed: bool
    seen: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Correct:
    """Strike an entry and put another in its place, with the reason."""

    by: str
    entry: int
    values: Mapping[str, str]
    reason: str
    signed: bool
    seen: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportTrouble:
    """Say that something is wrong on a step."""

    by: str
    step: str
    text: str
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposeTrouble:
    """Decide what becomes of a trouble that someone else reported."""

    by: str
    trouble: int
    disposition: Disposition
    reason: str
    signed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StopWork:
    """Stop work: anyone, at once; `by` may be empty when nobody is signed on."""

    by: str
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignRestart:
    """Sign that every make-safe line is done; the second signature restarts work."""

    by: str
    confirmed: tuple[str, ...]
    reason: str
    signed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspend:
    """Leave the work at a safe point."""

    by: str
    state: str
    signed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Resume:
    """Take the work up again, having looked at each line of the last state."""

    by: str
    confirmed: tuple[str, ...]
    signed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Close:
    """Close the run."""

    by: str
    signed: bool
    seen: int
    unsent: tuple[str, ...] = ()  # what tablets last said that they hold back, in sentences
    reason: str = ""  # why it is closed all the same


@dataclass(frozen=True, slots=True, kw_only=True)
class Abandon:
    """End a run that cannot be finished. `signed` says that both have given their own secrets."""

    by: str
    second: str
    reason: str
    state: str
    signed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeSteps:
    """Approve another text of some steps for one run. `signed` as for abandoning."""

    by: str
    second: str
    reason: str
    until: str  # a moment in UTC, as ISO text, or ""
    until_step: str
    sha256: str  # of the changed text
    signed: bool


Command = (
    Enter
    | Sign
    | RefuseHold
    | Correct
    | ReportTrouble
    | DisposeTrouble
    | StopWork
    | SignRestart
    | Suspend
    | Resume
    | Close
    | Abandon
)
