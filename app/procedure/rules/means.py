"""Tools, times and chemicals: what a step must say of the means that it uses.

- Tightening to a torque names the tool; so does an act that moves a load and changes a fact.
- A dwell under an aggressive chemical has an upper limit: too long etches the glass.
- A deadline says what to do when it is missed.
- A picture is there, and has words for those who do not see it.

Common practice, no source.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from app.procedure.rules.written import PROSE, strings

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from app.procedure.faults import Fault
    from app.procedure.model import Step
    from app.procedure.rules.written import Written

WITH_TOOL = frozenset({"torque"})
TIMED = "dwell"
LIFTING = re.compile(
    r"\b(?:lift|raise|hoist|lower|take)\b.*\b(?:load|mirror|cell|hooks?)\b", re.IGNORECASE
)
AGGRESSIVE = re.compile(
    r"\b(acid\w*|hydrochloric|muriatic|nitric|strip|stripp\w+|stripper|etch\w*|hydroxide|lye|caustic|"
    r"alkali\w*|bleach|solvent\w*|acetone|copper sulphate|ferric chloride)\b",
    re.IGNORECASE,
)


def means_faults(written: Written, step: Step, pictures: Collection[str] | None) -> Iterator[Fault]:
    """Yield the faults of one step against the rules above; `pictures` None: not looked at."""
    yield from _tool(written, step)
    yield from _dwell(written, step)
    yield from _deadline(written, step)
    if not step.picture:
        return
    if not step.picture_text:
        what = f"{step.picture} has no words."
        yield written.fault(step, "picture", what, "Say in picture_text what it shows.")
    if pictures is not None and step.picture not in pictures:
        what = f"{step.picture} is not beside the procedure."
        yield written.fault(step, "picture", what, "Put the file there, or take picture out.")


def _tool(written: Written, step: Step) -> Iterator[Fault]:
    lifts = bool(step.sets) and LIFTING.search(step.do) is not None
    if not step.tool and (step.kind in WITH_TOOL or lifts):
        act = "A lift" if lifts else "Work to a torque"
        what = f"{act} names no tool."
        yield written.fault(
            step, "tool", what, "Write the kind of tool whose serial must be named."
        )


def _dwell(written: Written, step: Step) -> Iterator[Fault]:
    raw = written.raw(step)
    if step.kind != TIMED or "at_most" in raw:
        return
    shown = (
        found
        for key in PROSE
        for text in strings(raw.get(key))
        if (found := AGGRESSIVE.search(text))
    )
    chemical = next(shown, None)
    if chemical is not None:
        what = f"A dwell that speaks of {chemical[0].lower()} has no upper limit."
        yield written.fault(step, "at_most", what, 'Write at_most = "10 min".')


def _deadline(written: Written, step: Step) -> Iterator[Fault]:
    within = step.within
    if within is not None and within.at_most is not None and not within.if_missed:
        what = "This deadline does not say what to do when it is missed."
        yield written.fault(step, "within", what, "Name the step to go to in if_missed.")
