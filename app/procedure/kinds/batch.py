"""A batch: a bath made by a recipe, each part measured in the order written.

Keys: `recipe`, a list of tables with `what` and `amount`; `makes` (what the recipe gives), `tolerance`
(of each amount, as `"2 %"`), `at_least` and `at_most` (then the size is chosen, and the recipe scaled).

The order is that of the recipe, and it is kept: acid goes into water, never water into acid.
Local rules and licensed practice come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, Quantity, plain
from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.ranges import read_amount
from app.procedure.turns import answer_of, here_of, mark_of, next_part
from app.procedure.typed import read_number, read_words
from app.procedure.usual import UsualKind, latest_of, once_faults
from app.procedure.wording import against, said

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

BATCH = "batch"
LONGEST = 60
FINEST = 4  # digits of a scaled amount


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a batch; `sizes` has limits where the size is chosen."""

    recipe: Mapping[str, Quantity]
    makes: Quantity
    tolerance: Decimal  # per cent
    sizes: Limits

    @property
    def scaled(self) -> bool:
        """Say whether the size is chosen."""
        return self.sizes.at_least is not None or self.sizes.at_most is not None


NOTHING = Quantity(Decimal(1), "l")


class Batch(UsualKind):
    """A recipe, measured out."""

    name: ClassVar[str] = "batch"
    title: ClassVar[str] = "Batch"

    def read(self, table: Table) -> Own:
        """Read the keys of a batch."""
        recipe: dict[str, Quantity] = {}
        for each in table.tables("recipe", required=True, noun="part of the recipe"):
            what, amount = each.text("what", required=True), each.quantity("amount", required=True)
            if what in (*recipe, BATCH):
                each.fault("what", f"{what} already names something.", "Take another name.")
            if amount is not None and amount.value <= 0:
                each.fault("amount", "The amount is not above 0.", "Write how much.")
            each.finish()
            recipe[what] = amount or NOTHING
        makes = table.quantity("makes", required=True) or NOTHING
        if makes.value <= 0:
            table.fault("makes", "The recipe makes nothing.", 'Write makes = "90 l".')
            makes = NOTHING
        tolerance = table.quantity("tolerance", "%", required=True)
        low, high = (read_amount(table, end, makes.unit) for end in ("at_least", "at_most"))
        return Own(
            recipe=recipe,
            makes=makes,
            tolerance=Decimal(0) if tolerance is None else tolerance.value,
            sizes=Limits(low, high, makes.unit),
        )

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Refuse that several do it, each alone."""
        return once_faults(step, procedure)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the label, then each part of the recipe in order."""
        return (BATCH, *cast("Own", step.own).recipe)

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge the label and size, or one amount against the recipe."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        parts = self.parts(step, at)
        first = next_part(parts, latest)
        if part not in parts or (part not in latest and part != first):
            what = first or "nothing"
            sentence = f"{part or 'That'} is not next. First comes {what}: keep the order. Nothing was saved."
            return Unreadable(code="order.recipe", sentence=sentence)
        if part == BATCH:
            return _labelled(own, values)
        limits = _limits(own, part, latest)
        number = read_number(values.get("value", ""), limits.unit)
        if isinstance(number, Unreadable):
            return number
        good = limits.holds(number)
        again = "" if good else " Do not add anything to mend it. Report it."
        return Judged(
            verdict="good" if good else "out",
            saying=f"{part}: {against(number, limits)}.{again}",
            computed={"value": plain(number), "limits": limits.words()},
        )

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for what is next, and show the recipe for this size."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        here = here_of(part, self.parts(step, at), latest)
        first = next_part(self.parts(step, at), latest)
        out_of_turn = here and here not in latest and here != first
        answer, mark = answer_of(latest, here, "The batch is made")
        named = latest.get(BATCH)
        return Card(
            kind_line=self.title if named is None else f"Batch {named.computed['number']}",
            act="Record the batch"
            if here == BATCH
            else f"Record {here}"
            if here
            else "The batch is made",
            part=here,
            on=here if here != BATCH else "",
            fields=_fields(own, here, latest),
            answer=answer,
            answer_mark=mark,
            off=f"{here} is not next. First comes {first}" if out_of_turn else "",
            own={
                "here": here,
                "size": str(_size(own, latest)),
                "tolerance": f"{plain(own.tolerance)} %",
                "rows": tuple(_row(own, what, latest, here) for what in own.recipe),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:
        """Return the label, or the amount."""
        own = cast("Own", step.own)
        if entry.part == BATCH:
            return f"{entry.computed['number']}, {said(entry.computed['size'], own.makes.unit)}"
        unit = own.recipe[entry.part].unit if entry.part in own.recipe else ""
        limits = entry.computed.get("limits", "")
        return f"{said(entry.computed['value'], unit)} (limits {limits})"


def _size(own: Own, latest: Mapping[str, Entry]) -> Quantity:
    named = latest.get(BATCH)
    if named is None:
        return own.makes
    return Quantity(Decimal(named.computed["size"]), own.makes.unit)


def _wanted(own: Own, what: str, latest: Mapping[str, Entry]) -> Decimal:
    share = _size(own, latest).value / own.makes.value
    exact = own.recipe[what].value * share
    if share == 1:
        return exact
    step = Decimal(1).scaleb(exact.adjusted() - FINEST + 1)
    return exact.quantize(step, rounding=ROUND_HALF_EVEN)


def _limits(own: Own, what: str, latest: Mapping[str, Entry]) -> Limits:
    wanted = _wanted(own, what, latest)
    off = wanted * own.tolerance / 100
    low, high = (_plainly(each) for each in (wanted - off, wanted + off))
    return Limits(low, high, own.recipe[what].unit)


def _plainly(value: Decimal) -> Decimal:
    cut = value.normalize()
    return cut.quantize(Decimal(1)) if cut == cut.to_integral_value() else cut


def _labelled(own: Own, values: Mapping[str, str]) -> Judged | Unreadable:
    number = read_words(values.get("number", ""), "the label of the batch", LONGEST)
    if isinstance(number, Unreadable):
        return number
    size: Decimal | Unreadable = own.makes.value
    if own.scaled:
        size = read_number(values.get("size", ""), own.makes.unit)
    if isinstance(size, Unreadable):
        return size
    if size <= 0 or not own.sizes.holds(size):
        sentence = f"A batch of {said(plain(size), own.makes.unit)} is not made here: {own.sizes.words()}. Nothing was saved."
        return Unreadable(code="batch.size", sentence=sentence)
    saying = f"Batch {number}, {said(plain(size), own.makes.unit)}."
    return Judged(verdict="good", saying=saying, computed={"number": number, "size": plain(size)})


def _fields(own: Own, here: str, latest: Mapping[str, Entry]) -> tuple[Field, ...]:
    if not here:
        return ()
    if here == BATCH:
        label = Field(name="number", label="Label of the batch", control="text")
        hint = own.sizes.words()
        size = Field(
            name="size", label="How much is made", control="number", unit=own.makes.unit, hint=hint
        )
        return (label, size) if own.scaled else (label,)
    limits = _limits(own, here, latest)
    hint = f"Limits: {limits.words()}"
    return (
        Field(
            name="value", label=f"{here}, measured", control="number", unit=limits.unit, hint=hint
        ),
    )


def _row(own: Own, what: str, latest: Mapping[str, Entry], here: str) -> Mapping[str, str]:
    entry = latest.get(what)
    unit = own.recipe[what].unit
    return {
        "name": what,
        "mark": mark_of(entry, here=what == here),
        "wanted": said(plain(_wanted(own, what, latest)), unit),
        "measured": said(entry.computed["value"], unit) if entry else "",
    }


KIND = Batch()
