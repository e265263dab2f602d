"""What changed between two revisions of a procedure, and whether the crew must read it anew.

A change is major if it touches what is done or signed, a limit, the order, an interlock, a seat, a
fact or a safety text; it voids acknowledgements. Titles, reasons and pictures are minor. A key that
is not known to be minor is major, so a new key fails to the safe side. What is to be done (`do`) is
major because it is the sentence that a seat signs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import timedelta
from typing import Literal

from app.calculations.quantity import Limits
from app.procedure.faults import Fault
from app.procedure.model import FactTest, Procedure, Step

Weight = Literal["none", "minor", "major"]

_MINOR = frozenset({"title", "purpose", "planned", "why", "picture", "picture_text"})
_PLACE = frozenset({"number", "line", "section"})  # seen as the order of the steps
_NOT_TEXT = frozenset({"revision", "sections", "file", "sha256"})


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is not as it was; `step` is empty where it is of the whole procedure."""

    step: str
    key: str
    before: str
    after: str
    major: bool

    def __str__(self) -> str:
        where = f"{self.step}, " if self.step else ""
        weight = "major" if self.major else "minor"
        return (
            f"{weight}: {where}{self.key}: {self.before or 'nothing'} -> {self.after or 'nothing'}"
        )


@dataclass(frozen=True, slots=True)
class Changes:
    """Everything that changed, and what is wrong with the revision's number."""

    old: Procedure
    new: Procedure
    changes: tuple[Change, ...]

    @property
    def weight(self) -> Weight:
        """Return the weight of the heaviest change."""
        if not self.changes:
            return "none"
        return "major" if any(change.major for change in self.changes) else "minor"

    def faults(self) -> Iterator[Fault]:
        """Yield a fault if the text changed and the revision did not grow by one."""
        same, due = self.new.sha256 == self.old.sha256, self.old.revision + 1
        if not same and self.new.revision != due:
            what = f"The text is not that of revision {self.old.revision}, and says it is revision {self.new.revision}."
            yield Fault(self.new.file, 0, "revision", what, f"Write revision = {due}.")


def compare(old: Procedure, new: Procedure) -> Changes:
    """Return what changed from one revision to another."""
    changes = [*_keys("", old, new, _NOT_TEXT), *_order(old, new)]
    for step in new.steps:
        before = old.step(step.id)
        if before is not None:
            changes += _keys(step.id, before, step, _PLACE)
    return Changes(old, new, tuple(changes))


def _keys(
    step: str, old: Procedure | Step, new: Procedure | Step, apart: frozenset[str]
) -> Iterator[Change]:
    for each in fields(new):
        before, after = getattr(old, each.name), getattr(new, each.name)
        if each.name in apart or before == after:
            continue
        if each.name == "own" and is_dataclass(after) and type(before) is type(after):
            for own in fields(after):
                was, now = getattr(before, own.name), getattr(after, own.name)
                if was != now:
                    yield Change(step, own.name, _said(was), _said(now), major=True)
        else:
            yield Change(step, each.name, _said(before), _said(after), each.name not in _MINOR)


def _order(old: Procedure, new: Procedure) -> Iterator[Change]:
    before, after = [s.id for s in old.steps], [s.id for s in new.steps]
    for name in (name for name in before if name not in after):
        yield Change(name, "step", "there", "", major=True)
    for name in (name for name in after if name not in before):
        yield Change(name, "step", "", "there", major=True)
    both = [name for name in before if name in after], [name for name in after if name in before]
    if both[0] != both[1]:
        moved = next(i for i, pair in enumerate(zip(*both, strict=True)) if pair[0] != pair[1])
        yield Change(
            both[1][moved], "order", f"{moved + 1}: {both[0][moved]}", both[1][moved], major=True
        )
    if _sections(old) != _sections(new):
        yield Change("", "sections", _shape(old), _shape(new), major=True)
    titles = [[section.title for section in each.sections] for each in (old, new)]
    if titles[0] != titles[1]:
        yield Change("", "section titles", "; ".join(titles[0]), "; ".join(titles[1]), major=False)


def _sections(procedure: Procedure) -> list[tuple[str, tuple[str, ...]]]:
    """Return the sections as far as they order the steps; a cut between strict ones orders nothing."""
    shape: list[tuple[str, tuple[str, ...]]] = []
    for section in procedure.sections:
        ids = tuple(step.id for step in section.steps)
        if shape and section.order == "strict" == shape[-1][0]:
            ids = (*shape.pop()[1], *ids)
        shape.append((section.order, ids))
    return [(order, tuple(sorted(ids)) if order == "any" else ()) for order, ids in shape]


def _shape(procedure: Procedure) -> str:
    return ", ".join(f"{section.order} {len(section.steps)}" for section in procedure.sections)


def _said(value: object) -> str:
    """Return a value in words; "" for one that is not there."""
    match value:
        case None | () | "":
            return ""
        case FactTest():
            return value.words()
        case Limits():
            return value.words()
        case timedelta():
            minutes, seconds = divmod(int(value.total_seconds()), 60)
            return f"{minutes} min" if not seconds else f"{int(value.total_seconds())} s"
        case tuple() | frozenset():
            return ", ".join(_said(each) for each in value)
        case Mapping():
            return ", ".join(f"{key} {_said(each)}" for key, each in value.items())
        case _ if is_dataclass(value) and type(value).__str__ is object.__str__:
            named = ((each.name, _said(getattr(value, each.name))) for each in fields(value))
            return ", ".join(f"{name.replace('_', ' ')} {said}" for name, said in named if said)
        case _:
            return str(value)
