"""Numbers as people type them: a dot or a comma as the decimal mark, nothing else, nothing guessed.

The pattern is our own because `Decimal()` also takes `1_0`, `1e3`, `NaN` and digits of other scripts.
Trailing zeros are kept: 24.0 says more than 24.
"""

from __future__ import annotations

import re
from decimal import Decimal

from app.procedure.entry import Unreadable

_NUMBER = re.compile(r"-?[0-9]{1,9}(?:[.,][0-9]{1,6})?", re.ASCII)
_WHOLE = re.compile(r"[0-9]{1,9}", re.ASCII)
_TWO_WAYS = re.compile(r"-?[0-9]{1,9},[0-9]{3}", re.ASCII)  # a decimal comma, or thousands
_WITH_UNIT = re.compile(r"(-?[0-9]{1,9}(?:[.,][0-9]{1,6})?) *([A-Za-z°µμΩ%·/²³\"']+)")


def read_number(text: str, unit: str = "") -> Decimal | Unreadable:
    """Return the number that was typed, or why it cannot be read.

    Args:
        text: What was typed; spaces before and after it are dropped.
        unit: The unit that the procedure fixes, for the sentence; "" for a bare number.
    """
    typed = text.strip(" ")
    if not typed:
        return Unreadable(
            code="reading.empty", sentence=_nothing(f"the value{f' in {unit}' if unit else ''}")
        )
    if _TWO_WAYS.fullmatch(typed):
        return _two_ways(typed)
    if _NUMBER.fullmatch(typed):
        return Decimal(typed.replace(",", "."))
    return _with_unit(typed, unit) or Unreadable(
        code="reading.unreadable",
        sentence=f'"{typed}" is not a number as written here. '
        "Type up to 9 digits, one decimal mark, up to 6 digits. Nothing was saved.",
    )


def read_whole(text: str, of: str = "") -> int | Unreadable:
    """Return the whole number, 0 or more, that was typed, or why it cannot be read.

    Args:
        text: What was typed; spaces before and after it are dropped.
        of: What is counted, for the sentence: `brackets`.
    """
    typed = text.strip(" ")
    if not typed:
        return Unreadable(
            code="count.empty", sentence=_nothing(f"the number{f' of {of}' if of else ''}")
        )
    if _WHOLE.fullmatch(typed):
        return int(typed)
    return Unreadable(
        code="count.unreadable",
        sentence=f'"{typed}" is not a whole number. Type digits only. Nothing was saved.',
    )


def _nothing(what: str) -> str:
    return f"Nothing was typed. Type {what}. Nothing was saved."


def _two_ways(typed: str) -> Unreadable:
    sentence = (
        f'"{typed}" can be read two ways. '
        f"Type {typed.replace(',', '.')} or {typed.replace(',', '')}."
    )
    return Unreadable(code="reading.ambiguous", sentence=sentence)


def _with_unit(typed: str, unit: str) -> Unreadable | None:
    found = _WITH_UNIT.fullmatch(typed)
    if found is None or not unit:
        return None
    number, other = found.groups()
    if other == unit:
        sentence = f"Type the number alone: {number}. {unit} stands there already."
    else:
        sentence = f'Use {unit} here. You typed "{other}". {number} {other} is not changed for you.'
    return Unreadable(code="reading.unit", sentence=sentence)


def read_words(text: str, what: str, longest: int = 200) -> str | Unreadable:
    """Return a line of words that was typed, or why it cannot be kept.

    Args:
        text: What was typed; spaces before and after it are dropped.
        what: What was asked for, for the sentence: `the number of the lock`.
        longest: How many characters it may have.
    """
    typed = " ".join(text.split())
    if not typed:
        return Unreadable(code="words.empty", sentence=_nothing(what))
    if len(typed) > longest or not typed.isprintable():
        sentence = f"Write {what} in at most {longest} characters. Nothing was saved."
        return Unreadable(code="words.long", sentence=sentence)
    return typed
