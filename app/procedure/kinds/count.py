"""A count: whole numbers of things, equal to what must be there.

Keys: `expect` (the number that must be found), `of` (what is counted), `parts` (a table of places and
the number that must be found at each, whose sum must be `expect` if both are written), `starts` (a
start mark for each seat, so that people do not all slip at the same place).

With `check = "independent"` the count is blind. Then nothing that is judged, said or drawn before all
have sealed may depend on the expected number: every entry is kept as good, and the comparison is left
to `agreement`. At no time does a card, a saying or a missing sentence name the expected number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.attached import is_attached
from app.procedure.entry import Agreement, Judged, Unreadable
from app.procedure.faults import Fault
from app.procedure.kind import Card, Field
from app.procedure.typed import read_whole
from app.procedure.usual import Gives, Known, UsualKind, latest_of
from app.procedure.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

WHOLE = "count"  # the field's name where the things are not counted by place
MOST = 999_999_999  # as many as can be typed


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a count; `wanted` has one number for each field."""

    of: str
    wanted: Mapping[str, int] = field(repr=False)  # never shown, not even in a traceback
    starts: tuple[str, ...] = ()

    def label(self, name: str) -> str:
        """Return what a field asks for: what is counted, or the place where it is counted."""
        return (self.of if name == WHOLE else name.replace("_", " ")).capitalize()


class Count(UsualKind):
    """Things counted, alone or by several people who do not know each other's numbers."""

    name: ClassVar[str] = "count"
    title: ClassVar[str] = "Count"

    def read(self, table: Table) -> Own:
        """Read the keys of a count."""
        expect = table.whole("expect", at_least=0, at_most=MOST)
        parts = _read_parts(table)
        if expect is None and not parts and not table.has("expect"):
            table.fault("expect", "This count expects nothing.", "Add expect, or parts.")
        if expect is not None and parts and sum(parts.values()) != expect:
            what = f"The parts sum to {sum(parts.values())}, and expect is {expect}."
            table.fault("parts", what, "Make them agree.")
        return Own(
            of=table.text("of", required=True),
            wanted=parts or {WHOLE: expect or 0},
            starts=table.texts("starts"),
        )

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Ask for a start mark for each seat, all different, or for none at all."""
        starts = cast("Own", step.own).starts
        if starts and (len(starts) != len(step.seats) or len(set(starts)) != len(starts)):
            yield Fault(
                procedure.file,
                step.line,
                "starts",
                f"{len(step.seats)} seats do not each have a start mark of their own.",
                "Write one mark for each seat, all different.",
            )

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Keep the numbers; where the count is not blind, compare them with what must be."""
        own = cast("Own", step.own)
        counted: dict[str, int] = {}
        for name in own.wanted:
            number = read_whole(values.get(name, ""), own.label(name).lower())
            if isinstance(number, Unreadable):
                return number
            counted[name] = number
        computed = {name: str(number) for name, number in counted.items()}
        if step.check == "independent":
            return Judged(verdict="good", saying="The count is kept unseen.", computed=computed)
        good = counted == dict(own.wanted)
        saying = f"{_counted(own, computed)}. {_MATCHES if good else _DIFFERS}"
        return Judged(verdict="good" if good else "out", saying=saying, computed=computed)

    def agreement(self, step: Step, seats: Sequence[Sequence[Entry]]) -> Agreement:
        """Compare all counts with each other, and with what must be; there is no vote."""
        own = cast("Own", step.own)
        wanted = {name: str(number) for name, number in own.wanted.items()}
        found = [dict(e.computed) for entries in seats for e in latest_of(entries).values()]
        agree = len(found) == len(seats) > 0 and all(each == found[0] for each in found)
        return Agreement(agree=agree, as_expected=bool(found) and all(f == wanted for f in found))

    def gives(self, step: Step) -> Mapping[str, Gives]:
        """Return each number counted; a number of things has no unit."""
        return dict.fromkeys(cast("Own", step.own).wanted, Gives(""))

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:
        """Return a number counted."""
        entry = latest_of(entries).get("")
        if entry is None or key not in self.gives(step):
            return None
        return Known((Decimal(entry.computed[key]),), "")

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for the numbers; say nothing of what is expected, nor of what anyone has counted."""
        own = cast("Own", step.own)
        blind = step.check == "independent"
        last = None if blind else latest_of(at.of(step.id)).get("")
        return Card(
            kind_line="Count, blind" if blind else self.title,
            act="Seal my count" if blind else f"Record the count of {own.of}",
            part=part,
            fields=tuple(
                Field(name=name, label=own.label(name), control="whole") for name in own.wanted
            ),
            answer=last.saying if last else "",
            answer_mark={"good": "done", "out": "out"}[last.verdict] if last else "",
            own={"of": own.of, "blind": blind, "starts": own.starts},
        )

    def subject(self, step: Step) -> str:
        """Return what is counted."""
        return cast("Own", step.own).of.capitalize()

    def shown(self, step: Step, entry: Entry) -> str:
        """Return the numbers counted. For the record and the countersigner, once all have sealed."""
        own = cast("Own", step.own)
        if set(own.wanted) == {WHOLE}:
            return entry.computed[WHOLE]
        return listed([f"{entry.computed[name]} {name.replace('_', ' ')}" for name in own.wanted])

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return what must be found. For the record and the countersigner, once all have sealed."""
        wanted = cast("Own", step.own).wanted
        if set(wanted) == {WHOLE}:
            return f"must be {wanted[WHOLE]}"
        places = [f"{number} {name.replace('_', ' ')}" for name, number in wanted.items()]
        return f"must be {listed(places)}"


_MATCHES = "That is what must be there."
_DIFFERS = "That is not what must be there. Count again, or report it."


def _counted(own: Own, computed: Mapping[str, str]) -> str:
    said = [f"{number} {own.label(name).lower()}" for name, number in computed.items()]
    return f"Counted: {listed(said)}"


def _read_parts(table: Table) -> dict[str, int]:
    inner = table.table("parts")
    if inner is None:
        return {}
    found = {name: inner.whole(name, at_least=0, at_most=MOST) for name in tuple(inner.keys())}
    for name in filter(is_attached, found):
        inner.fault(name, f"{name} already names something else in an entry.", "Take another name.")
    if not found:
        table.fault("parts", "There are no parts.", "Write parts = { in_place = 0, tray = 42 }.")
    return {name: number or 0 for name, number in found.items()}


KIND = Count()
