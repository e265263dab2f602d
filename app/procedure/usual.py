"""What most kinds of step answer alike: one part, the latest entry of a part decides, nothing rests on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from app.procedure.attached import attached_words, is_attached
from app.procedure.entry import Agreement, Outcome
from app.procedure.faults import Fault
from app.procedure.kind import Line
from app.procedure.wording import listed, verdict_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from decimal import Decimal

    from app.calculations.quantity import Quantity
    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Procedure, Step


@dataclass(frozen=True, slots=True)
class Gives:
    """What a step can give under one key: its unit, and whether it is a row of values."""

    unit: str
    row: bool = False


@dataclass(frozen=True, slots=True)
class Known:
    """A value (or a row of values) that a step gives to a calculation, with its unit."""

    values: tuple[Decimal, ...]
    unit: str


class UsualKind:
    """The usual answers; a kind overrides those in which it differs."""

    closing: ClassVar[Literal["entry", "signature"]] = "entry"
    keepable: ClassVar[bool] = False
    presence: ClassVar[bool] = False
    free_parts: ClassVar[bool] = False
    again: ClassVar[bool] = False
    is_hold: ClassVar[bool] = False

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:  # noqa: ARG002
        """Yield no faults."""
        return ()

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the one part of a step that is entered at once."""
        return ("",)

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:
        """Ask for an entry on every part, the latest one good.

        Of one independent seat only presence is asked: what is right comes out when all have sealed.
        """
        latest = latest_of(entries)
        absent = [part for part in self.parts(step, at) if part not in latest]
        if absent:
            return Outcome(complete=False, missing=_not_entered(absent))
        out = [e for e in latest.values() if e.verdict == "out" and not e.accepted]
        if out and step.check != "independent":
            return Outcome(complete=False, missing=out[0].saying)
        return Outcome(complete=True)

    def agreement(self, step: Step, seats: Sequence[Sequence[Entry]]) -> Agreement:  # noqa: ARG002
        """Compare part by part: equal values agree; all good is as expected."""
        found = [latest_of(entries) for entries in seats]
        compared = [{part: told(entry) for part, entry in each.items()} for each in found]
        agree = bool(compared) and all(each == compared[0] for each in compared)
        good = all(entry.verdict == "good" for each in found for entry in each.values())
        return Agreement(agree=agree, as_expected=good)

    def rests_on(self, step: Step) -> tuple[str, ...]:  # noqa: ARG002
        """Return no steps."""
        return ()

    def stands(self, step: Step, entry: Entry, at: Circumstances) -> bool:  # noqa: ARG002
        """Let a good entry count for good."""
        return True

    def worked_at(
        self,
        step: Step,  # noqa: ARG002
        part: str,  # noqa: ARG002
        values: Mapping[str, str],  # noqa: ARG002
    ) -> tuple[Quantity, ...]:
        """Return no amounts."""
        return ()

    def branches(self, step: Step, procedure: Procedure) -> Mapping[str, tuple[str, ...]]:  # noqa: ARG002
        """Return no branches."""
        return {}

    def taken(self, step: Step, entries: Sequence[Entry]) -> str:  # noqa: ARG002
        """Choose nothing."""
        return ""

    def signs(self, step: Step, seat: int) -> str:  # noqa: ARG002
        """Let a signature say the usual words."""
        return ""

    def gives(self, step: Step) -> Mapping[str, Gives]:  # noqa: ARG002
        """Return what this step can give to a calculation, by the key that names it."""
        return {}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:  # noqa: ARG002
        """Return what the live entries give to a calculation under a key, or None if not yet."""
        return None

    def lines(self, step: Step, entries: Sequence[Entry]) -> tuple[Line, ...]:
        """Describe each entry by its value, the limits in force and the verdict."""
        return tuple(
            Line(
                what=entry.part or self.subject(step),
                value="; ".join(filter(None, (self.shown(step, entry), *attached_words(entry)))),
                limits=self.limits_words(step, entry.part),
                verdict=verdict_words(entry),
            )
            for entry in entries
        )

    def subject(self, step: Step) -> str:
        """Return what a line of the record is about where the step has one part."""
        return step.do

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return an entry's value with its unit, for the record."""
        return entry.saying

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return the limits in force, for the record."""
        return ""


def latest_of(entries: Sequence[Entry]) -> dict[str, Entry]:
    """Return the latest entry of each part that is not struck."""
    return {entry.part: entry for entry in entries if not entry.struck}


def once_faults(step: Step, procedure: Procedure) -> Iterator[Fault]:
    """Yield a fault where several people should do, each alone, what can be done only once."""
    if step.check == "independent":
        what = "This is done once: nobody can do it again as if it had not been done."
        mend = "Let the others look at it: take check out."
        yield Fault(procedure.file, step.line, "check", what, mend)


def role_faults(step: Step, procedure: Procedure, key: str, role: str) -> Iterator[Fault]:
    """Yield a fault where a kind's own key names a role that nobody of this procedure has."""
    signing = {seat for each in procedure.steps for seat in each.seats}
    if role and role not in procedure.crew and role not in signing:
        what = f"Nobody in this procedure is {role}."
        mend = f"Known: {', '.join(sorted({*procedure.crew, *signing}))}."
        yield Fault(procedure.file, step.line, key, what, mend)


def told(entry: Entry) -> dict[str, str]:
    """Return what an entry says, without what is attached to it."""
    return dict(entry.computed) or {
        name: value for name, value in entry.values.items() if not is_attached(name)
    }


def _not_entered(absent: Sequence[str]) -> str:
    if list(absent) == [""]:
        return "Nothing has been entered yet."
    return f"Not entered yet: {listed(absent)}."
