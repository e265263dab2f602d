"""The crew's sums on the command line: which there are, what one needs, and one worked out."""

from __future__ import annotations

import json
import sys
from decimal import Decimal
from typing import TYPE_CHECKING

from app.calculations.catalogue import CALCULATIONS
from app.calculations.quantity import Limits, plain
from app.cli.told import CANNOT, NO, YES, Trouble
from app.procedure.entry import Unreadable
from app.procedure.nearest import did_you_mean
from app.procedure.typed import read_number
from app.procedure.typed_inputs import in_own_unit, read_inputs
from app.procedure.wording import against, said

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable, Sequence

    from app.calculations.calculation import Calculation, Input, Result


def add_parser(errands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the errand `sum` to those that can be asked for."""
    parser = errands.add_parser("sum", help="work out one of the crew's sums, or list them")
    parser.add_argument("name", nargs="?", default="", metavar="NAME")
    parser.add_argument(
        "given",
        nargs="*",
        metavar="KEY=VALUE",
        help='as radius=2040 or radius="2.04 m"; a row as forces="6.81 6.72"',
    )
    parser.add_argument("--at-least", default="", metavar="VALUE", help="lower limit of the result")
    parser.add_argument("--at-most", default="", metavar="VALUE", help="upper limit of the result")
    parser.add_argument("--json", action="store_true", help="the same as data")
    parser.set_defaults(errand=work_out)


def work_out(asked: argparse.Namespace) -> int:
    """Work a sum out: 0 if it has no verdict or a good one, 1 if it has another, 2 if it cannot be."""
    if not asked.name:
        return _list()
    calculation = CALCULATIONS.get(asked.name)
    if calculation is None:
        near = did_you_mean(asked.name, CALCULATIONS, "`mirrorwright sum` lists them.")
        raise Trouble(f"There is no sum {asked.name}. {near}")
    if not asked.given:
        return _needs(calculation)
    typed = _typed(calculation, asked.given)
    given, untold = read_inputs(calculation, typed)
    if untold:
        print("\n".join(untold.values()), file=sys.stderr)
        return CANNOT
    unit = calculation.unit
    limits = Limits(_limit(asked.at_least, unit), _limit(asked.at_most, unit), unit)
    try:
        result = calculation.compute(given, limits.at_least, limits.at_most)
    except ValueError as reason:
        raise Trouble(f"No result. {reason}") from None
    good = result.passes is not False and limits.holds(result.value)
    show = _as_json if asked.json else _as_text
    print("\n".join(show(calculation, result, limits, good=good)))
    return YES if good else NO


def _list() -> int:
    widest = max(map(len, CALCULATIONS))
    subject = ""
    for each in CALCULATIONS.values():
        if each.subject != subject:
            subject = each.subject
            print(f"\n{subject}")
        print(f"  {each.name:<{widest}}  {each.title}")
    print("\n`mirrorwright sum NAME` says what a sum needs.")
    return YES


def _needs(calculation: Calculation) -> int:
    print(f"{calculation.title}. {calculation.formula}")
    widest = max(len(each.name) for each in calculation.inputs)
    for each in calculation.inputs:
        print(f"  {each.name:<{widest}}  {_told_of(each)}")
    print(f"Source: {calculation.source}")
    return YES


def _told_of(wanted: Input) -> str:
    parts = [f"{wanted.title}, {wanted.unit}" if wanted.unit else wanted.title]
    if wanted.row:
        parts.append("a row of values")
    if wanted.range():
        parts.append(wanted.range())
    if wanted.choices:
        parts.append(f"one of {', '.join(wanted.choices)}")
    if wanted.optional:
        parts.append("may be left out")
    return f"{'; '.join(parts)}. {wanted.hint}".strip()


def _typed(calculation: Calculation, given: Sequence[str]) -> dict[str, str]:
    typed: dict[str, str] = {}
    known = [each.name for each in calculation.inputs]
    for each in given:
        key, equals, value = each.partition("=")
        wanted = calculation.input(key)
        if not equals:
            raise Trouble(f"{key} has no value. Write {key}=VALUE.")
        if wanted is None:
            near = did_you_mean(key, known, f"It takes {', '.join(known)}.")
            raise Trouble(f"{key} is no input of {calculation.name}. {near}")
        if key in typed:
            raise Trouble(f"{key} is given twice.")
        typed[key] = in_own_unit(wanted, value) if wanted.form == "number" else value
    return typed


def _limit(text: str, unit: str) -> Decimal | None:
    if not text:
        return None
    number = read_number(text, unit)
    if isinstance(number, Unreadable):
        raise Trouble(f"The limit: {number.sentence.removesuffix(' Nothing was saved.')}")
    return number


def _as_text(
    calculation: Calculation, result: Result, limits: Limits, *, good: bool
) -> Iterable[str]:
    yield f"{calculation.title}: {said(plain(result.value), result.unit)}"
    for each in result.more:
        yield f"  {each.title}: {said(plain(each.value), each.unit)}"
    if result.sentence:
        yield result.sentence
    if limits.words():
        yield f"{against(result.value, limits)}."
    yield from (f"  {line}" for line in result.working)
    yield f"Formula: {calculation.formula}"
    yield f"Source: {calculation.source}"
    if calculation.care:
        yield f"Mind: {calculation.care}"
    if not good and not result.sentence:
        yield "It does not pass."


def _as_json(
    calculation: Calculation, result: Result, limits: Limits, *, good: bool
) -> Iterable[str]:
    first = calculation.outputs[0]
    found = [(first.name, first.title, result.value, result.unit)]
    found += [(each.name, each.title, each.value, each.unit) for each in result.more]
    yield json.dumps(
        {
            "sum": calculation.name,
            "results": [
                {"name": n, "title": t, "value": plain(v), "unit": u} for n, t, v, u in found
            ],
            "limits": limits.words(),
            "passes": good if limits.words() or result.passes is not None else None,
            "sentence": result.sentence,
            "working": list(result.working),
        },
        indent=2,
        ensure_ascii=False,
    )
