"""Loads: what every cell of a ring carries, read at one time and judged together.

Keys: `cells` (a layout with angles), `unit`, `radius` (of their circle), `total` (a range), `share`
(how far each may be from the mean, as `"5 %"`), `each_at_least` and `each_at_most` (limits of every
cell), `centre` (how far the load centre may be from the middle, as `"20 mm"`).
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, plain
from app.calculations.rounding import rounded
from app.procedure.attached import is_attached
from app.procedure.drawing import LoadPlan, RingMap, Scale
from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field, Line
from app.procedure.model import Layout
from app.procedure.ranges import read_amount, read_range
from app.procedure.typed import read_number
from app.procedure.usual import Gives, Known, UsualKind, latest_of
from app.procedure.weighing import PERCENT_STEP, Bounds, Cell, Weighed, good_words, weigh
from app.procedure.wording import in_words, said, side, verdict_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.drawing import Drawing, Mark
    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

NOWHERE = Layout(shape="list", names=())
TAKEN = frozenset({"total", "x", "y", "centre", "cells", "angles", "radius"})
MOST_SAID = 3  # wrong things in one sentence; the card and the record show all


class Loads(UsualKind):
    """All cells at once; they pass together or not at all."""

    name: ClassVar[str] = "loads"
    title: ClassVar[str] = "Load cells"

    def read(self, table: Table) -> Bounds:
        """Read the keys of load cells."""
        unit = table.unit(required=True)
        low, high = (read_amount(table, f"each_{end}", unit) for end in ("at_least", "at_most"))
        own = Bounds(
            cells=table.layout("cells", required=True) or NOWHERE,
            unit=unit,
            total=read_range(table, "total", unit),
            each=Limits(low, high, unit),
            radius_mm=read_amount(table, "radius", "mm"),
            share=read_amount(table, "share", "%"),
            centre=Limits(None, read_amount(table, "centre", "mm"), "mm"),
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
        """Judge the sum, each cell and the load centre together."""
        own = cast("Bounds", step.own)
        forces = _forces(own, values)
        if isinstance(forces, Unreadable):
            return forces
        weighed = weigh(own, forces)
        saying = " ".join(("Do not go on.", *weighed.wrong[:MOST_SAID]))
        return Judged(
            verdict="out" if weighed.wrong else "good",
            saying=saying if weighed.wrong else good_words(own, weighed),
            computed=_computed(weighed),
        )

    def gives(self, step: Step) -> Mapping[str, Gives]:
        """Return the cells as a row, each by name, their angles, the sum and the load centre."""
        own = cast("Bounds", step.own)
        force, length = Gives(own.unit), Gives("mm")
        rows = {"cells": Gives(own.unit, row=True), "angles": Gives("deg", row=True)}
        lengths = {"radius": length, "x": length, "y": length, "centre": length}
        return {**rows, "total": force, **lengths, **dict.fromkeys(own.cells.names, force)}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:
        """Return what is named, from the latest entry."""
        entry, gives = latest_of(entries).get(""), self.gives(step)
        if entry is None or key not in gives:
            return None
        own = cast("Bounds", step.own)
        if key == "angles":
            values = tuple(Decimal(str(angle)) for angle in own.cells.angles)
        elif key == "radius":
            values = () if own.radius_mm is None else (own.radius_mm,)
        else:
            names = own.cells.names if key == "cells" else (key,)
            values = tuple(Decimal(entry.computed[n]) for n in names if n in entry.computed)
        return Known(values, gives[key].unit) if values else None

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show the plan with the load centre, and every cell with its share and limits."""
        own = cast("Bounds", step.own)
        entry = latest_of(at.of(step.id)).get("")
        weighed = weigh(own, _stored(own, entry)) if entry else None
        fields = tuple(
            Field(name=name, label=name, control="number", unit=own.unit)
            for name in own.cells.names
        )
        scales = tuple(_cell_scale(own, cell) for cell in weighed.cells) if weighed else ()
        maps = _maps(own, weighed)
        rows = _rows(own, weighed, len(maps)) if weighed else ()
        return Card(
            kind_line="Load cells. Share and balance",
            act=f"Record {in_words(len(fields))} cells",
            part=part,
            fields=fields,
            answer=entry.saying if entry else "",
            answer_mark={"good": "done", "out": "out"}[entry.verdict] if entry else "",
            drawings=(*maps, *scales),
            own={
                "unit": own.unit,
                "total": said(plain(weighed.total), own.unit) if weighed else "",
                "total_limits": own.total.words(),
                "cell_limits": _cell_limits(own),
                "centre_limit": own.centre.words(),
                "rows": rows,
            },
        )

    def lines(self, step: Step, entries: Sequence[Entry]) -> tuple[Line, ...]:
        """Describe the sum, the load centre and every cell."""
        own = cast("Bounds", step.own)
        return tuple(line for entry in entries for line in _lines(own, entry))


def _check(table: Table, own: Bounds) -> None:
    for name in (name for name in own.cells.names if name in TAKEN or is_attached(name)):
        table.fault("cells", f"{name} already names something else.", "Take another label.")
    if own.centre.at_most is not None and own.radius_mm is None:
        table.fault("radius", "The load centre needs the radius.", 'Add radius = "2.04 m".')
    if own.radius_mm is not None and own.radius_mm <= 0:
        table.fault("radius", "The radius is not above 0.", "Write the radius of the circle.")
    if own.radius_mm is not None and own.cells.names and len(own.cells.rings) != 1:
        table.fault("cells", "The cells do not stand on one ring.", 'Use shape = "ring".')
    limits = (own.total.at_least, own.total.at_most, own.each.at_least, own.each.at_most)
    if all(limit is None for limit in (*limits, own.share, own.centre.at_most)):
        table.fault("total", "There is no limit.", "Write total, share, each_at_most or centre.")


