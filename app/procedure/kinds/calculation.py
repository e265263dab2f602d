"""A calculation: a value worked out from what other steps recorded, within limits.

Keys: `calculation` (its name), `inputs` (a table: each input's name, and either a step's value as
`"load-full.cells"`, a fixed one as `"40.57 kN"`, a fixed row as `[0.6, 1.4]`, or `"typed"`), `at_least`, `at_most`, `unit`.

The person asks for the result, and types no more than the inputs that say so. The inputs are kept in the entry beside it, so that
the record works the sum out again from them.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.calculation import Result
from app.calculations.quantity import plain
from app.procedure.drawing import Scale
from app.procedure.entry import Judged, Unreadable
from app.procedure.inputs import FromStep, Own, faults_of, fields_of, gather, is_missing, read_own
from app.procedure.kind import Card, Line
from app.procedure.usual import Gives, Known, UsualKind, latest_of
from app.procedure.wording import against, said, side, verdict_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.calculations.calculation import Given
    from app.procedure.entry import Circumstances, Entry
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table


class Worked(UsualKind):
    """A result from earlier entries; a correction of one of them opens it again."""

    name: ClassVar[str] = "calculation"
    title: ClassVar[str] = "Calculation"

    def read(self, table: Table) -> Own:
        """Read the keys of a calculation."""
        return read_own(table)

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Ask for inputs that earlier steps give, in the right dimension."""
        return faults_of(step, procedure)

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],
        at: Circumstances,
    ) -> Judged | Unreadable:
        """Work the result out from what stands now, and judge it."""
        own = cast("Own", step.own)
        given = gather(own, values, at)
        if isinstance(given, Unreadable):
            return given
        result = _work(own, given)
        if isinstance(result, Unreadable):
            return result
        good = result.passes is not False and own.limits.holds(result.value)
        computed = {"result": plain(result.value), **_kept(given)}
        saying = _saying(own, result)
        return Judged(verdict="good" if good else "out", saying=saying, computed=computed)

    def rests_on(self, step: Step) -> tuple[str, ...]:
        """Return the steps whose values it uses."""
        refs = (each for each in cast("Own", step.own).inputs.values())
        return tuple(dict.fromkeys(ref.step for ref in refs if isinstance(ref, FromStep)))

    def gives(self, step: Step) -> Mapping[str, Gives]:
        """Return the result."""
        return {"result": Gives(cast("Own", step.own).limits.unit)}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:
        """Return the result."""
        entry = latest_of(entries).get("")
        if entry is None or key != "result":
            return None
        return Known((Decimal(entry.computed["result"]),), cast("Own", step.own).limits.unit)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show what goes in, what comes out, and the limits."""
        own, entry = cast("Own", step.own), latest_of(at.of(step.id)).get("")
        given = _from_entry(own, entry) if entry else gather(own, {}, at)
        missing = given.sentence if is_missing(given) else ""
        result = _work(own, given) if entry and not isinstance(given, Unreadable) else None
        worked = result if isinstance(result, Result) else None
        return Card(
            kind_line=self.title,
            act=f"Work out: {own.title.lower()}",
            part=part,
            answer=entry.saying if entry else "",
            answer_mark={"good": "done", "out": "out"}[entry.verdict] if entry else "",
            fields=fields_of(own),
            off=missing,
            drawings=(_scale(own, worked),) if own.limits.words() else (),
            own={
                "inputs": _inputs(own, given) if not isinstance(given, Unreadable) else (),
                "working": worked.working if worked else (),
                "result": said(plain(worked.value), worked.unit) if worked else "",
                "limits": own.limits.words(),
            },
        )

    def lines(self, step: Step, entries: Sequence[Entry]) -> tuple[Line, ...]:
        """Describe the inputs, and the result as worked out again from them."""
        own = cast("Own", step.own)
        return tuple(line for entry in entries for line in _lines(own, entry))


def _work(own: Own, given: Given) -> Result | Unreadable:
    try:
        return own.calculation.compute(given, own.limits.at_least, own.limits.at_most)
    except ValueError as reason:
        return Unreadable(code="calculation.no_result", sentence=f"No result. {reason}")


def _saying(own: Own, result: Result) -> str:
    limited = f"{own.title}: {against(result.value, own.limits)}." if own.limits.words() else ""
    if not limited and not result.sentence:
        limited = f"{own.title}: {said(plain(result.value), result.unit)}."
    return " ".join(filter(None, (result.sentence, limited)))


def _kept(given: Given) -> dict[str, str]:
    """Return the inputs as decimal strings; those of a row are numbered from 1."""
    return {
        f"{name}.{n}": plain(value)
        for name, values in given.items()
        for n, value in enumerate(values, start=1)
    }


def _from_entry(own: Own, entry: Entry) -> Given:
    found: dict[str, list[Decimal]] = {}
    for key, value in entry.computed.items():
        name, dot, _ = key.partition(".")
        if dot and own.calculation.input(name):
            found.setdefault(name, []).append(Decimal(value))
    return {name: tuple(values) for name, values in found.items()}


def _inputs(own: Own, given: Given) -> tuple[tuple[str, str], ...]:
    return tuple(
        (each.title, said(", ".join(each.shown(value) for value in given[each.name]), each.unit))
        for each in own.calculation.inputs
        if each.name in given
    )


def _lines(own: Own, entry: Entry) -> Iterable[Line]:
    given = _from_entry(own, entry)
    for title, value in _inputs(own, given):
        yield Line(what=title, value=value, verdict="Input")
    again = _work(own, given)
    value = entry.computed["result"]
    same = isinstance(again, Result) and again.value == Decimal(value)
    verdict = verdict_words(entry) if same else f"{verdict_words(entry)}. Worked out again: differs"
    shown = said(value, own.limits.unit)
    yield Line(what=own.title, value=shown, limits=own.limits.words(), verdict=verdict)


def _scale(own: Own, result: Result | None) -> Scale:
    low, high = own.limits.at_least, own.limits.at_most
    return Scale(
        label=_saying(own, result) if result else f"{own.title}: limits {own.limits.words()}",
        unit=own.limits.unit,
        at_least=None if low is None else plain(low),
        at_most=None if high is None else plain(high),
        value=plain(result.value) if result else None,
        verdict=side(result.value, own.limits) if result else "",
    )


KIND = Worked()
