"""What a person types for a calculation's inputs: one number, a row of them, a date, a time, a word."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from app.calculations.quantity import PLAIN_NUMBER, Quantity
from app.calculations.rounding import places
from app.procedure.entry import Unreadable
from app.procedure.typed import read_number, read_whole

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.calculations.calculation import Calculation, Given, Input

_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})", re.ASCII)
_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])", re.ASCII)
_BETWEEN = re.compile(r"[;\s]+")  # a comma may be a decimal mark
_NOT_SAVED = re.compile(r" Nothing was saved\.$")
_FINEST = Decimal("1e-12")  # as far as a plain number is read; far below any measurement
LONGEST_ROW = 200


def read_input(wanted: Input, text: str) -> tuple[Decimal, ...] | Unreadable:
    """Return what was typed for one input, in its unit, or why it cannot be read.

    Args:
        wanted: The input; its range is kept to.
        text: What was typed. A row's values stand with blanks or semicolons between them.
    """
    pieces = [piece for piece in _BETWEEN.split(text.strip()) if piece] if wanted.row else [text]
    if len(pieces) > LONGEST_ROW:
        return _told(wanted, f"{len(pieces)} values are more than {LONGEST_ROW}.")
    found: list[Decimal] = []
    for piece in pieces or [""]:
        value = _read_one(wanted, piece.strip())
        if isinstance(value, Unreadable):
            return replace(value, sentence=f"{wanted.title}: {value.sentence}")
        try:
            wanted.check(value)
        except ValueError as reason:
            return Unreadable(code="calculation.range", sentence=str(reason))
        found.append(value)
    return tuple(found)


def in_own_unit(wanted: Input, text: str) -> str:
    """Return what was written with a unit of the same dimension as the number in the input's own.

    Anything else is returned as it stands, for `read_input` to speak about.
    """
    try:
        value = Quantity.parse(text).to(wanted.unit).value
    except ValueError:
        return text
    return f"{value if places(value) <= places(_FINEST) else value.quantize(_FINEST):f}"


def read_inputs(calculation: Calculation, typed: Mapping[str, str]) -> tuple[Given, dict[str, str]]:
    """Return what can be read of a calculation's inputs, and a sentence for each that cannot be."""
    given: dict[str, tuple[Decimal, ...]] = {}
    untold: dict[str, str] = {}
    for each in calculation.inputs:
        text = typed.get(each.name, "").strip()
        if not text and each.optional:
            continue
        found = read_input(each, text)
        if isinstance(found, Unreadable):
            untold[each.name] = _NOT_SAVED.sub("", found.sentence)
        else:
            given[each.name] = found
    return given, untold


def _read_one(wanted: Input, text: str) -> Decimal | Unreadable:
    match wanted.form:
        case "number":
            return _number(wanted, text)
        case "whole":
            whole = read_whole(text)
            return whole if isinstance(whole, Unreadable) else Decimal(whole)
        case "date":
            day = _DATE.fullmatch(text)
            return Decimal("".join(day.groups())) if day else _no("Type the day as 2027-05-06.")
        case "clock":
            time = _CLOCK.fullmatch(text)
            minutes = 60 * int(time[1]) + int(time[2]) if time else 0
            return Decimal(minutes) if time else _no("Type the time as 07:30.")
        case "choice":
            if text in wanted.choices:
                return Decimal(wanted.choices.index(text) + 1)
            return _no(f"Choose one of {', '.join(wanted.choices)}.")


def _number(wanted: Input, text: str) -> Decimal | Unreadable:
    if PLAIN_NUMBER.fullmatch(text):  # a value kept with more digits than people type
        return Decimal(text)
    return read_number(text, wanted.unit)


def _no(sentence: str) -> Unreadable:
    return Unreadable(code="calculation.unreadable", sentence=sentence)


def _told(wanted: Input, sentence: str) -> Unreadable:
    return _no(f"{wanted.title}: {sentence}")
