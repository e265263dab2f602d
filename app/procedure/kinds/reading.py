"""A reading: one number in a fixed unit, within limits.

Keys: `reading` (its name on the board), `unit`, `at_least`, `at_most`, `usual` (a range that catches
slips of the decimal mark), `resolution` (what the instrument shows), `uncertainty` (expanded, k = 2).

With an `uncertainty` U the value must lie within the limits shrunk by U at each end.
Source: the rule for proving conformity, ISO 14253-1:2017; "guarded acceptance" with a guard band
equal to U, JCGM 106:2012, 8.3.2 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, plain
from app.calculations.rounding import level
from app.procedure.drawing import Scale
from app.procedure.entry import Agreement, Judged, OnBoard, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.ranges import read_amount, read_range
from app.procedure.typed import read_number
from app.procedure.usual import Gives, Known, UsualKind, latest_of
from app.procedure.wording import against, said, side

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

SURE = Field(name="sure", label="I read it again: the number is right", control="yes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a reading; `limits` as written, `kept_in` shrunk by the uncertainty."""

    reading: str
    limits: Limits
    usual: Limits
    resolution: Decimal | None = None
    uncertainty: Decimal | None = None

    @property
    def unit(self) -> str:
        """Return the unit in which it is read."""
        return self.limits.unit

    @property
    def kept_in(self) -> Limits:
        """Return the limits that a value must keep, so that the true value keeps the written ones."""
        guard = self.uncertainty or Decimal(0)
        low, high = self.limits.at_least, self.limits.at_most
        return Limits(
            None if low is None else low + guard, None if high is None else high - guard, self.unit
        )


