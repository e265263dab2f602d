"""A hand-over: who goes says how things stand, who comes has read it, and both sign.

It has no keys of its own. The first seat is of whoever goes, the second of whoever comes. The state
of the work is put together by the recorder at the moment of the entry, and kept with it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from app.procedure.entry import Judged, Unreadable
from app.procedure.faults import Fault
from app.procedure.issued import Issue, went_out
from app.procedure.kind import Card, Field
from app.procedure.locked import Points, locks_of
from app.procedure.turns import counts
from app.procedure.typed import read_words
from app.procedure.usual import UsualKind, latest_of
from app.procedure.wording import clock

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

SEATS = 2
LONGEST = 600


class Handover(UsualKind):
    """One person goes, another comes; both sign how things stand."""

    name: ClassVar[str] = "handover"
    title: ClassVar[str] = "Hand-over"
    closing: ClassVar[Literal["entry", "signature"]] = "signature"

    def read(self, table: Table) -> object:  # noqa: ARG002
        """Read nothing: a hand-over has no keys of its own."""
        return None

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Ask for two seats, the first of whoever goes."""
        if len(step.seats) != SEATS or step.check != "after":
            what = "A hand-over is signed by two: who goes, then who comes."
            mend = 'Write sign = ["supervisor", "supervisor"], and no check.'
            yield Fault(procedure.file, step.line, "sign", what, mend)

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],
        at: Circumstances,
    ) -> Judged | Unreadable:
        """Keep what is said, with the state of the work at that moment."""
        told = read_words(values.get("state", ""), "how things stand, and what to watch", LONGEST)
        if isinstance(told, Unreadable):
            return told
        summary = " ".join(_summary(step, at))
        return Judged(
            verdict="good",
            saying=f"Handed over by {at.who}: {told.rstrip('.')}. {summary}",
            computed={"state": told, "summary": summary},
        )

    def signs(self, step: Step, seat: int) -> str:  # noqa: ARG002
        """Return what who goes, and who comes, put their name to."""
        if seat == 0:
            return "I hand over: the work stands as it is written here."
        return "I take over: I have read how the work stands, and I have seen it."

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show the state of the work: as it was handed over, or as it is."""
        entry = latest_of(at.of(step.id)).get("")
        field = Field(name="state", label="How things stand, and what to watch", control="text")
        lines = tuple(_summary(step, at))
        return Card(
            kind_line=self.title,
            act="I hand over",
            part=part,
            fields=(field,),
            answer="" if entry is None else f"{entry.by} hands over: {entry.computed['state']}",
            answer_mark="" if entry is None else "half",
            own={"lines": lines if entry is None else (entry.computed["summary"],)},
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return what was said, and the state of the work."""
        return f"{entry.computed['state'].rstrip('.')}. {entry.computed['summary']}"


def _summary(step: Step, at: Circumstances) -> Iterator[str]:
    """Yield how the work stands: what is done and next, the safe state, locks and things out."""
    steps = at.procedure.steps
    last = max(
        (s for s in steps if s.id in at.done_at), key=lambda s: at.done_at[s.id], default=None
    )
    if last is not None:
        when = clock(at.done_at[last.id], at.now.tzinfo)
        yield f"Last done: step {last.number} at {when}, {last.do.rstrip('.')}."
    after = next(
        (s for s in steps if s.number > step.number and s.id not in {*at.done_at, *at.passed}), None
    )
    if after is not None:
        yield f"Next: step {after.number}, {after.do.rstrip('.')}."
    yield f"Safe state: {at.procedure.safe_state.rstrip('.')}."
    yield from _locks(at)
    yield from _things(at)


def _locks(at: Circumstances) -> Iterator[str]:
    for step in at.procedure.steps:
        if isinstance(step.own, Points):
            off = _settled(at, step.id)
            on = [(p, e) for p, e in locks_of(at.of(step.id)).items() if p not in off]
            told = [f"{e.computed['lock']} of {e.computed['owner']} on {point}" for point, e in on]
            if told:
                yield f"Locks on: {', '.join(told)}."


def _things(at: Circumstances) -> Iterator[str]:
    for step in at.procedure.steps:
        if isinstance(step.own, Issue):
            back = _settled(at, step.id)
            held = [each for each in went_out(at.of(step.id)) if each.name not in back]
            told = [f"{each.name} with {each.holder}" for each in held]
            if told:
                yield f"In the zone {step.own.zone}: {', '.join(told)}."


def _settled(at: Circumstances, of: str) -> frozenset[str]:
    """Return the parts of a step that a later step, which names it in `of`, has taken back."""
    later = [step for step in at.procedure.steps if getattr(step.own, "of", None) == of]
    found = (latest_of(at.of(step.id)) for step in later)
    return frozenset(part for latest in found for part, entry in latest.items() if counts(entry))


KIND = Handover()
