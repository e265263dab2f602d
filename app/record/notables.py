"""What must be read first: all that did not go as written, in order of time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.record.acts import told
from app.record.shown import Mark, Notable
from app.run.events import (
    ActRefused,
    CountsDiffered,
    EntryMade,
    EntryStruck,
    FieldChangeApproved,
    HoldRefused,
    ReleaseWithdrawn,
    RunAbandoned,
    RunResumed,
    RunSuspended,
    StepReopened,
    TroubleDisposed,
    TroubleReported,
    WorkRestarted,
    WorkStopped,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.record.acts import Names
    from app.record.clock import Clock
    from app.run.events import Event, Happened

MARKED: dict[type[Event], tuple[Mark, str]] = {
    EntryStruck: ("corrected", "Corrected"),
    CountsDiffered: ("differs", "Differed"),
    StepReopened: ("open", "Open again"),
    TroubleReported: ("out", "Trouble"),
    TroubleDisposed: ("corrected", "Disposed of"),
    HoldRefused: ("refused", "Not signed"),
    ActRefused: ("refused", "Refused"),
    WorkStopped: ("stopped", "Stopped"),
    WorkRestarted: ("corrected", "Restarted"),
    RunSuspended: ("stopped", "Suspended"),
    RunResumed: ("corrected", "Resumed"),
    ReleaseWithdrawn: ("stopped", "Withdrawn"),
    FieldChangeApproved: ("corrected", "Changed"),
    RunAbandoned: ("out", "Abandoned"),
}


def notables(
    happened: Sequence[Happened], names: Names, clock: Clock, instead: Mapping[int, Happened]
) -> tuple[Notable, ...]:
    """Return the corrections, stops, recounts, troubles and refusals.

    `instead` says which entry took the place of which struck one.
    """
    found = []
    for each in happened:
        mark, word = marked(each.event)
        if not word:
            continue
        sentence = _correction(each.event, names, instead) or _sentence(each, names)
        found.append(
            Notable(
                seq=each.seq,
                mark=mark,
                word=word,
                step=_step(each.event, names),
                sentence=sentence,
                who=each.by or "—",
                when=clock.when(each.at),
            )
        )
    return tuple(found)


def marked(event: Event) -> tuple[Mark, str]:
    """Return the mark of an event that must be read first; the word is empty for all others."""
    if isinstance(event, EntryMade) and event.verdict == "out":
        return "out", "Out of limit"
    return MARKED.get(type(event), ("done", ""))


def _correction(event: Event, names: Names, instead: Mapping[int, Happened]) -> str:
    """Return a correction with its old and its new value; the old one alone is never enough."""
    if not isinstance(event, EntryStruck):
        return ""
    new = instead.get(event.entry)
    now = f"Now {names.values(new.seq)}." if new is not None else "Nothing took its place."
    reason = event.reason.rstrip(".")
    return f"Was {names.values(event.entry)}. {now} Reason: {reason}."


def _sentence(happened: Happened, names: Names) -> str:
    """Return the event's sentence without the step, which stands in its own column."""
    sentence = told(happened.event, names, happened.seq)
    step = _step(happened.event, names)
    if step:
        sentence = sentence.removeprefix(step[:1].lower() + step[1:]).lstrip(":, ")
    return sentence[:1].upper() + sentence[1:]


def _step(event: Event, names: Names) -> str:
    step = getattr(event, "step", "")
    return names.step(step).capitalize() if step else ""
