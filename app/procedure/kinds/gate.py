"""A gate: several readings, all within their limits and all young enough at one moment.

Keys: `readings`, a list of tables with `reading` (its name on the board), `unit`, `at_least`,
`at_most`, `age` (how old it may be), `where` (where it is read).

A reading that stands on the board counts here while it is young; any can be read again here. The last
part, `passed`, is the act: it is refused while one reading blocks, and says which, and where to read it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, Quantity, plain, same_dimension
from app.procedure.entry import MADE_AT, Judged, OnBoard, Outcome, Unreadable, made_at
from app.procedure.kind import Card, Field
from app.procedure.typed import read_number
from app.procedure.usual import UsualKind, latest_of
from app.procedure.wording import against, said, span

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

PASSED = "passed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One reading that the gate asks for."""

    reading: str
    limits: Limits
    age: timedelta
    where: str

    @property
    def title(self) -> str:
        """Return the name of the reading for people."""
        return self.reading.replace("_", " ").replace("-", " ").capitalize()


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a gate."""

    rows: tuple[Row, ...]

    def row(self, name: str) -> Row | None:
        """Return the reading with this name."""
        return next((row for row in self.rows if row.reading == name), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A value found for a reading, in the gate's unit, and when it was read."""

    value: Decimal
    at: datetime


class Gate(UsualKind):
    """All readings good and young at once."""

    name: ClassVar[str] = "gate"
    title: ClassVar[str] = "Gate"
    free_parts: ClassVar[bool] = True

    def read(self, table: Table) -> Own:
        """Read the keys of a gate."""
        rows = tuple(_row(each) for each in table.tables("readings", required=True, noun="reading"))
        names = [row.reading for row in rows]
        if table.has("readings") and not rows:
            table.fault("readings", "The gate asks for no readings.", "Name one at least.")
        if len(set(names)) != len(names) or PASSED in names:
            what = f"Two readings have one name, or one is called {PASSED}."
            table.fault("readings", what, "Give each a name of its own.")
        return Own(rows=rows)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the readings, and the passing itself."""
        return (*(row.reading for row in cast("Own", step.own).rows), PASSED)

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge one reading, or whether the gate may be passed now."""
        own = cast("Own", step.own)
        if part == PASSED:
            return _passing(step, own, at)
        row = own.row(part)
        if row is None:
            sentence = f'"{part}" is not a reading of this gate. Nothing was saved.'
            return Unreadable(code="gate.part", sentence=sentence)
        number = read_number(values.get("value", ""), row.limits.unit)
        if isinstance(number, Unreadable):
            return number
        good = row.limits.holds(number)
        again = "" if good else " Wait, and read it again."
        return Judged(
            verdict="good" if good else "out",
            saying=f"{row.title}: {against(number, row.limits)}.{again}",
            computed={"value": plain(number), MADE_AT: at.now.isoformat()},
            readings={row.reading: OnBoard(value=plain(number), unit=row.limits.unit)},
        )

    def stands(self, step: Step, entry: Entry, at: Circumstances) -> bool:
        """Let any reading be taken again; a passing stands until a reading changes after it."""
        return _passed(at.of(step.id)) is entry

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:
        """Ask for the passing."""
        if _passed(entries) is not None:
            return Outcome(complete=True)
        blocks = _blocking(step, cast("Own", step.own), at)
        missing = blocks[0][1] if blocks else "Every reading is good. Nobody has passed the gate."
        return Outcome(complete=False, missing=missing)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show every reading against its limit and its age, and what blocks."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        blocks = _blocking(step, own, at)
        done = _passed(at.of(step.id)) is not None
        here = part if part in self.parts(step, at) else blocks[0][0].reading if blocks else PASSED
        row = own.row(here)
        return Card(
            kind_line=self.title,
            act="Gate passed"
            if row is None
            else f"Record {row.title.lower()} in {row.limits.unit}",
            part=here,
            heading=step.do,
            fields=() if row is None else (_field(row),),
            answer=latest[PASSED].saying
            if done
            else blocks[0][1]
            if blocks
            else "The gate is open",
            answer_mark="done" if done else "stale" if blocks else "done",
            off="" if row is not None or not blocks else blocks[0][1].rstrip("."),
            own={
                "rows": tuple(_shown_row(step, each, at) for each in own.rows),
                "here": here,
            },
        )

    def subject(self, step: Step) -> str:
        """Return what the passing is about."""
        return step.do

    def shown(self, step: Step, entry: Entry) -> str:
        """Return the value read, or all values at the moment of passing."""
        row = cast("Own", step.own).row(entry.part)
        if row is None:
            return entry.saying
        return said(entry.computed["value"], row.limits.unit)

    def limits_words(self, step: Step, part: str) -> str:
        """Return the limit of a reading and how old it may be."""
        row = cast("Own", step.own).row(part)
        return "" if row is None else f"{row.limits.words()}, at most {span(row.age)} old"


