"""Items: every named place has an entry of its own. There is no way to enter several at once.

Keys: `layout` (the places), `results` (what can be said of a place; the first is good), `good` (the
good one, if not the first), `unit` with `at_least`, `at_most` (each place also has a number to read).

With one result, or none, the entry is a tick that says the good result.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import Limits, plain
from app.procedure.drawing import RingMap, Scale
from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.model import Layout
from app.procedure.typed import read_number
from app.procedure.usual import Gives, Known, UsualKind, latest_of
from app.procedure.wording import against, listed, said, side

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.drawing import Drawing, Mark
    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

USUAL_RESULT = "done"
ROW = "values"  # all the numbers, in the order of the layout
NOWHERE = Layout(shape="list", names=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a list of items."""

    layout: Layout
    results: tuple[str, ...]
    good: str
    limits: Limits

    @property
    def measured(self) -> bool:
        """Say whether each item also has a number to read."""
        return bool(self.limits.unit)


class Items(UsualKind):
    """One entry for each place, none skipped, none for two."""

    name: ClassVar[str] = "items"
    title: ClassVar[str] = "Items"
    keepable: ClassVar[bool] = True

    def read(self, table: Table) -> Own:
        """Read the keys of a list of items."""
        results = table.texts("results")
        good = table.text("good", results[0] if results else USUAL_RESULT)
        if results and good not in results:
            table.fault("good", f'"{good}" is not one of the results.', "Name one of the results.")
        if len(set(results)) != len(results) or "" in results:
            table.fault("results", "Two results are alike, or one is empty.", "Name each once.")
        return Own(
            layout=table.layout("layout", required=True) or NOWHERE,
            results=results or (good,),
            good=good,
            limits=table.limits(),
        )

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the places, in the order of the layout."""
        return cast("Own", step.own).layout.names

    def judge(
        self,
        step: Step,
        part: str,
        values: Mapping[str, str],
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Judge one place by the result said, and by the number read there."""
        own = cast("Own", step.own)
        result = values.get("result", "") if len(own.results) > 1 else own.good
        wrong = _unreadable(own, part, result)
        number = read_number(values.get("value", ""), own.limits.unit) if own.measured else None
        if wrong is not None or isinstance(number, Unreadable):
            return wrong or cast("Unreadable", number)
        out = result != own.good or (number is not None and not own.limits.holds(number))
        computed = {"result": result} if len(own.results) > 1 or number is None else {}
        if number is not None:
            computed["value"] = plain(number)
        saying = _saying(own, part, result, number)
        return Judged(verdict="out" if out else "good", saying=saying, computed=computed)

    def gives(self, step: Step) -> Mapping[str, Gives]:
        """Return the number read at each place, and the row of them, if there is one to read."""
        own = cast("Own", step.own)
        if not own.measured:
            return {}
        unit = own.limits.unit
        return {ROW: Gives(unit, row=True), **dict.fromkeys(own.layout.names, Gives(unit))}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:
        """Return the number read at one place, or the whole row once all are read."""
        own, latest = cast("Own", step.own), latest_of(entries)
        names = own.layout.names if key == ROW else (key,)
        found = [latest[name].computed.get("value") for name in names if name in latest]
        values = tuple(Decimal(value) for value in found if value is not None)
        return Known(values, own.limits.unit) if values and len(values) == len(names) else None

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show every place, and ask for one."""
        own = cast("Own", step.own)
        latest = latest_of(at.of(step.id))
        here = part if part in own.layout.names else _next(own, latest)
        done = sum(_counts(entry) for entry in latest.values())
        return Card(
            kind_line=f"One entry for each. {done} done",
            act=_act(own, here),
            part=here,
            fields=_fields(own, here),
            answer=_answer(own, latest, here),
            answer_mark=_answer_mark(latest, here),
            drawings=_drawings(own, latest, here),
            own={
                "here": here,
                "ringed": own.layout.shape != "list",
                "rows": tuple(_row(name, latest.get(name), here) for name in own.layout.names),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:
        """Return the result and the number."""
        number = said(entry.computed.get("value", ""), cast("Own", step.own).limits.unit)
        shown = (entry.computed.get("result", ""), number if "value" in entry.computed else "")
        return ", ".join(filter(None, shown))

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return the good result, and the limits of the number."""
        own = cast("Own", step.own)
        good = f"must be {own.good}" if len(own.results) > 1 else ""
        return ", ".join(filter(None, (good, own.limits.words())))


