"""Torque: every bolt, every pass, in the order of the pattern, with what the tool showed.

Keys: `bolts` (a layout), `pattern` (`cross`, `ring`, or all names in order), `passes` (the torque of
each, as `"220 N m"`), `unit`, `tolerance` (`"4 %"`, or a torque), `verify` (a last round in ring
order: how far each bolt may still turn, as `"5 deg"`), `adapter` (`length` from the middle of the grip
to the tool's square, `adapter` from there to the bolt, `angle`).

The part is a bolt in a pass. Another bolt than the next is refused: the pattern keeps the flange level.
With an adapter the limits are those of what the tool shows, T L / (L + E cos a).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Quantity, plain
from app.procedure.drawing import Scale, StarMap
from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.tightening import Pass, Tightening
from app.procedure.tightening_file import read_tightening
from app.procedure.tool import find_tool
from app.procedure.turns import counts, next_part
from app.procedure.typed import read_number
from app.procedure.usual import UsualKind, latest_of, once_faults
from app.procedure.wording import against, said, side

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.drawing import Drawing
    from app.procedure.entry import Circumstances, Entry
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

SURE = Field(name="sure", label="I read it again: the number is right", control="yes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """One bolt in one pass, with where the work stands."""

    part: str
    bolt: str
    round: Pass
    next: bool  # it is this bolt's turn, or it was entered already


class Torque(UsualKind):
    """Bolts tightened one by one, none skipped, none out of turn."""

    name: ClassVar[str] = "torque"
    title: ClassVar[str] = "Torque"

    def read(self, table: Table) -> Tightening:
        """Read the keys of a torque step."""
        return read_tightening(table)

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Refuse a second tightening by someone else as a check of the first."""
        return once_faults(step, procedure)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return every bolt of every pass, in order."""
        return tuple(cast("Tightening", step.own).places)

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge what the tool showed on the bolt that is next."""
        own = cast("Tightening", step.own)
        latest = latest_of(at.of(step.id))
        here = _here(own, part, latest)
        if here is None:
            sentence = f'"{part}" is no bolt of this step. Nothing was saved.'
            return Unreadable(code="torque.unknown", sentence=sentence)
        if not here.next:
            return Unreadable(code="order.bolt", sentence=_not_next(own, here, latest))
        number = read_number(values.get("value", ""), here.round.limits.unit)
        if isinstance(number, Unreadable):
            return number
        slip = None if values.get("sure") == "yes" else _slip(here.round, number)
        return slip or _judged(own, here, number)

    def worked_at(self, step: Step, part: str, values: Mapping[str, str]) -> tuple[Quantity, ...]:  # noqa: ARG002
        """Return what the tool is set to."""
        place = cast("Tightening", step.own).places.get(part)
        if place is None or place[1].set_to is None:
            return ()
        return (Quantity(place[1].set_to, cast("Tightening", step.own).unit),)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show the bolt larger than the value, and where it stands in the pattern."""
        own, latest = cast("Tightening", step.own), latest_of(at.of(step.id))
        here = _here(own, part, latest) or _here(own, _next(own, latest), latest)
        if here is None:
            done = "Every bolt is tight" if own.passes else "There are no bolts"
            return Card(
                kind_line=self.title, act=done, answer=done, answer_mark="done", own=_NO_OWN
            )
        last = latest.get(here.part)
        return Card(
            kind_line=_kind_line(own, here),
            act=f"Record {_named(here.bolt)}",
            on=_named(here.bolt),
            heading=_heading(own, here),
            part=here.part,
            fields=(_field(here),),
            answer=last.saying if last else "",
            answer_mark={"good": "done", "out": "out"}[last.verdict] if last else "",
            off="" if here.next else _not_next(own, here, latest),
            drawings=_drawings(own, here, latest, last),
            own={
                "set": _set_words(own, here),
                "tool": _tool_words(step, at),
                "sure": SURE,
                "order": _told_order(own, here, latest),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:
        """Return what the tool showed, and the torque on the bolt where an adapter stood between."""
        own = cast("Tightening", step.own)
        place = own.places.get(entry.part)
        unit = place[1].limits.unit if place else own.unit
        value = said(entry.computed["value"], unit)
        bolt = entry.computed.get("bolt")
        return f"{value}, on the bolt {said(bolt, own.unit)}" if bolt else value

    def limits_words(self, step: Step, part: str) -> str:
        """Return the limits of what the tool shows in that pass."""
        place = cast("Tightening", step.own).places.get(part)
        return place[1].limits.words() if place else ""


_NO_OWN: Mapping[str, object] = {"set": "", "tool": "", "sure": SURE, "order": ()}


def _next(own: Tightening, latest: Mapping[str, Entry]) -> str:
    return next_part(own.places, latest)


def _here(own: Tightening, part: str, latest: Mapping[str, Entry]) -> Here | None:
    place = own.places.get(part)
    if place is None:
        return None
    turn = part in latest or part == _next(own, latest)
    return Here(part=part, bolt=place[0], round=place[1], next=turn)


def _named(bolt: str) -> str:
    return f"bolt {bolt}"


def _not_next(own: Tightening, here: Here, latest: Mapping[str, Entry]) -> str:
    bolt, turn = own.places[_next(own, latest)]
    first = "Tighten" if turn.target is not None else "Check"
    where = "" if turn is here.round else f", {turn.name}"
    return (
        f"{_named(here.bolt).capitalize()} is not next. {first} {_named(bolt)}{where} first. "
        "Nothing was saved."
    )


def _slip(turn: Pass, number: Decimal) -> Unreadable | None:
    if turn.target is None or turn.limits.holds(number) or number == 0:
        return None
    if turn.limits.holds(number / 10):
        far = "ten times"
    elif turn.limits.holds(number * 10):
        far = "a tenth of"
    else:
        return None
    value = said(plain(number), turn.limits.unit)
    sentence = f"{value} is {far} what is usual here. Check the decimal mark."
    return Unreadable(code="reading.slip", sentence=sentence)


def _judged(own: Tightening, here: Here, number: Decimal) -> Judged:
    where = side(number, here.round.limits)
    computed = {"value": plain(number)}
    if own.adapter is not None and here.round.target is not None:
        computed["bolt"] = f"{number / own.adapter.share:.4g}"
    saying = f"{_named(here.bolt).capitalize()}: {against(number, here.round.limits)}."
    return Judged(
        verdict="good" if where == "good" else "out",
        saying=" ".join(filter(None, (saying, _way_on(here, where)))),
        computed=computed,
    )


def _way_on(here: Here, where: str) -> str:
    if where == "good":
        return ""
    if here.round.target is None:
        return "It still turned. Report it: the passes are done again."
    if where == "low":
        return "Tighten again and read again."
    return "Do not turn it back. Report it."


def _kind_line(own: Tightening, here: Here) -> str:
    count, place = len(here.round.order), here.round.order.index(here.bolt) + 1
    way = {"cross": "the star order", "ring": "ring order"}.get(own.pattern, "the order given")
    if here.round.target is None:
        return f"Torque. Check. Bolt {place} of {count} in ring order"
    number = own.passes.index(here.round) + 1
    return f"Torque. Pass {number} of {own.rounds}. Bolt {place} of {count} in {way}"


def _heading(own: Tightening, here: Here) -> str:
    bolt = _named(here.bolt).capitalize()
    if here.round.target is None:
        return f"{bolt}: try whether it turns"
    return f"{bolt}: tighten to {plain(here.round.target)} {own.unit}"


def _field(here: Here) -> Field:
    turn = here.round
    return Field(
        name="value",
        label="The tool showed" if turn.target is not None else "It turned by",
        control="number",
        unit=turn.limits.unit,
        hint=f"Limits: {turn.limits.words()}",
    )


def _set_words(own: Tightening, here: Here) -> str:
    turn = here.round
    if turn.set_to is None:
        return "At the torque of the last pass, before it moves on."
    setting = f"Set the tool to {plain(turn.set_to)} {own.unit}"
    return f"{setting}: {own.adapter.words()}." if own.adapter is not None else f"{setting}."


def _tool_words(step: Step, at: Circumstances) -> str:
    """Return which tool was used last on this step, until when it is calibrated, in whose hands."""
    entries = [entry for entry in at.of(step.id) if entry.values.get("tool")]
    if not entries:
        return ""
    serial = entries[-1].values["tool"]
    tool = find_tool(at.tools, serial)
    due = tool.due if tool is not None else None
    good = f" Calibration good until {due.day} {due:%b %Y}." if due is not None else ""
    return f"Last: {step.tool} {serial}.{good} In {entries[-1].by}'s hands."


def _told_order(
    own: Tightening, here: Here, latest: Mapping[str, Entry]
) -> tuple[Mapping[str, str], ...]:
    """Return the order of this pass in words, where no star map tells it."""
    if len(own.bolts.rings) == 1:
        return ()
    return tuple(_turn(name, here, latest) for name in here.round.order)


def _turn(bolt: str, here: Here, latest: Mapping[str, Entry]) -> Mapping[str, str]:
    entry = latest.get(f"{bolt}, {here.round.name}")
    if bolt == here.bolt:
        return {"name": bolt, "mark": "here"}
    if entry is None:
        return {"name": bolt, "mark": "todo"}
    return {"name": bolt, "mark": "done" if counts(entry) else "out"}


def _drawings(
    own: Tightening, here: Here, latest: Mapping[str, Entry], last: Entry | None
) -> tuple[Drawing, ...]:
    value = last.computed["value"] if last else None
    low, high = here.round.limits.at_least, here.round.limits.at_most
    scale = Scale(
        label=last.saying if last else f"{_named(here.bolt).capitalize()}",
        unit=here.round.limits.unit,
        at_least=None if low is None else plain(low),
        at_most=None if high is None else plain(high),
        value=value,
        target=None if here.round.set_to is None else plain(here.round.set_to),
        verdict="" if value is None else side(Decimal(value), here.round.limits),
    )
    return (scale, *_star(own, here, latest))


def _star(own: Tightening, here: Here, latest: Mapping[str, Entry]) -> tuple[StarMap, ...]:
    """Draw one ring with the way of this pass; more rings, or none, are told by the order alone."""
    if len(own.bolts.rings) != 1:
        return ()
    order, name = here.round.order, here.round.name
    done = tuple(bolt for bolt in order if counts(latest.get(f"{bolt}, {name}")))
    place = order.index(here.bolt)
    then = order[place + 1] if place + 1 < len(order) else ""
    number = own.passes.index(here.round) + 1
    middle = f"{number} of {own.rounds}" if here.round.target is not None else "check"
    told = f"{', '.join(done)} done in this pass. " if done else ""
    after = f" Then {_named(then)}." if then else ""
    label = f"Bolt circle of {len(order)} seen from above, datum up. {told}Now {_named(here.bolt)}.{after}"
    return (
        StarMap(
            label=label,
            names=own.bolts.names,
            angles=own.bolts.angles,
            order=order,
            way=tuple(bolt for bolt in order[: place + 1] if bolt in done or bolt == here.bolt),
            done=done,
            here=here.bolt,
            then=then,
            middle=middle,
        ),
    )


KIND = Torque()