class Reading(UsualKind):
    """One number, judged against its limits; beyond them it is kept and the step stays open."""

    name: ClassVar[str] = "reading"
    title: ClassVar[str] = "Reading"
    keepable: ClassVar[bool] = True
    again: ClassVar[bool] = True

    def read(self, table: Table) -> Own:
        """Read the keys of a reading."""
        unit = table.unit(required=True)
        own = Own(
            reading=table.text("reading"),
            limits=table.limits(),
            usual=read_range(table, "usual", unit),
            resolution=read_amount(table, "resolution", unit),
            uncertainty=read_amount(table, "uncertainty", unit),
        )
        _check(table, own)
        return own

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Judge the number against the limits, after looking for a slip in typing it."""
        own = cast("Own", step.own)
        number = read_number(values.get("value", ""), own.unit)
        if isinstance(number, Unreadable):
            return number
        doubt = _finer(own, number) or (None if values.get("sure") == "yes" else _slip(own, number))
        if doubt is not None:
            return doubt
        good = own.kept_in.holds(number)
        board = OnBoard(value=plain(number), unit=own.unit)
        return Judged(
            verdict="good" if good else "out",
            saying=_saying(own, number),
            computed={"value": plain(number)},
            readings={own.reading: board} if own.reading else {},
        )

    def agreement(self, step: Step, seats: Sequence[Sequence[Entry]]) -> Agreement:
        """Let readings agree that differ by no more than the uncertainty, or else the resolution.

        Common practice, no source.
        """
        own = cast("Own", step.own)
        latest = [e for entries in seats for e in latest_of(entries).values()]
        numbers = [Decimal(entry.computed["value"]) for entry in latest]
        apart = own.uncertainty or own.resolution or Decimal(0)
        agree = bool(numbers) and max(numbers) - min(numbers) <= apart
        return Agreement(agree=agree, as_expected=all(e.verdict == "good" for e in latest))

    def gives(self, step: Step) -> Mapping[str, Gives]:
        """Return the one value."""
        return {"value": Gives(cast("Own", step.own).unit)}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:
        """Return the value last read."""
        entry = latest_of(entries).get("")
        if entry is None or key != "value":
            return None
        return Known((Decimal(entry.computed[key]),), self.gives(step)[key].unit)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show the scale with its limits, and the last value against it."""
        own = cast("Own", step.own)
        label = own.reading.replace("_", " ") or "reading"
        last = latest_of(at.of(step.id)).get("")
        return Card(
            kind_line=self.title,
            act=f"Record {label} in {own.unit}",
            part=part,
            fields=(_field(own, label),),
            answer=last.saying if last else "",
            answer_mark={"good": "done", "out": "out"}[last.verdict] if last else "",
            drawings=(_scale(own, label, last),) if own.limits.words() else (),
            own={"limits": own.limits.words(), "guard": _guard(own), "sure": SURE},
        )

    def subject(self, step: Step) -> str:
        """Return the name of the reading, or the instruction."""
        return cast("Own", step.own).reading.replace("_", " ").capitalize() or step.do

    def shown(self, step: Step, entry: Entry) -> str:
        """Return the value with its unit."""
        return said(entry.computed["value"], cast("Own", step.own).unit)

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return the limits, and by how much they were kept away from."""
        own = cast("Own", step.own)
        return " ".join(filter(None, (own.limits.words(), _guard(own))))


def _check(table: Table, own: Own) -> None:
    if own.resolution is not None and own.resolution <= 0:
        table.fault("resolution", "The resolution is not above 0.", "Write what the gauge shows.")
    if own.uncertainty is None:
        return
    low, high = own.kept_in.at_least, own.kept_in.at_most
    if own.uncertainty < 0:
        table.fault("uncertainty", "The uncertainty is below 0.", "Write it as a positive number.")
    elif low is None and high is None:
        table.fault("uncertainty", "There is no limit for it to guard.", "Add a limit.")
    elif low is not None and high is not None and low > high:
        what = "The uncertainty leaves no value that could pass."
        table.fault("uncertainty", what, "Name a better instrument, or wider limits.")


def _finer(own: Own, number: Decimal) -> Unreadable | None:
    if own.resolution is None or own.resolution <= 0 or number % own.resolution == 0:
        return None
    sentence = (
        f"The instrument shows steps of {said(plain(own.resolution), own.unit)}. "
        f"You typed {plain(number)}. Type what it shows. Nothing was saved."
    )
    return Unreadable(code="reading.finer", sentence=sentence)


def _slip(own: Own, number: Decimal) -> Unreadable | None:
    if own.usual.holds(number):
        return None
    value = said(plain(number), own.unit)
    if number != 0 and own.usual.holds(number / 10):
        far = f"{value} is ten times what is usual here."
    elif number != 0 and own.usual.holds(number * 10):
        far = f"{value} is a tenth of what is usual here."
    else:
        far = f"{value} is far from what is usual here, {own.usual.words()}."
    return Unreadable(code="reading.slip", sentence=f"{far} Check the decimal mark.")


def _saying(own: Own, number: Decimal) -> str:
    if own.kept_in.holds(number):
        return f"{against(number, own.limits)}." if own.limits.words() else _alone(own, number)
    again = "Measure again, or report it. Nothing goes on until it is cleared."
    if not own.limits.holds(number) or own.uncertainty is None:
        return f"{against(number, own.limits)}. {again}"
    low = side(number, own.kept_in) == "low"
    limit = own.limits.at_least if low else own.limits.at_most
    value, edge, guard = level(number, cast("Decimal", limit), own.uncertainty)
    return (
        f"{said(value, own.unit)} is nearer to the limit, {said(edge, own.unit)}, "
        f"than the uncertainty, {said(guard, own.unit)}. {again}"
    )


def _alone(own: Own, number: Decimal) -> str:
    return f"{said(plain(number), own.unit)} was read."


def _guard(own: Own) -> str:
    if own.uncertainty is None:
        return ""
    return f"kept away from by the uncertainty, {said(plain(own.uncertainty), own.unit)}"


def _field(own: Own, label: str) -> Field:
    return Field(
        name="value",
        label=label.capitalize(),
        control="number",
        unit=own.unit,
        hint=f"Limits: {own.limits.words()}" if own.limits.words() else "",
    )


def _scale(own: Own, label: str, last: Entry | None) -> Scale:
    value = last.computed["value"] if last else None
    low, high = own.kept_in.at_least, own.kept_in.at_most
    return Scale(
        label=last.saying if last else f"{label.capitalize()}: {own.limits.words()}",
        unit=own.unit,
        at_least=None if low is None else plain(low),
        at_most=None if high is None else plain(high),
        value=value,
        verdict="" if value is None else side(Decimal(value), own.kept_in),
    )


KIND = Reading()
