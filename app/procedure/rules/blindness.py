"""A blind count stays blind: nobody who counts has read the expected number on a screen before.

The expected number of an independent count may not stand, as digits, as a word or as `{expect}`:
- in any text of the count itself;
- in a sentence of an earlier step that speaks of the thing counted;
- as the `expect` of an earlier count of the same thing that is open for all to see.

The words of the trade are compared loosely: a sentence speaks of `brackets in place` if it holds the
first word of that, in singular or plural.

Source: independent verification, DOE-STD-1036-93; the rest is common practice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from app.procedure.limit_names import filled
from app.procedure.rules.written import strings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.procedure.faults import Fault
    from app.procedure.model import Step
    from app.procedure.rules.written import Written

WORDS = (
    "zero|none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen", "twenty", "twenty-one", "twenty-two", "twenty-three", "twenty-four",
)  # fmt: skip
_NOT_SHOWN = frozenset(
    {"id", "kind", "expect", "parts", "sets", "needs", "confirms", "fresh", "apart"}
)
_SENTENCE = re.compile(r"(?<=[.!?;:])\s+")


def blindness_faults(written: Written, step: Step) -> Iterator[Fault]:
    """Yield a fault for every place that tells the counters of this step what to find."""
    raw = written.raw(step)
    numbers = _expected(raw) if step.check == "independent" else frozenset()
    if not numbers:
        return
    number = _spoken(numbers)
    for key, value in raw.items():
        texts = () if key in _NOT_SHOWN else strings(value)
        if any(number.search(filled(text, raw)[0]) for text in texts):
            what = "The people who count would read here what they must find."
            yield written.fault(step, key, what, "Take the number out.")
    for earlier in written.procedure.steps:
        if earlier.number < step.number:
            yield from _told_before(written, earlier, step, numbers)


def _told_before(
    written: Written, earlier: Step, count: Step, numbers: frozenset[int]
) -> Iterator[Fault]:
    of = str(written.raw(count).get("of", ""))
    if not of:
        return
    raw = written.raw(earlier)
    mend = f"{count.id} counts it blind: take the number out."
    if raw.get("of") == of and _expected(raw) and earlier.check != "independent":
        key = "expect" if "expect" in raw else "parts"
        yield written.fault(earlier, key, f"This open count tells how many {of}.", mend)
    thing = re.compile(rf"\b{re.escape(of.split(maxsplit=1)[0].rstrip('s'))}s?\b", re.IGNORECASE)
    number = _spoken(numbers, "|no" if 0 in numbers else "")  # "no bracket is left" tells it too
    for key, value in raw.items():
        said = () if key in _NOT_SHOWN else (filled(text, raw)[0] for text in strings(value))
        sentences = (each for text in said for each in _SENTENCE.split(text))
        if any(thing.search(each) and number.search(each) for each in sentences):
            yield written.fault(earlier, key, f"This tells how many {of} there must be.", mend)


def _expected(raw: Mapping[str, object]) -> frozenset[int]:
    """Return every number that a count must find: the whole, and that of each part."""
    expect, parts = raw.get("expect"), raw.get("parts")
    several = list(parts.values()) if isinstance(parts, Mapping) else []
    found = [each for each in (expect, *several) if isinstance(each, int)]
    return frozenset(found if expect is not None else [*found, *([sum(found)] if found else [])])


def _spoken(numbers: frozenset[int], more: str = "") -> re.Pattern[str]:
    """Return a pattern that finds any of the numbers, in digits or as a word."""
    words = [WORDS[number] for number in numbers if 0 <= number < len(WORDS)]
    said = "|".join([*map(str, sorted(numbers, reverse=True)), *words]) + more
    return re.compile(rf"(?<![\w.,-])(?:{said})(?![\w]|[.,-]\w| o['’]clock)", re.IGNORECASE)
