"""A trend: one reading taken again and again; the latest decides.

Keys: `reading` (its name on the board), `unit`, `at_least`, `at_most`, `every` (least time from one
reading to the next), `late` (how much later still belongs to the row; without it, half of `every`),
`drift` (greatest change from one reading to the next), `times` (how many in a row must be good).

A reading before its time is refused. One that comes too late is kept, and the row begins again with
it; one that is out of limit, or has changed too much, is kept and ends the row.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, Quantity, plain
from app.procedure.drawing import Trend, TrendPoint
from app.procedure.entry import MADE_AT, Judged, OnBoard, Outcome, Unreadable, made_at
from app.procedure.kind import Card, Field, Line
from app.procedure.ranges import read_amount
from app.procedure.turns import counts
from app.procedure.typed import read_number
from app.procedure.usual import Gives, Known, UsualKind, latest_of, once_faults
from app.procedure.wording import against, clock, said, span, span_up

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

TIMES = 3  # readings in a row, where the text does not say
MOST_TIMES = 50
BEGINS = "begins"  # in an entry that came too late: the row begins with it
AGAIN = "Read again when it is time, or report it."


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a trend."""

    reading: str
    limits: Limits
    every: timedelta
    late: timedelta
    drift: Decimal | None
    times: int

    @property
    def unit(self) -> str:
        """Return the unit in which it is read."""
        return self.limits.unit


class TrendKind(UsualKind):
    """A reading taken again and again."""

    name: ClassVar[str] = "trend"
    title: ClassVar[str] = "Trend"

    def read(self, table: Table) -> Own:
        """Read the keys of a trend."""
        unit = table.unit(required=True)
        every = table.duration("every", required=True) or timedelta(0)
        late = table.duration("late")
        own = Own(
            reading=table.text("reading"),
            limits=table.limits(),
            every=every,
            late=every / 2 if late is None else late,
            drift=read_amount(table, "drift", unit) if unit else None,
            times=table.whole("times", TIMES, at_least=2, at_most=MOST_TIMES) or TIMES,
        )
        if own.limits.at_least is None and own.limits.at_most is None and own.drift is None:
            table.fault("at_most", "There is no limit.", "Write at_least, at_most or drift.")
        if own.drift is not None and own.drift <= 0:
            table.fault("drift", "The drift is not above 0.", "Write how much it may change.")
        return own

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Refuse that several do it, each alone."""
        return once_faults(step, procedure)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:
        """Return the readings so far and the one that comes next."""
        return tuple(str(n) for n in range(1, len(latest_of(at.of(step.id))) + 2))

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge the next reading by its limits, its time, and the one before it."""
        own, row = cast("Own", step.own), _row(at.of(step.id))
        if part not in self.parts(step, at):
            sentence = f"Reading {len(row) + 1} is next. Nothing was saved."
            return Unreadable(code="trend.part", sentence=sentence)
        before = next((e for e in reversed(row) if int(e.part) < int(part)), None)
        if before is not None and at.now - made_at(before) < own.every:
            return _early(own, before, at)
        number = read_number(values.get("value", ""), own.unit)
        if isinstance(number, Unreadable):
            return number
        return _judged(own, number, before, at)

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:  # noqa: ARG002
        """Ask for so many good readings in a row, up to the latest."""
        own, row = cast("Own", step.own), _row(entries)
        if row and not counts(row[-1]):
            return Outcome(complete=False, missing=row[-1].saying)
        left = own.times - len(_good_row(row))
        if left > 0:
            more = "1 more good reading" if left == 1 else f"{left} more good readings"
            return Outcome(complete=False, missing=f"{more} in a row, {_every(own)}.")
        return Outcome(complete=True)

    def worked_at(self, step: Step, part: str, values: Mapping[str, str]) -> tuple[Quantity, ...]:  # noqa: ARG002
        """Return the value read."""
        own = cast("Own", step.own)
        number = read_number(values.get("value", ""), own.unit)
        return () if isinstance(number, Unreadable) else (Quantity(number, own.unit),)

    def gives(self, step: Step) -> Mapping[str, Gives]:
        """Return the latest value, and the row of all."""
        unit = cast("Own", step.own).unit
        return {"value": Gives(unit), "values": Gives(unit, row=True)}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:
        """Return the latest value, or all of them."""
        values = tuple(Decimal(entry.computed["value"]) for entry in _row(entries))
        if not values or key not in self.gives(step):
            return None
        return Known(values[-1:] if key == "value" else values, cast("Own", step.own).unit)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show the readings over time, and when the next is due."""
        own, row = cast("Own", step.own), _row(at.of(step.id))
        asked = next((entry for entry in row if entry.part == part), None)
        outcome = self.outcome(step, row, at)
        label = own.reading.replace("_", " ") or "reading"
        done = outcome.complete
        answer = "The row is complete" if done else outcome.missing if row else ""
        return Card(
            kind_line=f"Trend. {len(_good_row(row))} of {own.times} in a row",
            act=f"Record {label} in {own.unit}",
            part=part if asked else str(len(row) + 1),
            heading=step.do,
            fields=(_field(own, label),),
            answer=answer,
            answer_mark="done" if done else "out" if row and not counts(row[-1]) else "wait",
            off="" if asked else _off(own, row, at),
            drawings=(_drawn(own, row, answer or "Not read yet"),),
            own={
                "limits": own.limits.words(),
                "drift": "" if own.drift is None else said(plain(own.drift), own.unit),
                "every": _every(own),
                "next": _next_time(own, row, at),
                "rows": tuple(_line(own, entry, at) for entry in reversed(row)),
            },
        )

    def lines(self, step: Step, entries: Sequence[Entry]) -> tuple[Line, ...]:
        """Describe each reading by its name and its number in the row."""
        name = cast("Own", step.own).reading.replace("_", " ").capitalize() or step.do
        return tuple(
            replace(line, what=f"{name}, reading {line.what}")
            for line in super().lines(step, entries)
        )

    def shown(self, step: Step, entry: Entry) -> str:
        """Return the value and when it was read."""
        when = clock(made_at(entry), made_at(entry).tzinfo)
        return f"{said(entry.computed['value'], cast('Own', step.own).unit)} at {when}"

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return the limits, and how much it may change."""
        own = cast("Own", step.own)
        drift = "" if own.drift is None else f"change at most {said(plain(own.drift), own.unit)}"
        return ", ".join(filter(None, (own.limits.words(), drift)))


