"""Where a calculation's inputs come from: another step's entries, the text, or the person who asks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from typing import TYPE_CHECKING, TypeGuard

from app.calculations.calculation import Answer, Calculation, Form, Given, Input, Output, Values
from app.calculations.catalogue import CALCULATIONS
from app.calculations.quantity import PLAIN_NUMBER, Limits, Quantity, same_dimension
from app.procedure.entry import Unreadable
from app.procedure.faults import Fault
from app.procedure.kind import Control, Field
from app.procedure.ranges import read_amount
from app.procedure.registry import kind_of
from app.procedure.typed_inputs import in_own_unit, read_input
from app.procedure.usual import Gives, UsualKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.procedure.entry import Circumstances
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

TYPED = "typed"
_CONTROLS: Mapping[Form, Control] = {
    "number": "number",
    "whole": "whole",
    "date": "text",
    "clock": "text",
    "choice": "choice",
}
MISSING = "calculation.missing"
_FROM_STEP = re.compile(r"([a-z0-9][a-z0-9-]*)\.(\S+)", re.ASCII)


def _no_result(_given: Values) -> Answer:
    raise ValueError("The procedure names no calculation.")


NOTHING = Calculation(
    name="",
    title="Result",
    inputs=(),
    outputs=(Output(name="result", title="Result"),),
    work=_no_result,
)


@dataclass(frozen=True, slots=True)
class FromStep:
    """An input that another step's entries give: `load-full.cells`."""

    step: str
    key: str


@dataclass(frozen=True, slots=True)
class Typed:
    """An input that the person types when the sum is worked out."""


@dataclass(frozen=True, slots=True)
class Fixed:
    """An input that stands in the procedure: one value or a row, in the input's own unit."""

    values: tuple[Decimal, ...]


