"""A map of defects: each known one is measured again, each new one gets its place and size.

Keys: `known`, a list of tables with `name`, `angle`, `radius`, `size`; `largest` (size that is still
good), `growth` (by how much a known one may differ), `radius` (where the glass is, as a range).

Angles are degrees clockwise from the datum, seen from above. The last part, `map`, says that there is
nothing more. A photo with each entry is asked for by the step's own `photo`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, plain
from app.procedure.entry import Judged, Outcome, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.ranges import read_amount, read_range
from app.procedure.turns import answer_of, counts, mark_of
from app.procedure.typed import read_number
from app.procedure.usual import UsualKind, latest_of
from app.procedure.wording import against, listed, said

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

WHOLE, NEW = "map", "new"
MM, DEG = "mm", "deg"
TURN = Limits(Decimal(0), Decimal(360), DEG)


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """One place on the glass: degrees, mm, mm."""

    angle: Decimal
    radius: Decimal
    size: Decimal

    def words(self) -> str:
        """Return the place and the size."""
        return f"{plain(self.size)} mm at {plain(self.angle)} deg, {plain(self.radius)} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a map of defects."""

    known: Mapping[str, Defect]
    largest: Decimal | None
    growth: Decimal | None
    radius: Limits


class Defects(UsualKind):
    """Every defect has its place, its size and what became of it."""

    name: ClassVar[str] = "defects"
    title: ClassVar[str] = "Defect map"
    free_parts: ClassVar[bool] = True

    def read(self, table: Table) -> Own:
        """Read the keys of a map of defects."""
        known: dict[str, Defect] = {}
        for each in table.tables("known", noun="defect"):
            name = each.text("name", required=True)
            if name in known or name == WHOLE or name.startswith(f"{NEW} "):
                each.fault("name", f"{name} already names something.", "Take another name.")
            found = [
                read_amount(each, k, u, required=True)
                for k, u in (("angle", DEG), ("radius", MM), ("size", MM))
            ]
            angle, radius, size = (value or Decimal(0) for value in found)
            known[name] = Defect(angle=angle, radius=radius, size=size)
            each.finish()
        own = Own(
            known=known,
            largest=read_amount(table, "largest", MM),
            growth=read_amount(table, "growth", MM),
            radius=read_range(table, "radius", MM),
        )
        if own.largest is None and own.growth is None:
            table.fault("largest", "There is no limit.", 'Write largest = "5 mm", or growth.')
        return own

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:
        """Return the known ones, the new ones so far, one more, and the map itself."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        count = sum(part.startswith(f"{NEW} ") for part in latest)
        return (*own.known, *(f"{NEW} {n}" for n in range(1, count + 2)), WHOLE)

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge a size against its limit, or that the map is whole."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        if part not in self.parts(step, at):
            sentence = f'"{part}" is no defect of this map. Nothing was saved.'
            return Unreadable(code="defects.unknown", sentence=sentence)
        if part == WHOLE:
            return _whole(own, latest)
        found = _measured(own, part, values)
        if isinstance(found, Unreadable):
            return found
        wrong = _wrong(own, part, found)
        saying = f"{part}: {found.words()}.{f' {wrong}' if wrong else ''}"
        computed = {
            "angle": plain(found.angle),
            "radius": plain(found.radius),
            "size": plain(found.size),
        }
        return Judged(verdict="out" if wrong else "good", saying=saying, computed=computed)

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:  # noqa: ARG002
        """Ask for every known one, and for the word that there is nothing more."""
        own, latest = cast("Own", step.own), latest_of(entries)
        absent = [name for name in own.known if name not in latest]
        if absent:
            return Outcome(complete=False, missing=f"Not measured again: {listed(absent)}.")
        out = [entry for entry in latest.values() if not counts(entry)]
        if out:
            return Outcome(complete=False, missing=out[0].saying)
        if WHOLE not in latest:
            return Outcome(complete=False, missing="Nobody has said that there is nothing more.")
        return Outcome(complete=True)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for one defect, and show the map as a list."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        parts = self.parts(step, at)
        left = [name for name in own.known if name not in latest]
        here = part if part in parts else left[0] if left else parts[-2]
        answer, mark = answer_of(latest, here, "")
        if WHOLE in latest and not answer:
            answer, mark = latest[WHOLE].saying, "done"
        return Card(
            kind_line=f"Defect map. {sum(name != WHOLE for name in latest)} recorded",
            act="There is nothing more" if here == WHOLE else f"Record {here}",
            part=here,
            fields=_fields(own, here),
            answer=answer,
            answer_mark=mark,
            own={
                "here": here,
                "rows": tuple(
                    _row(own, name, latest.get(name), here) for name in parts if name != WHOLE
                ),
                "whole": WHOLE in latest,
            },
        )

    def limits_words(self, step: Step, part: str) -> str:
        """Return the size that is still good, and what a known one measured."""
        own = cast("Own", step.own)
        before = f"was {own.known[part].words()}" if part in own.known else ""
        most = "" if own.largest is None else f"at most {said(plain(own.largest), MM)}"
        return "" if part == WHOLE else ", ".join(filter(None, (most, before)))


def _measured(own: Own, part: str, values: Mapping[str, str]) -> Defect | Unreadable:
    size = _number(values, "size", MM, Limits(Decimal(0), None, MM))
    if isinstance(size, Unreadable):
        return size
    if part in own.known:
        return replace(own.known[part], size=size)
    angle = _number(values, "angle", DEG, TURN)
    if isinstance(angle, Unreadable):
        return angle
    radius = _number(values, "radius", MM, own.radius)
    if isinstance(radius, Unreadable):
        return radius
    return Defect(angle=angle, radius=radius, size=size)


def _number(
    values: Mapping[str, str], name: str, unit: str, limits: Limits
) -> Decimal | Unreadable:
    number = read_number(values.get(name, ""), unit)
    if isinstance(number, Unreadable):
        return replace(number, sentence=f"{name.capitalize()}: {number.sentence}")
    if limits.holds(number):
        return number
    sentence = f"{name.capitalize()}: no place on the glass is {said(plain(number), unit)}. It has {limits.words()}. Nothing was saved."
    return Unreadable(code="defects.place", sentence=sentence)


def _wrong(own: Own, part: str, found: Defect) -> str:
    if own.largest is not None and found.size > own.largest:
        return f"{against(found.size, Limits(None, own.largest, MM))}. Report it."
    if part in own.known and own.growth is not None:
        change = abs(found.size - own.known[part].size)
        if change > own.growth:
            was = plain(own.known[part].size)
            return f"It was {was} mm: it has changed by {plain(change)} mm, more than {plain(own.growth)} mm. Report it."
    return ""


def _whole(own: Own, latest: Mapping[str, Entry]) -> Judged | Unreadable:
    left = [name for name in own.known if name not in latest]
    if left:
        sentence = f"Measure {listed(left)} again first. Nothing was saved."
        return Unreadable(code="defects.left", sentence=sentence)
    new = sum(name.startswith(f"{NEW} ") for name in latest)
    return Judged(verdict="good", saying=f"The map is whole: {new} new, {len(own.known)} known.")


def _fields(own: Own, here: str) -> tuple[Field, ...]:
    if here == WHOLE:
        return ()
    size = Field(name="size", label="Size", control="number", unit=MM)
    if here in own.known:
        return (size,)
    hint = "Clockwise from the datum, seen from above"
    angle = Field(name="angle", label="Angle", control="number", unit=DEG, hint=hint)
    radius = Field(
        name="radius",
        label="Radius",
        control="number",
        unit=MM,
        hint="From the middle of the glass",
    )
    return (angle, radius, size)


def _row(own: Own, name: str, entry: Entry | None, here: str) -> Mapping[str, str]:
    before = own.known.get(name)
    return {
        "name": name,
        "mark": mark_of(entry, here=name == here),
        "before": before.words() if before else "",
        "word": entry.saying if entry else "To do" if before else "",
    }


KIND = Defects()