def _forces(own: Bounds, values: Mapping[str, str]) -> tuple[Decimal, ...] | Unreadable:
    forces: list[Decimal] = []
    for name in own.cells.names:
        force = read_number(values.get(name, ""), own.unit)
        if isinstance(force, Unreadable):
            return replace(force, sentence=f"{name}: {force.sentence}")
        forces.append(force)
    return tuple(forces)


def _stored(own: Bounds, entry: Entry) -> tuple[Decimal, ...]:
    return tuple(Decimal(entry.computed[name]) for name in own.cells.names)


def _computed(weighed: Weighed) -> dict[str, str]:
    found = {cell.name: plain(cell.force) for cell in weighed.cells}
    found["total"] = plain(weighed.total)
    lengths = {"x": weighed.x, "y": weighed.y, "centre": weighed.offset}
    return {**found, **{name: plain(mm) for name, mm in lengths.items() if mm is not None}}


def _maps(own: Bounds, weighed: Weighed | None) -> tuple[Drawing, ...]:
    """Draw one ring as a plan with the load centre, several as a map, a list not at all."""
    cells = own.cells
    if len(cells.rings) < 2:
        return (_plan(own, weighed),) if cells.angles else ()
    found = weighed.cells if weighed else ()
    marks: dict[str, Mark] = {cell.name: "out" if cell.wrong else "done" for cell in found}
    label = _label(own, weighed)
    return (
        RingMap(
            label=label, names=cells.names, angles=cells.angles, rings=cells.rings, marks=marks
        ),
    )


def _label(own: Bounds, weighed: Weighed | None) -> str:
    if weighed is None:
        return "Load cells, seen from above, datum up. Not read yet."
    return " ".join(weighed.wrong) or good_words(own, weighed)


def _plan(own: Bounds, weighed: Weighed | None) -> LoadPlan:
    limit = own.centre.at_most
    placed = weighed is not None and weighed.x is not None and weighed.y is not None
    return LoadPlan(
        label=_label(own, weighed),
        names=own.cells.names,
        angles=own.cells.angles,
        out=tuple(cell.name for cell in weighed.cells if cell.wrong) if weighed else (),
        limit_mm=None if limit is None else plain(limit),
        centre_mm=(f"{weighed.x:f}", f"{weighed.y:f}") if weighed and placed else None,
        offset_mm=plain(weighed.offset) if weighed and weighed.offset is not None else None,
    )


def _cell_scale(own: Bounds, cell: Cell) -> Scale:
    """Draw a cell on its own limits, or on its share where only that is limited."""
    if own.share is None or cell.share is None:
        low, high = own.each.at_least, own.each.at_most
        value, unit, where = cell.force, own.unit, side(cell.force, own.each)
    else:
        low, high, unit = -own.share, own.share, "%"
        where = side(cell.share, Limits(low, high, unit))
        value = rounded(cell.share, PERCENT_STEP, at_least=low, at_most=high)
    return Scale(
        label=cell.wrong or f"{cell.name}: within its limits",
        unit=unit,
        at_least=None if low is None else plain(low),
        at_most=None if high is None else plain(high),
        value=plain(value),
        target="0" if unit == "%" else None,
        verdict=where,
    )


def _share(own: Bounds, cell: Cell) -> str:
    if cell.share is None:
        return ""
    limit = own.share
    low = None if limit is None else -limit
    return f"{rounded(cell.share, PERCENT_STEP, at_least=low, at_most=limit):+f}"


def _rows(own: Bounds, weighed: Weighed, maps: int) -> tuple[Mapping[str, object], ...]:
    return tuple(
        {
            "name": cell.name,
            "force": plain(cell.force),
            "share": _share(own, cell),
            "word": cell.word,
            "scale": scale,  # where its scale stands among the drawings, after the maps
        }
        for scale, cell in enumerate(weighed.cells, start=maps)
    )


def _cell_limits(own: Bounds) -> str:
    share = "" if own.share is None else f"within {plain(own.share)} % of the mean"
    return ", ".join(filter(None, (own.each.words(), share)))


def _lines(own: Bounds, entry: Entry) -> tuple[Line, ...]:
    weighed, verdict = weigh(own, _stored(own, entry)), verdict_words(entry)
    total = said(plain(weighed.total), own.unit)
    lines = [Line(what="Total", value=total, limits=own.total.words(), verdict=verdict)]
    if weighed.offset is not None:
        centre = said(plain(weighed.offset), "mm")
        limit = own.centre.words()
        lines.append(Line(what="Load centre", value=centre, limits=limit, verdict=verdict))
    for cell in weighed.cells:
        share = f" ({_share(own, cell)} % of the mean)" if cell.share is not None else ""
        value = said(plain(cell.force), own.unit) + share
        word = cell.word or "Good"
        lines.append(Line(what=cell.name, value=value, limits=_cell_limits(own), verdict=word))
    return tuple(lines)


KIND = Loads()
