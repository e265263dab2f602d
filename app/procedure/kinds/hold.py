"""A hold: nothing goes on until the seats have signed a sentence, with the evidence above it.

Keys: `statement` (the sentence that is signed), `evidence` (the steps it rests on), `at_mirror` (true:
it must be seen at the mirror, photos and readings are not enough).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, cast

from app.procedure.entry import Judged, Outcome, Unreadable
from app.procedure.faults import Fault
from app.procedure.kind import Card, Line
from app.procedure.registry import kind_of
from app.procedure.usual import UsualKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a hold."""

    statement: str
    evidence: tuple[str, ...]
    at_mirror: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What one step has to say for the sentence; no lines while the step is not done."""

    step: str
    number: int
    do: str
    done: bool
    lines: tuple[Line, ...]


class Hold(UsualKind):
    """A sentence to sign. It has no entries."""

    name: ClassVar[str] = "hold"
    title: ClassVar[str] = "Hold"
    closing: ClassVar[Literal["entry", "signature"]] = "signature"
    is_hold: ClassVar[bool] = True

    def read(self, table: Table) -> Own:
        """Read the keys of a hold."""
        evidence = table.texts("evidence")
        if len(set(evidence)) != len(evidence):
            table.fault("evidence", "A step is named twice.", "Name each once.")
        return Own(
            statement=table.text("statement", required=True),
            evidence=evidence,
            at_mirror=table.flag("at_mirror"),
        )

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Ask for evidence that exists and comes before the hold."""
        for name in cast("Own", step.own).evidence:
            shown = procedure.step(name)
            if shown is None or shown.number >= step.number:
                what = f"There is no step {name}." if shown is None else f"{name} comes later."
                mend = "Name steps that come before this hold."
                yield Fault(procedure.file, step.line, "evidence", what, mend)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return no parts: a hold is signed, not entered."""
        return ()

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],  # noqa: ARG002
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Refuse: a hold is signed, not entered."""
        sentence = f"Step {step.number} is a hold. It is signed, not entered. Nothing was saved."
        return Unreadable(code="hold.no_entry", sentence=sentence)

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:  # noqa: ARG002
        """Ask for no entries; the signatures are all."""
        return Outcome(complete=True)

    def rests_on(self, step: Step) -> tuple[str, ...]:
        """Return the evidence."""
        return cast("Own", step.own).evidence

    def signs(self, step: Step, seat: int) -> str:  # noqa: ARG002
        """Return the statement: every seat signs the same."""
        return cast("Own", step.own).statement

    def card(self, step: Step, part: str, at: Circumstances) -> Card:  # noqa: ARG002
        """Show the sentence and the evidence."""
        own = cast("Own", step.own)
        return Card(
            kind_line=self.title,
            act=f"Sign and release step {step.number}",
            own={
                "statement": own.statement,
                "at_mirror": own.at_mirror,
                "evidence": tuple(_evidence(own, at)),
            },
        )


def _evidence(own: Own, at: Circumstances) -> Iterable[Evidence]:
    for name in own.evidence:
        step = at.procedure.step(name)
        if step is None:
            continue
        done = name in at.done_at
        lines = kind_of(step).lines(step, at.of(name)) if done else ()
        yield Evidence(step=name, number=step.number, do=step.do, done=done, lines=lines)


KIND = Hold()