Origin = FromStep | Fixed | Typed


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a calculation."""

    calculation: Calculation
    inputs: Mapping[str, Origin]
    limits: Limits

    @property
    def title(self) -> str:
        """Return what is worked out, for people."""
        return self.calculation.title


def read_own(table: Table) -> Own:
    """Read the keys of a calculation."""
    calculation = _calculation(table)
    unit = table.text("unit", calculation.unit)
    if unit != calculation.unit:
        what = f"{calculation.title} comes out in {calculation.unit or 'a plain number'}."
        table.fault("unit", what, "Leave unit out, or write that.")
    low, high = (read_amount(table, key, calculation.unit) for key in ("at_least", "at_most"))
    if low is not None and high is not None and low > high:
        what = f"No value can be at least {low} and at most {high}."
        table.fault("at_least", what, "Put the lower limit in at_least.")
    limits = Limits(low, high, calculation.unit)
    return Own(calculation=calculation, inputs=_inputs(table, calculation), limits=limits)


def faults_of(step: Step, procedure: Procedure) -> Iterator[Fault]:
    """Yield a fault for each input that no earlier step gives, or not in the right dimension."""
    own = step.own
    if not isinstance(own, Own):
        return
    for name, source in own.inputs.items():
        wanted = own.calculation.input(name)
        if isinstance(source, FromStep) and wanted is not None:
            what = _no_source(source, wanted, step, procedure)
            if what:
                mend = "Name a value that an earlier step gives."
                yield Fault(procedure.file, step.line, f"inputs.{name}", what, mend)


def gather(own: Own, values: Mapping[str, str], at: Circumstances) -> Given | Unreadable:
    """Return every input's values in the input's unit, or what is still missing."""
    given: dict[str, tuple[Decimal, ...]] = {}
    for name, source in own.inputs.items():
        wanted = own.calculation.input(name)
        if wanted is None or _left_out(source, wanted, values):
            continue
        found = _values(own, source, wanted, values, at)
        if isinstance(found, Unreadable):
            return found
        given[name] = found
    return given


def is_missing(given: Given | Unreadable) -> TypeGuard[Unreadable]:
    """Say whether an earlier step is wanting: no typing now can mend that."""
    return isinstance(given, Unreadable) and given.code == MISSING


def fields_of(own: Own) -> tuple[Field, ...]:
    """Return what is typed when the sum is worked out."""
    return tuple(
        Field(
            name=each.name,
            label=each.title,
            control=_CONTROLS[each.form],
            unit=each.unit,
            choices=each.choices,
            hint=each.hint,
            required=not each.optional,
        )
        for each in own.calculation.inputs
        if isinstance(own.inputs.get(each.name), Typed)
    )


def _left_out(source: Origin, wanted: Input, values: Mapping[str, str]) -> bool:
    return isinstance(source, Typed) and wanted.optional and not values.get(wanted.name, "").strip()


def _values(
    own: Own, source: Origin, wanted: Input, values: Mapping[str, str], at: Circumstances
) -> tuple[Decimal, ...] | Unreadable:
    match source:
        case Fixed(values=fixed):
            return fixed
        case FromStep():
            found = _found(source, wanted, at)
            return _missing(own, source, at) if found is None else found
        case Typed():
            return read_input(wanted, values.get(wanted.name, ""))


def _calculation(table: Table) -> Calculation:
    name = table.text("calculation", required=True)
    if name in CALCULATIONS or not name:
        return CALCULATIONS.get(name, NOTHING)
    near = get_close_matches(name, CALCULATIONS, n=1)
    mend = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(CALCULATIONS)}."
    table.fault("calculation", f"There is no calculation {name}.", mend)
    return NOTHING


def _inputs(table: Table, calculation: Calculation) -> dict[str, Origin]:
    inner = table.table("inputs", required=True, noun="table of inputs")
    if inner is None or calculation is NOTHING:
        return {}
    found: dict[str, Origin] = {}
    for each in calculation.inputs:
        source = _source(inner, each) if inner.has(each.name) or not each.optional else None
        if source is not None:
            found[each.name] = source
    inner.finish()
    return found


def _source(inner: Table, wanted: Input) -> Origin | None:
    written = inner.raw(wanted.name)
    if isinstance(written, str) and written in wanted.choices:
        return _word(inner, wanted, written)  # a class of bolts, 8.8, looks like a number
    if isinstance(written, str) and not PLAIN_NUMBER.fullmatch(written):
        step = _FROM_STEP.fullmatch(written)
        if step is not None:
            return FromStep(*step.groups())
        if written == TYPED and not wanted.row:
            return Typed()
        if not wanted.row and wanted.form not in ("number", "whole"):
            return _word(inner, wanted, written)
    if wanted.row and isinstance(written, list):
        return _row(inner, wanted, written)
    if wanted.row and written is not None:
        what = f"{wanted.title} are a row of values."
        inner.fault(wanted.name, what, 'Name a step that gives it, as "load-full.cells".')
        return None
    value = read_amount(inner, wanted.name, wanted.unit, required=True)
    return None if value is None else _fixed(inner, wanted, (value,))


def _word(inner: Table, wanted: Input, written: str) -> Fixed | None:
    """Return a date, a time of day or a choice that stands in the procedure."""
    found = read_input(wanted, written)
    if isinstance(found, Unreadable):
        inner.fault(wanted.name, found.sentence, f'Or let it be typed: "{TYPED}".')
        return None
    return Fixed(found)


def _row(inner: Table, wanted: Input, written: list[object]) -> Fixed | None:
    """Return a row that stands in the procedure: bare numbers, or each with its unit."""
    texts = [in_own_unit(wanted, str(each)) for each in written]
    if not texts or not all(PLAIN_NUMBER.fullmatch(text) for text in texts):
        shown = f" in {wanted.unit}" if wanted.unit else ""
        what = f"{wanted.title} are not a row of numbers{shown}."
        inner.fault(wanted.name, what, f"Write it as {wanted.name} = [1.0, 2.0].")
        return None
    return _fixed(inner, wanted, tuple(Decimal(text) for text in texts))


def _fixed(inner: Table, wanted: Input, values: tuple[Decimal, ...]) -> Fixed:
    for value in values:
        try:
            wanted.check(value)
        except ValueError as reason:
            inner.fault(wanted.name, str(reason), "Write a value in that range.")
    return Fixed(values)


def _no_source(source: FromStep, wanted: Input, step: Step, procedure: Procedure) -> str:
    other = procedure.step(source.step)
    if other is None:
        return f"There is no step {source.step}."
    if other.number >= step.number:
        return f"{source.step} comes later."
    kind = kind_of(other)
    gives = kind.gives(other).get(source.key) if isinstance(kind, UsualKind) else None
    if gives is None:
        return f"{source.step} gives no {source.key}."
    return _misfit(source, gives, wanted)


def _misfit(source: FromStep, gives: Gives, wanted: Input) -> str:
    if gives.row != wanted.row:
        return f"{source.step}.{source.key} is {'a row' if gives.row else 'one value'}."
    if gives.unit != wanted.unit and not same_dimension(gives.unit, wanted.unit):
        return f"{source.step}.{source.key} is in {gives.unit or 'plain numbers'}."
    return ""


def _found(source: FromStep, wanted: Input, at: Circumstances) -> tuple[Decimal, ...] | None:
    step = at.procedure.step(source.step)
    if step is None or (step.check == "independent" and step.id not in at.done_at):
        return None  # what others counted blind may not come out by way of a sum
    kind = kind_of(step)
    known = kind.known(step, at.of(step.id), source.key) if isinstance(kind, UsualKind) else None
    if known is None or (len(known.values) != 1 and not wanted.row):
        return None
    if known.unit == wanted.unit:
        return known.values
    return tuple(Quantity(value, known.unit).to(wanted.unit).value for value in known.values)


def _missing(own: Own, source: FromStep, at: Circumstances) -> Unreadable:
    step = at.procedure.step(source.step)
    number = f"step {step.number}" if step else "an earlier step"
    sentence = f"{own.title} needs {number}, which is not complete. Complete it first."
    return Unreadable(code=MISSING, sentence=sentence)
