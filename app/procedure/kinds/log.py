"""A log: at each of several points, in order, the same few values are read.

Keys: `points` (way-points on a road, points on the glass, supports), `values`, a list of tables with
`name`, `unit`, `at_least`, `at_most`.

The points come in the order written. A value out of limit is kept; the point is read again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, plain
from app.procedure.attached import is_attached
from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field, Line
from app.procedure.turns import answer_of, here_of, mark_of, next_part
from app.procedure.typed import read_number
from app.procedure.usual import Gives, Known, UsualKind, latest_of
from app.procedure.wording import against, said, verdict_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a log."""

    points: tuple[str, ...]
    values: Mapping[str, Limits]


class Log(UsualKind):
    """The same values at one point after another."""

    name: ClassVar[str] = "log"
    title: ClassVar[str] = "Log"
    keepable: ClassVar[bool] = True

    def read(self, table: Table) -> Own:
        """Read the keys of a log."""
        points = table.texts("points", required=True)
        if len(set(points)) != len(points) or "" in points or (table.has("points") and not points):
            table.fault("points", "Two points are alike, or one is empty.", "Name each once.")
        values: dict[str, Limits] = {}
        for each in table.tables("values", required=True, noun="value"):
            name = each.text("name", required=True)
            if name in values or is_attached(name):
                each.fault("name", f"{name} already names something.", "Take another name.")
            values[name] = each.limits(required=True)
            each.finish()
        if table.has("values") and not values:
            table.fault("values", "There is nothing to read.", "Write one value at least.")
        return Own(points=points, values=values)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the points."""
        return cast("Own", step.own).points

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge all values of the point that is next."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        if part not in own.points:
            sentence = f'"{part}" is not one of the points here. Nothing was saved.'
            return Unreadable(code="log.unknown", sentence=sentence)
        first = next_part(own.points, latest)
        if part not in latest and part != first:
            sentence = f"{part} is not next. Record {first} first. Nothing was saved."
            return Unreadable(code="order.point", sentence=sentence)
        read: dict[str, Decimal] = {}
        for name, limits in own.values.items():
            number = read_number(values.get(name, ""), limits.unit)
            if isinstance(number, Unreadable):
                return replace(number, sentence=f"{_titled(name)}: {number.sentence}")
            read[name] = number
        return _judged(own, part, read)

    def gives(self, step: Step) -> Mapping[str, Gives]:
        """Return each value as a row over the points."""
        own = cast("Own", step.own)
        return {name: Gives(limits.unit, row=True) for name, limits in own.values.items()}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:
        """Return a value at every point, once all are read."""
        own, latest = cast("Own", step.own), latest_of(entries)
        if key not in own.values or any(point not in latest for point in own.points):
            return None
        values = tuple(Decimal(latest[point].computed[key]) for point in own.points)
        return Known(values, own.values[key].unit)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for one point, and show the row of all."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        here = here_of(part, own.points, latest)
        first = next_part(own.points, latest)
        out_of_turn = here and here not in latest and here != first
        answer, mark = answer_of(latest, here, "Every point is recorded")
        return Card(
            kind_line=f"Log. {len(latest)} recorded",
            act=f"Record {here}" if here else "Every point is recorded",
            part=here,
            heading=f"{here}: {step.do}" if here else "",
            on=here,
            fields=_fields(own) if here else (),
            answer=answer,
            answer_mark=mark,
            off=f"{here} is not next. Record {first} first" if out_of_turn else "",
            own={
                "here": here,
                "heads": tuple(
                    f"{_titled(n)}, {limits.words()}" for n, limits in own.values.items()
                ),
                "rows": tuple(_row(own, point, latest.get(point), here) for point in own.points),
            },
        )

    def lines(self, step: Step, entries: Sequence[Entry]) -> tuple[Line, ...]:
        """Describe each value of each point."""
        own = cast("Own", step.own)
        return tuple(
            Line(
                what=f"{entry.part}, {_titled(name).lower()}",
                value=said(entry.computed[name], limits.unit),
                limits=limits.words(),
                verdict=verdict_words(entry),
            )
            for entry in entries
            for name, limits in own.values.items()
        )


def _titled(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _judged(own: Own, point: str, read: Mapping[str, Decimal]) -> Judged:
    wrong = [
        f"{_titled(name)}: {against(number, own.values[name])}."
        for name, number in read.items()
        if not own.values[name].holds(number)
    ]
    told = [f"{name} {said(plain(n), own.values[name].unit)}" for name, n in read.items()]
    saying = (
        f"{point}: {' '.join(wrong)} Stop here, and read again."
        if wrong
        else f"{point}: {', '.join(told)}."
    )
    return Judged(
        verdict="out" if wrong else "good",
        saying=saying,
        computed={name: plain(number) for name, number in read.items()},
    )


def _fields(own: Own) -> tuple[Field, ...]:
    return tuple(
        Field(
            name=name,
            label=_titled(name),
            control="number",
            unit=limits.unit,
            hint=f"Limits: {limits.words()}",
        )
        for name, limits in own.values.items()
    )


def _row(own: Own, point: str, entry: Entry | None, here: str) -> Mapping[str, object]:
    return {
        "name": point,
        "mark": mark_of(entry, here=point == here),
        "cells": tuple(entry.computed[name] if entry else "" for name in own.values),
    }


KIND = Log()
