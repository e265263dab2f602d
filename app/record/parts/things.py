"""Things that went out for the work and came back, and locks and tags put on and taken off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.procedure.issued import Issue, went_out
from app.procedure.registry import kind_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from app.procedure.entry import Entry
    from app.procedure.model import Procedure, Step
    from app.record.clock import Clock
    from app.run.state import RunState

PAIRS = {"tools-out": "tools-in", "isolate": "restore"}  # what gives out, what takes back
NO_THINGS = "No step of this procedure gives things out or takes them back."


@dataclass(frozen=True, slots=True, kw_only=True)
class ThingShown:
    """One thing: out, and back."""

    name: str
    out: str
    back: str
    missing: bool


def things(procedure: Procedure, state: RunState, clock: Clock) -> tuple[ThingShown, ...]:
    """Return every thing that a step gave out, with what became of it."""
    return tuple(
        thing
        for step in procedure.steps
        if kind_of(step).name in PAIRS
        for thing in _given(step, procedure, state, clock)
    )


def _given(step: Step, procedure: Procedure, state: RunState, clock: Clock) -> Iterator[ThingShown]:
    back = _taken_back(step, procedure, state)
    live = state.progress(step.id).live()
    if isinstance(step.own, Issue):
        held = went_out(live)
        given = [(h.name, h.entry, f"{h.count} to {h.holder}") for h in held]
    else:
        latest = {entry.part: entry for entry in live}
        given = [(part, entry, "put on") for part, entry in latest.items()]
    for name, entry, words in given:
        settled = back.get(name)
        yield ThingShown(
            name=name or step.do,
            out=f"{words}, {entry.by} {clock.when(entry.at)}, step {step.number}",
            back=_words(settled, clock) if settled is not None else "not settled",
            missing=settled is None or settled.verdict != "good",
        )


def _words(entry: Entry, clock: Clock) -> str:
    said = entry.values.get("result") or entry.saying.rstrip(".") or "settled"
    return f"{said}, {entry.by} {clock.when(entry.at)}"


def _taken_back(step: Step, procedure: Procedure, state: RunState) -> Mapping[str, Entry]:
    wanted = PAIRS[kind_of(step).name]
    found: dict[str, Entry] = {}
    for each in procedure.steps:
        if kind_of(each).name == wanted and step.id in _of(each):
            found |= {entry.part: entry for entry in state.progress(each.id).live()}
    return found


def _of(step: Step) -> tuple[str, ...]:
    return (*kind_of(step).rests_on(step), str(getattr(step.own, "of", "")))
