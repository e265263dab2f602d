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
_NOT_SHOWN = frozenset({"id", "kind", "expect", "sets", "needs", "confirms", "fresh", "apart"})
_SENTENCE = re.compile(r"(?<=[.!?;:])\s+")


def blindness_faults(written: Written, step: Step) -> Iterator[Fault]:
    """Yield a fault for every place that tells the counters of this step what to find."""
    raw = written.raw(step)
    expect = raw.get("expect")
    if step.check != "independent" or not isinstance(expect, int) or isinstance(expect, bool):
        return
    number = _number(expect)
    told = _number(expect, "|no" if expect == 0 else "")  # "no bracket is left" tells it too
    for key, value in raw.items():
        texts = () if key in _NOT_SHOWN else strings(value)
        if any("{expect}" in text or number.search(text) for text in texts):
            what = "The people who count would read here what they must find."
            yield written.fault(step, key, what, "Take the number out.")
    for earlier in written.procedure.steps:
        if earlier.number < step.number:
            yield from _told_before(written, earlier, step, told)


def _told_before(
    written: Written, earlier: Step, count: Step, number: re.Pattern[str]
) -> Iterator[Fault]:
    of = str(written.raw(count).get("of", ""))
    raw = written.raw(earlier)
    thing = (
        re.compile(rf"\b{re.escape(of.split(maxsplit=1)[0].rstrip('s'))}s?\b", re.IGNORECASE)
        if of
        else None
    )
    mend = f"{count.id} counts it blind: take the number out."
    if of and raw.get("of") == of and "expect" in raw and earlier.check != "independent":
        yield written.fault(earlier, "expect", f"This open count tells how many {of}.", mend)
    for key, value in raw.items():
        if thing is None or key in _NOT_SHOWN:
            continue
        for text in strings(value):
            said = filled(text, raw)[0]
            if any(thing.search(each) and number.search(each) for each in _SENTENCE.split(said)):
                yield written.fault(earlier, key, f"This tells how many {of} there must be.", mend)
                break


def _number(expect: int, more: str = "") -> re.Pattern[str]:
    words = f"|{WORDS[expect]}{more}" if 0 <= expect < len(WORDS) else ""
    return re.compile(
        rf"(?<![\w.,-])(?:{expect}{words})(?![\w]|[.,-]\w| o['’]clock)", re.IGNORECASE
    )
