"""What the words of a step may say.

**Numbers.** A number in a text is a limit written twice, and one day the two will differ. So each
number in a step's texts must be one that the step itself states under some key (write it as
`{at_most}`, or the same digits). Free are: names with a letter or a hyphen joined to the digits (B01,
M12, QP-4, a step's id), clock positions (12 o'clock) and numbers written as words (two bolts).
`back_out` is a small procedure of its own: there a number passes when a known unit follows it.

**One act.** `do` is one sentence: a second sentence is a second act, or belongs in `why`.

**Signal words.** DANGER, WARNING, CAUTION and NOTICE are keys, shown in their own panels; in another
text they would be read as plain words.

Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from app.calculations.quantity import is_unit
from app.procedure.limit_names import filled
from app.procedure.rules.written import PROSE, strings

if TYPE_CHECKING:
    from app.procedure.faults import Fault
    from app.procedure.model import Step
    from app.procedure.rules.written import Written

NUMBER = re.compile(r"(?<![\w.,-])-?\d+(?:[.,]\d+)?(?![\w]|-[\w])(?! o['’]clock)")
_NUMBER_ANYWHERE = re.compile(r"(?<![\w.])\d+(?:\.\d+)?")
_UNIT_AFTER = re.compile(r"\s+([A-Za-zµΩ°%][A-Za-z0-9µΩ°%/·^]*(?: m\b)?)")
_PLAIN_WORDS = frozenset({"a", "as", "at", "in"})  # also the names of units, but never meant so
_SECOND_ACT = re.compile(r"[.!?;]\s+\S|\b(?:and then|then)\b", re.IGNORECASE)
_SIGNAL_WORD = re.compile(r"\b(DANGER|WARNING|CAUTION|NOTICE)\b")
_NOT_LIMITS = frozenset({*PROSE, "back_out", "id", "kind", "picture", "topics", "views"})


def text_faults(written: Written, step: Step) -> Iterator[Fault]:
    """Yield the faults of one step's words against the rules above."""
    raw = written.raw(step)
    stated = _stated(raw)
    for key in (*PROSE, "back_out"):
        text = raw.get(key)
        if isinstance(text, str):
            yield from _numbers(written, step, key, text, stated)
            yield from _signal_words(written, step, key, text)
    if _SECOND_ACT.search(step.do):
        what = "The instruction is more than one act."
        yield written.fault(step, "do", what, "Make it two steps, or put the rest in why.")


def _numbers(
    written: Written, step: Step, key: str, text: str, stated: frozenset[Decimal]
) -> Iterator[Fault]:
    shown = filled(text, written.raw(step))[0]
    for found in NUMBER.finditer(shown):
        if Decimal(found[0].replace(",", ".")) in stated:
            continue
        if key == "back_out" and _has_unit(shown[found.end() :]):
            continue
        what = f"{found[0]} is not a limit of this step."
        yield written.fault(
            step, key, what, "Write it as a limit, name it in braces, or leave it out."
        )


def _has_unit(rest: str) -> bool:
    found = _UNIT_AFTER.match(rest)
    unit = found[1].rstrip(".") if found is not None else ""
    return unit not in _PLAIN_WORDS and is_unit(unit)


def _stated(raw: Mapping[str, object]) -> frozenset[Decimal]:
    """Return every number that the step states under some key, texts for people apart."""
    numbers: set[Decimal] = set()
    for key, value in raw.items():
        if key not in _NOT_LIMITS:
            numbers |= set(_numbers_in(value))
            numbers |= {
                Decimal(found)
                for text in strings(value)
                for found in _NUMBER_ANYWHERE.findall(text)
            }
    return frozenset(numbers)


def _numbers_in(value: object) -> Iterator[Decimal]:
    if isinstance(value, int | Decimal) and not isinstance(value, bool):
        yield Decimal(value)
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from _numbers_in(each)
    elif isinstance(value, list):
        for each in value:
            yield from _numbers_in(each)


def _signal_words(written: Written, step: Step, key: str, text: str) -> Iterator[Fault]:
    found = _SIGNAL_WORD.search(text)
    if found is not None:
        what = f"{found[0]} stands inside another text."
        yield written.fault(step, key, what, f"Write it under {found[0].lower()}.")
