"""Tools in: everything that went into a zone has come out, or was written off by name.

Keys: `of` (the step that gave the things out), `write_off` (the role that may write one off; without
it nothing can be written off, and a thing that is lost is a trouble).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.entry import Judged, OnBoard, Outcome, Unreadable
from app.procedure.faults import Fault
from app.procedure.issued import BACK, WRITTEN_OFF, Held, Issue, still_in, tally, went_out
from app.procedure.kind import Card, Field
from app.procedure.turns import counts
from app.procedure.typed import read_whole, read_words
from app.procedure.usual import UsualKind, latest_of, once_faults, role_faults
from app.procedure.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of things taken back."""

    of: str
    write_off: str


class ToolsIn(UsualKind):
    """Each thing comes back by name; what is missing stands first."""

    name: ClassVar[str] = "tools-in"
    title: ClassVar[str] = "Tools in"

    def read(self, table: Table) -> Own:
        """Read the keys of things taken back."""
        return Own(of=table.text("of", required=True), write_off=table.text("write_off"))

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Ask for an earlier step that gives things out, and for a role that exists."""
        yield from once_faults(step, procedure)
        other = procedure.step(cast("Own", step.own).of)
        if other is None or other.number >= step.number or not isinstance(other.own, Issue):
            what = f"{cast('Own', step.own).of} is no earlier step that gives things out."
            yield Fault(procedure.file, step.line, "of", what, "Name a step of kind tools-out.")
        yield from role_faults(step, procedure, "write_off", cast("Own", step.own).write_off)

    def rests_on(self, step: Step) -> tuple[str, ...]:
        """Return the step that gave the things out."""
        return (cast("Own", step.own).of,)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:
        """Return what went out."""
        return tuple(held.name for held in went_out(at.of(cast("Own", step.own).of)))

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Note that a thing is back, or that someone who may writes it off."""
        own = cast("Own", step.own)
        held = next((each for each in went_out(at.of(own.of)) if each.name == part), None)
        if held is None:
            sentence = f'"{part}" did not go out. Nothing was saved.'
            return Unreadable(code="tools.unknown", sentence=sentence)
        back = _back(step, held, values, at)
        if isinstance(back, Unreadable):
            return back
        off = held.count - back
        why = _why(own, held, off, values, at)
        if isinstance(why, Unreadable):
            return why
        others = [each for each in still_in(step, own.of, at) if each.name != part]
        return Judged(
            verdict="good",
            saying=_saying(held, back, off, at.who, why),
            computed={"back": str(back), "written_off": str(off), "why": why},
            readings={_issue(step, at).zone: OnBoard(value=str(tally(others)), unit="")},
        )

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:
        """Ask for everything that went out."""
        latest = latest_of(entries)
        out = went_out(at.of(cast("Own", step.own).of))
        missing = [held for held in out if not counts(latest.get(held.name))]
        if missing:
            return Outcome(complete=False, missing=_missing(missing))
        return Outcome(complete=True)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show what is missing first: with whom, since when."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        out, left = went_out(at.of(own.of)), still_in(step, own.of, at)
        asked = next((held for held in out if held.name == part), None)
        here = asked or next(iter(left), None)
        back = [held for held in out if held not in left]
        return Card(
            kind_line=f"Tools in. {tally(left)} still in the zone",
            act=f"Bring {here.name} back" if here else "Everything is back",
            part=here.name if here else "",
            heading=step.do,
            fields=_fields(step, here, at),
            answer=_missing(left) if left else "Everything is back",
            answer_mark="out" if left else "done",
            own={
                "here": here.name if here else "",
                "zone": _issue(step, at).zone,
                "rows": tuple(_row(held, latest.get(held.name)) for held in (*left, *back)),
                "write_off": own.write_off,
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return what came back, and what was written off."""
        return entry.saying

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return that all must be back."""
        return "all back, or written off by name"


def _issue(step: Step, at: Circumstances) -> Issue:
    other = at.procedure.step(cast("Own", step.own).of)
    own = other.own if other is not None else None
    return own if isinstance(own, Issue) else Issue(zone="", things=(), counted={})


def _is_counted(step: Step, name: str, at: Circumstances) -> bool:
    return name in _issue(step, at).counted


def _back(step: Step, held: Held, values: Mapping[str, str], at: Circumstances) -> int | Unreadable:
    result = values.get("result", "")
    if result not in (BACK, WRITTEN_OFF):
        sentence = f"{held.name}: say {BACK} or {WRITTEN_OFF}. Nothing was saved."
        return Unreadable(code="tools.result", sentence=sentence)
    if not _is_counted(step, held.name, at):
        return held.count if result == BACK else 0
    count = read_whole(values.get("count", ""), held.name)
    if isinstance(count, Unreadable):
        return count
    if count > held.count:
        what = f"{held.count} {held.name} went out, and {count} came back. Count again."
        return Unreadable(code="tools.too_many", sentence=f"{what} Nothing was saved.")
    if count < held.count and result == BACK:
        what = f"{held.count - count} of {held.count} {held.name} are missing. Look for them."
        return Unreadable(code="tools.missing", sentence=f"{what} Nothing was saved.")
    return count


def _why(
    own: Own, held: Held, off: int, values: Mapping[str, str], at: Circumstances
) -> str | Unreadable:
    if off == 0:
        return ""
    if not own.write_off:
        sentence = (
            f"{held.name} cannot be written off here. Find it, or report it: "
            "nothing goes on until it is found. Nothing was saved."
        )
        return Unreadable(code="tools.no_write_off", sentence=sentence)
    if own.write_off not in at.roles.get(at.who, frozenset()):
        sentence = f"Only a {own.write_off} writes {held.name} off. Nothing was saved."
        return Unreadable(code="tools.write_off", sentence=sentence)
    return read_words(values.get("why", ""), "where it is, and why that does no harm")


def _saying(held: Held, back: int, off: int, by: str, why: str) -> str:
    many = held.count > 1
    if off == 0:
        return f"{held.count} {held.name} are back." if many else f"{held.name} is back."
    gone = f"{off} of {held.count} {held.name}" if many else held.name
    rest = f"{back} are back, " if back else ""
    return f"{rest}{gone} written off by {by}: {why.rstrip('.')}."


def _missing(left: Sequence[Held]) -> str:
    told = [
        f"{f'{held.count} ' if held.count > 1 else ''}{held.name} with {held.holder} "
        f"since {held.entry.at:%H:%M}"
        for held in left
    ]
    return f"Still in the zone: {listed(told)}."


def _fields(step: Step, here: Held | None, at: Circumstances) -> tuple[Field, ...]:
    if here is None:
        return ()
    off = cast("Own", step.own).write_off
    choices = (BACK, WRITTEN_OFF) if off else (BACK,)
    result = Field(name="result", label=here.name, control="choice", choices=choices)
    count = Field(
        name="count", label=f"{here.name} back", control="whole", hint=f"{here.count} went out"
    )
    why = Field(
        name="why",
        label="If written off: where it is, and why that does no harm",
        control="text",
        hint=f"Only a {off} writes off.",
        required=False,
    )
    fields = (count,) if _is_counted(step, here.name, at) else ()
    return (result, *fields, *((why,) if off else ()))


def _row(held: Held, entry: Entry | None) -> Mapping[str, str]:
    number = f"{held.count} " if held.count > 1 else ""
    if entry is not None and counts(entry):
        off = entry.computed.get("written_off", "0") != "0"
        word = "written off" if off else "back"
        return {"name": held.name, "mark": "done", "word": f"{number}{word} {entry.at:%H:%M}"}
    since = f"{number}with {held.holder} since {held.entry.at:%H:%M}"
    return {"name": held.name, "mark": "out", "word": since}


KIND = ToolsIn()