def _unreadable(own: Own, part: str, result: str) -> Unreadable | None:
    if part not in own.layout.names:
        sentence = f'"{part}" is not one of the items here. Choose one of them. Nothing was saved.'
        return Unreadable(code="items.unknown", sentence=sentence)
    if result not in own.results:
        sentence = f"{part}: say what you found, {' or '.join(own.results)}. Nothing was saved."
        return Unreadable(code="items.result", sentence=sentence)
    return None


def _saying(own: Own, part: str, result: str, number: Decimal | None) -> str:
    words = [f"{part}: {result}."] if len(own.results) > 1 or number is None else []
    if number is not None:
        subject = "" if words else f"{part}: "
        limited = f"{against(number, own.limits)}." if own.limits.words() else ""
        words.append(subject + (limited or f"{said(plain(number), own.limits.unit)}."))
    if result != own.good:
        words.append(f"It must be {own.good}. Mend it and enter it again, or report it.")
    elif number is not None and not own.limits.holds(number):
        words.append("Measure again, or report it. Nothing goes on until it is cleared.")
    return " ".join(words)


def _counts(entry: Entry) -> bool:
    return entry.verdict == "good" or bool(entry.accepted)


def _next(own: Own, latest: Mapping[str, Entry]) -> str:
    """Return the first place without an entry; then the first that is out; then none."""
    new = [name for name in own.layout.names if name not in latest]
    out = [name for name in own.layout.names if name in latest and not _counts(latest[name])]
    return next(iter(new + out), "")


def _act(own: Own, here: str) -> str:
    if not here:
        return "Every item is entered"
    return f"{here} {own.good}" if len(own.results) == 1 and not own.measured else f"Record {here}"


def _fields(own: Own, here: str) -> tuple[Field, ...]:
    fields: list[Field] = []
    if own.measured:
        hint = f"Limits: {own.limits.words()}" if own.limits.words() else ""
        label = f"{here}, value" if here else "Value"
        unit = own.limits.unit
        fields.append(Field(name="value", label=label, control="number", unit=unit, hint=hint))
    if len(own.results) > 1:
        label = f"What did you find at {here}?" if here else "What did you find?"
        fields.append(Field(name="result", label=label, control="choice", choices=own.results))
    return tuple(fields)


def _mark(entry: Entry | None) -> Mark:
    if entry is None:
        return "todo"
    return "done" if _counts(entry) else "out"


def _answer(own: Own, latest: Mapping[str, Entry], here: str) -> str:
    out = [name for name in own.layout.names if _mark(latest.get(name)) == "out"]
    if out:
        return f"{listed(out)}: not as it must be"
    return "" if here else "Every item is entered"


def _answer_mark(latest: Mapping[str, Entry], here: str) -> str:
    if any(not _counts(entry) for entry in latest.values()):
        return "out"
    return "" if here else "done"


def _row(name: str, entry: Entry | None, here: str) -> Mapping[str, str]:
    mark = "here" if name == here and entry is None else _mark(entry)
    return {"name": name, "mark": mark, "word": entry.saying if entry else "To do"}


def _drawings(own: Own, latest: Mapping[str, Entry], here: str) -> tuple[Drawing, ...]:
    layout = own.layout
    drawn: list[Drawing] = []
    if layout.shape != "list":
        marks = {name: _mark(entry) for name, entry in latest.items()}
        label = f"{here} is next." if here else "Every place is entered."
        drawn.append(
            RingMap(
                label=f"Map seen from above, datum up. {label}",
                names=layout.names,
                angles=layout.angles,
                rings=layout.rings,
                marks=marks,
                here=here,
            )
        )
    if own.measured and own.limits.words():
        drawn.append(_scale(own, latest.get(here), here))
    return tuple(drawn)


def _scale(own: Own, entry: Entry | None, here: str) -> Scale:
    value = entry.computed["value"] if entry else None
    low, high = own.limits.at_least, own.limits.at_most
    return Scale(
        label=entry.saying if entry else f"{here}: limits {own.limits.words()}",
        unit=own.limits.unit,
        at_least=None if low is None else plain(low),
        at_most=None if high is None else plain(high),
        value=value,
        verdict="" if value is None else side(Decimal(value), own.limits),
    )


KIND = Items()