def _row(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    return tuple(sorted(latest_of(entries).values(), key=lambda entry: int(entry.part)))


def _good_row(row: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the good readings in a row that the latest one ends."""
    good: list[Entry] = []
    for entry in reversed(row):
        if not counts(entry):
            break
        good.append(entry)
        if BEGINS in entry.computed:
            break
    return tuple(reversed(good))


def _early(own: Own, before: Entry, at: Circumstances) -> Unreadable:
    due = made_at(before) + own.every
    wait, when = span_up(due - at.now), clock(due, at.now.tzinfo)
    return Unreadable(
        code="trend.early",
        sentence=f"Not yet. Wait {wait}. The next reading is due at {when}. Nothing was saved.",
    )


def _judged(own: Own, number: Decimal, before: Entry | None, at: Circumstances) -> Judged:
    late = before is not None and at.now - made_at(before) > own.every + own.late
    wrong = "" if own.limits.holds(number) else f"{against(number, own.limits)}."
    if before is not None and not late and not wrong:
        wrong = _drifted(own, number, Decimal(before.computed["value"]))
    computed = {"value": plain(number), MADE_AT: at.now.isoformat()}
    words = f"{against(number, own.limits)}." if own.limits.words() else _bare(own, number)
    if late and before is not None:
        computed[BEGINS] = "yes"
        passed = span(at.now - made_at(before))
        words += f" It came {passed} after the one before: the row begins again."
    board = OnBoard(value=plain(number), unit=own.unit)
    return Judged(
        verdict="out" if wrong else "good",
        saying=f"{wrong} {AGAIN}" if wrong else words,
        computed=computed,
        readings={own.reading: board} if own.reading else {},
    )


def _bare(own: Own, number: Decimal) -> str:
    return f"{said(plain(number), own.unit)} was read."


def _drifted(own: Own, number: Decimal, before: Decimal) -> str:
    change = abs(number - before)
    if own.drift is None or change <= own.drift:
        return ""
    changed = against(change, Limits(None, own.drift, own.unit))
    return f"It changed from {plain(before)} to {said(plain(number), own.unit)}: {changed}."


def _every(own: Own) -> str:
    return f"{span(own.every)} to {span(own.every + own.late)} apart"


def _next_time(own: Own, row: Sequence[Entry], at: Circumstances) -> str:
    if not row:
        return "now"
    first = made_at(row[-1]) + own.every
    zone = at.now.tzinfo
    return f"{clock(first, zone)} to {clock(first + own.late, zone)}"


def _off(own: Own, row: Sequence[Entry], at: Circumstances) -> str:
    if not row or at.now - made_at(row[-1]) >= own.every:
        return ""
    return f"The next reading is due at {clock(made_at(row[-1]) + own.every, at.now.tzinfo)}"


def _field(own: Own, label: str) -> Field:
    limits = own.limits.words()
    hint = f"Limits: {limits}" if limits else ""
    return Field(name="value", label=label.capitalize(), control="number", unit=own.unit, hint=hint)


def _line(own: Own, entry: Entry, at: Circumstances) -> Mapping[str, str]:
    return {
        "time": clock(made_at(entry), at.now.tzinfo),
        "value": said(entry.computed["value"], own.unit),
        "by": entry.by,
        "mark": "done" if counts(entry) else "out",
        "word": "Row begins" if BEGINS in entry.computed else "" if counts(entry) else "Out",
    }


def _drawn(own: Own, row: Sequence[Entry], label: str) -> Trend:
    low, high = own.limits.at_least, own.limits.at_most
    return Trend(
        label=f"{label}. {len(row)} readings"
        + (f", limits {own.limits.words()}." if own.limits.words() else "."),
        unit=own.unit,
        points=tuple(
            TrendPoint(
                minutes=str((made_at(entry) - made_at(row[0])) // timedelta(minutes=1)),
                value=entry.computed["value"],
                out=not counts(entry),
            )
            for entry in row
        ),
        at_least=None if low is None else plain(low),
        at_most=None if high is None else plain(high),
    )


KIND = TrendKind()