def _passed(entries: Sequence[Entry]) -> Entry | None:
    """Return the passing, if nothing was read or corrected after it."""
    last = max(latest_of(entries).values(), key=lambda entry: entry.number, default=None)
    return last if last is not None and last.part == PASSED else None


def _row(table: Table) -> Row:
    row = Row(
        reading=table.text("reading", required=True),
        limits=table.limits(required=True),
        age=table.duration("age", required=True) or timedelta(0),
        where=table.text("where"),
    )
    table.finish()
    return row


def _field(row: Row) -> Field:
    return Field(
        name="value",
        label=row.title,
        control="number",
        unit=row.limits.unit,
        hint=f"Limits: {row.limits.words()}",
    )


def _found(step: Step, row: Row, at: Circumstances) -> Found | None:
    """Return the youngest value: entered here, or standing on the board."""
    entry = latest_of(at.of(step.id)).get(row.reading)
    found = (
        None if entry is None else Found(value=Decimal(entry.computed["value"]), at=made_at(entry))
    )
    board = at.readings.get(row.reading)
    if board is None or (found is not None and board.at <= found.at):
        return found
    if not same_dimension(board.unit, row.limits.unit):
        return found
    value = Quantity(Decimal(board.value), board.unit).to(row.limits.unit).value
    return Found(value=value, at=board.at)


def _blocks(step: Step, row: Row, at: Circumstances) -> str:
    """Return why a reading keeps the gate shut; "" if it does not."""
    found = _found(step, row, at)
    read = f" Read it at {row.where}." if row.where else " Read it again."
    if found is None:
        return f"{row.title} has not been read.{read}"
    age = at.now - found.at
    if age > row.age:
        must = f"It must be at most {span(row.age)} old."
        return f"{row.title} was read {span(age)} ago. {must}{read}"
    if not row.limits.holds(found.value):
        return f"{row.title}: {against(found.value, row.limits)}. Wait, and read it again."
    return ""


def _blocking(step: Step, own: Own, at: Circumstances) -> tuple[tuple[Row, str], ...]:
    why = ((row, _blocks(step, row, at)) for row in own.rows)
    return tuple((row, sentence) for row, sentence in why if sentence)


def _passing(step: Step, own: Own, at: Circumstances) -> Judged | Unreadable:
    blocks = _blocking(step, own, at)
    if blocks:
        return Unreadable(code="gate.shut", sentence=f"{blocks[0][1]} Nothing was saved.")
    values = {row.reading: _found(step, row, at) for row in own.rows}
    told = [
        f"{row.title} {said(plain(found.value), row.limits.unit)}, {span(at.now - found.at)} old"
        for row in own.rows
        if (found := values[row.reading]) is not None
    ]
    computed = {name: plain(found.value) for name, found in values.items() if found is not None}
    return Judged(verdict="good", saying=f"Passed with {'; '.join(told)}.", computed=computed)


def _shown_row(step: Step, row: Row, at: Circumstances) -> Mapping[str, str]:
    found, why = _found(step, row, at), _blocks(step, row, at)
    old = found is not None and at.now - found.at > row.age
    return {
        "name": row.reading,
        "title": row.title,
        "value": "" if found is None else said(plain(found.value), row.limits.unit),
        "limits": row.limits.words(),
        "age": "not read" if found is None else f"{span(at.now - found.at)} ago",
        "word": "Too old" if old else "Out of limit" if why and found else "Good" if found else "",
        "mark": "stale" if old or found is None else "out" if why else "done",
    }


KIND = Gate()
