"""What a calculation is: named inputs with units and ranges, named results, the steps of the sum.

A calculation takes decimals and gives decimals. In between its `work` uses floats; results are
rounded once, here, to the step that each result states. The first result is the one that is judged.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from app.calculations.quantity import Limits, plain
from app.calculations.rounding import FINEST, clock, places, rounded

Form = Literal["number", "whole", "date", "clock", "choice"]
Given = Mapping[str, tuple[Decimal, ...]]  # by the input's name, in the input's unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One thing that a calculation needs, and the range for which the sum is good.

    Every form is kept as a decimal: a date as 20270506, a clock time as minutes after midnight,
    a choice as its place in `choices`, from 1.
    """

    name: str
    title: str
    unit: str = ""  # "" for a plain number
    form: Form = "number"
    row: bool = False  # a row of values, one for each load cell
    optional: bool = False
    above: Decimal | None = None  # this end does not belong to the range
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    choices: tuple[str, ...] = ()
    hint: str = ""

    def shown(self, value: Decimal) -> str:
        """Return a kept decimal as it was typed."""
        match self.form:
            case "date":
                return f"{self.day(value):%Y-%m-%d}"
            case "clock":
                return clock(float(value))
            case "choice":
                return self.choices[int(value) - 1]
            case "number" | "whole":
                return plain(value)

    def day(self, value: Decimal) -> date:
        """Return the day that is kept as 20270506.

        Raises:
            ValueError: there is no such day.
        """
        year, month_day = divmod(int(value), 10_000)
        try:
            return date(year, *divmod(month_day, 100))
        except ValueError:
            shown = f"{year:04d}-{month_day // 100:02d}-{month_day % 100:02d}"
            raise ValueError(f"{self.title}: there is no day {shown}.") from None

    def range(self) -> str:
        """Return the range for which the sum is good, or "" where there is no end to it."""
        low, high = self.at_least, self.at_most
        if self.above is None:
            return Limits(low, high, self.unit).words()
        above = f"above {plain(self.above)}"
        if high is None:
            return f"{above} {self.unit}".rstrip()
        return f"{above}, {Limits(None, high, self.unit).words()}"

    def check(self, value: Decimal) -> None:
        """Refuse a value for which the sum is not good.

        Raises:
            ValueError: it is outside of the range, or not of this form.
        """
        inside = Limits(self.at_least, self.at_most, self.unit).holds(value)
        if not inside or (self.above is not None and value <= self.above):
            found = f"{plain(value)} {self.unit}".rstrip()
            raise ValueError(f"{self.title}: {found}. This sum is good for {self.range()}.")
        if self.form == "choice" and not 1 <= value <= len(self.choices):
            raise ValueError(f"{self.title}: choose {', '.join(self.choices)}.")
        if self.form == "date":
            self.day(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """One named result: its unit, and the step to which it is rounded.

    `resolution` None leaves an exact decimal as it is. With `digits` the step grows with the value,
    so that so many digits count; it is never finer than the resolution nor coarser than 1.
    """

    name: str
    title: str
    unit: str = ""
    resolution: Decimal | None = None
    digits: int = 0

    def cut(
        self,
        value: Decimal | float,
        low: Decimal | None = None,
        high: Decimal | None = None,
        turns: tuple[Decimal | float, ...] = (),
    ) -> Decimal:
        """Return the value rounded, never to the other side of a limit or of where a verdict turns."""
        if self.resolution is None:
            return value if isinstance(value, Decimal) else rounded(value, FINEST)
        step = self.resolution
        if self.digits and value:
            size = math.floor(math.log10(abs(float(value))))
            step = max(step, min(Decimal(1), Decimal(1).scaleb(size - self.digits + 1)))
        for turn in turns:
            exact = rounded(turn, FINEST)
            kept = places(rounded(value, step, at_least=exact, at_most=exact))
            step = min(step, Decimal(1).scaleb(-kept))
        return rounded(value, step, at_least=low, at_most=high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One result that came out beside the one that is judged."""

    name: str
    title: str
    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What came out: the value, how it came about, and the calculation's own verdict if it has one."""

    value: Decimal
    unit: str
    working: tuple[str, ...]
    passes: bool | None = None
    sentence: str = ""  # the answer, where the calculation has a verdict of its own
    more: tuple[Found, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a sum's work hands back: a value for each output, in their order, not yet rounded."""

    values: tuple[Decimal | float, ...]
    working: tuple[str, ...]
    passes: bool | None = None
    sentence: str = ""
    turns: tuple[Decimal | float, ...] = ()  # where the first value's own verdict turns


class Values:
    """What was given, as the floats that a sum works with."""

    def __init__(self, given: Given, inputs: tuple[Input, ...]) -> None:
        self._given = given
        self._inputs = {each.name: each for each in inputs}

    def __contains__(self, name: str) -> bool:
        return name in self._given

    def __getitem__(self, name: str) -> float:
        return float(self.exact(name))

    def get(self, name: str, otherwise: float) -> float:
        """Return a value, or what stands for it where it was left out."""
        values = self._given.get(name)
        return float(values[0]) if values else otherwise

    def exact(self, name: str) -> Decimal:
        """Return a value with its digits as typed."""
        return self._given[name][0]

    def exact_row(self, name: str) -> tuple[Decimal, ...]:
        """Return a row of values with their digits as typed."""
        return self._given.get(name, ())

    def row(self, name: str) -> list[float]:
        """Return a row of values; an empty one where it was left out."""
        return [float(value) for value in self._given.get(name, ())]

    def day(self, name: str) -> date:
        """Return a date."""
        return self._inputs[name].day(self.exact(name))

    def word(self, name: str) -> str:
        """Return what was chosen."""
        return self._inputs[name].shown(self.exact(name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """A calculation by name."""

    name: str
    title: str
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    work: Callable[[Values], Answer]
    subject: str = ""
    formula: str = ""
    source: str = ""
    care: str = ""  # what the person who uses the result must know

    @property
    def unit(self) -> str:
        """Return the unit of the result that is judged."""
        return self.outputs[0].unit

    def input(self, name: str) -> Input | None:
        """Return the input of this name, or None."""
        return next((each for each in self.inputs if each.name == name), None)

    def compute(
        self, given: Given, at_least: Decimal | None = None, at_most: Decimal | None = None
    ) -> Result:
        """Work the sum out.

        It is told the limits, so that rounding never hides a breach of them.

        Raises:
            ValueError: there is no result; the message is a sentence that says why.
        """
        self._check(given)
        try:
            answer = self.work(Values(given, self.inputs))
        except (ArithmeticError, IndexError):
            raise ValueError("With these values the sum has no result.") from None
        first, *others = zip(self.outputs, answer.values, strict=True)
        if not all(math.isfinite(value) for value in answer.values):
            raise ValueError("With these values the sum has no result.")
        return Result(
            value=first[0].cut(first[1], at_least, at_most, answer.turns),
            unit=self.unit,
            working=answer.working,
            passes=answer.passes,
            sentence=answer.sentence,
            more=tuple(
                Found(name=o.name, title=o.title, value=o.cut(value), unit=o.unit)
                for o, value in others
            ),
        )

    def _check(self, given: Given) -> None:
        for each in self.inputs:
            values = given.get(each.name, ())
            if not values and not each.optional:
                raise ValueError(f"{each.title}: nothing is given.")
            for value in values:
                each.check(value)


def amount(  # noqa: PLR0913 - each is a part of what an input is, by name
    name: str,
    title: str,
    unit: str = "",
    *,
    above: str = "",
    low: str = "",
    high: str = "",
    hint: str = "",
    optional: bool = False,
) -> Input:
    """Return an input that is one number; the ends of its range are written as decimals."""
    return Input(
        name=name,
        title=title,
        unit=unit,
        above=Decimal(above) if above else None,
        at_least=Decimal(low) if low else None,
        at_most=Decimal(high) if high else None,
        hint=hint,
        optional=optional,
    )


def output(name: str, title: str, unit: str, resolution: str, digits: int = 0) -> Output:
    """Return a named result; its resolution is written as a decimal."""
    return Output(name=name, title=title, unit=unit, resolution=Decimal(resolution), digits=digits)
