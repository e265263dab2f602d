"""Tools out: what goes into a zone, thing by thing, and who has it.

Keys: `zone` (the tally of things in it stands on the board under this name), `things`, `counted`
(things that are counted, with how many are issued, as `{ sponges = 40 }`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.entry import Judged, OnBoard, Unreadable
from app.procedure.issued import NOT_TAKEN, OUT, Issue, tally, went_out
from app.procedure.kind import Card, Field
from app.procedure.turns import answer_of, here_of, mark_of
from app.procedure.typed import read_whole
from app.procedure.usual import UsualKind, latest_of, once_faults

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

MOST = 9999


class ToolsOut(UsualKind):
    """Each thing goes out by name, to a person."""

    name: ClassVar[str] = "tools-out"
    title: ClassVar[str] = "Tools out"

    def read(self, table: Table) -> Issue:
        """Read the keys of things given out."""
        counted = table.table("counted")
        numbers: dict[str, int] = {}
        if counted is not None:
            for name in tuple(counted.keys()):
                numbers[name] = counted.whole(name, at_least=1, at_most=MOST) or 1
        own = Issue(
            zone=table.text("zone", required=True), things=table.texts("things"), counted=numbers
        )
        if not own.names:
            table.fault("things", "Nothing goes out.", 'Write things = ["TW-03 wrench"].')
        if len(set(own.names)) != len(own.names) or "" in own.names:
            table.fault("things", "Two things are alike, or one is empty.", "Name each once.")
        return own

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Refuse that several do it, each alone."""
        return once_faults(step, procedure)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the things."""
        return cast("Issue", step.own).names

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Note that a thing goes out, or stays where it is."""
        own = cast("Issue", step.own)
        if part not in own.names:
            sentence = f'"{part}" is not one of the things here. Nothing was saved.'
            return Unreadable(code="tools.unknown", sentence=sentence)
        holder = values.get("holder", "").strip() or at.who
        if holder not in at.roles:
            sentence = (
                f"{holder or 'Nobody'} is not on this site's list of people. Nothing was saved."
            )
            return Unreadable(code="tools.holder", sentence=sentence)
        count = _count(own, part, values)
        if isinstance(count, Unreadable):
            return count
        inside = [held for held in went_out(at.of(step.id)) if held.name != part]
        total = tally(inside) + count
        return Judged(
            verdict="good",
            saying=_saying(own, part, count, holder),
            computed={"count": str(count), "holder": holder},
            readings={own.zone: OnBoard(value=str(total), unit="")},
        )

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for one thing, and show what is out and with whom."""
        own, latest = cast("Issue", step.own), latest_of(at.of(step.id))
        here = here_of(part, own.names, latest)
        total = tally(went_out(at.of(step.id)))
        answer, mark = answer_of(latest, here, f"{total} in the zone: {own.zone}")
        return Card(
            kind_line=f"Tools out. {total} in the zone",
            act=f"Record {here}" if here else "Everything is out",
            part=here,
            fields=_fields(own, here),
            answer=answer,
            answer_mark=mark,
            own={
                "here": here,
                "zone": own.zone,
                "rows": tuple(_row(name, latest.get(name), here) for name in own.names),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:
        """Return how many went out, and to whom."""
        if entry.computed["count"] == "0":
            return NOT_TAKEN
        number = entry.computed["count"] if entry.part in cast("Issue", step.own).counted else OUT
        return f"{number}, with {entry.computed['holder']}"

    def limits_words(self, step: Step, part: str) -> str:
        """Return how many were to be issued."""
        number = cast("Issue", step.own).counted.get(part)
        return "" if number is None else f"at most {number}"


def _count(own: Issue, part: str, values: Mapping[str, str]) -> int | Unreadable:
    if part in own.things:
        result = values.get("result", "")
        if result in (OUT, NOT_TAKEN):
            return int(result == OUT)
        sentence = f"{part}: say {OUT} or {NOT_TAKEN}. Nothing was saved."
        return Unreadable(code="tools.result", sentence=sentence)
    count = read_whole(values.get("count", ""), part)
    if isinstance(count, int) and count > own.counted[part]:
        sentence = (
            f"{own.counted[part]} {part} are issued, not {count}. Count again. Nothing was saved."
        )
        return Unreadable(code="tools.too_many", sentence=sentence)
    return count


def _saying(own: Issue, part: str, count: int, holder: str) -> str:
    if count == 0:
        return f"{part} is not taken."
    number = f"{count} {part}" if part in own.counted else part
    verb = "are" if count > 1 else "is"
    return f"{number} {verb} with {holder}."


def _fields(own: Issue, here: str) -> tuple[Field, ...]:
    if not here:
        return ()
    holder = Field(
        name="holder",
        label="With whom",
        control="text",
        hint="A person's id. Left empty: whoever is entering.",
        required=False,
    )
    if here in own.counted:
        hint = f"{own.counted[here]} are issued"
        return (Field(name="count", label=here, control="whole", hint=hint), holder)
    return (Field(name="result", label=here, control="choice", choices=(OUT, NOT_TAKEN)), holder)


def _row(name: str, entry: Entry | None, here: str) -> Mapping[str, str]:
    mark = mark_of(entry, here=name == here)
    word = "To do" if entry is None else f"{entry.saying.rstrip('.')} since {entry.at:%H:%M}"
    return {"name": name, "mark": mark, "word": word}


KIND = ToolsOut()
