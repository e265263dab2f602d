"""Isolation: each point is locked by a person with their own lock, and tried.

Keys: `points` (what is locked).

Whoever enters owns the lock. Tried means: after locking, somebody tried to start it, and nothing moved.
Source: 29 CFR 1910.147 (d), the order of locking and the verification of isolation (from memory).
Local rules and licensed practice come first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.locked import DEAD, LONGEST_LOCK, NOT_DEAD, Points, locks_of, same_lock
from app.procedure.turns import answer_of, counts, here_of, mark_of
from app.procedure.typed import read_words
from app.procedure.usual import UsualKind, latest_of, once_faults

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table


class Isolate(UsualKind):
    """Each point has a lock, an owner, and a try-out."""

    name: ClassVar[str] = "isolate"
    title: ClassVar[str] = "Isolation"

    def read(self, table: Table) -> Points:
        """Read the keys of an isolation."""
        points = table.texts("points", required=True)
        if table.has("points") and not points:
            table.fault("points", "There are no points.", 'Write points = ["Q4 drive breaker"].')
        if len(set(points)) != len(points) or "" in points:
            table.fault("points", "Two points are alike, or one is empty.", "Name each once.")
        return Points(points=points)

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Refuse that several do it, each alone."""
        return once_faults(step, procedure)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the points."""
        return cast("Points", step.own).points

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Keep the lock and what trying it showed; a point that is not dead is out of limit."""
        if part not in cast("Points", step.own).points:
            sentence = f'"{part}" is not one of the points here. Nothing was saved.'
            return Unreadable(code="lock.unknown", sentence=sentence)
        lock = read_words(values.get("lock", ""), "the number on the lock", LONGEST_LOCK)
        if isinstance(lock, Unreadable):
            return lock
        other = _where(lock, part, at.of(step.id))
        if other:
            sentence = (
                f"Lock {lock} stands on {other} already. Read the number again. Nothing was saved."
            )
            return Unreadable(code="lock.twice", sentence=sentence)
        tried = values.get("try_out", "")
        if tried not in (DEAD, NOT_DEAD):
            sentence = f"{part}: try to start it, then say {DEAD} or {NOT_DEAD}. Nothing was saved."
            return Unreadable(code="lock.not_tried", sentence=sentence)
        computed = {"lock": lock, "owner": at.who, "try_out": tried}
        if tried == NOT_DEAD:
            saying = (
                f"{part} is not dead behind lock {lock}. Keep away from it. Find the other feed."
            )
            return Judged(verdict="out", saying=saying, computed=computed)
        saying = f"{part}: lock {lock} of {at.who}, tried and dead."
        return Judged(verdict="good", saying=saying, computed=computed)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for one point, and show every lock with its owner."""
        points, latest = cast("Points", step.own).points, latest_of(at.of(step.id))
        here = here_of(part, points, latest)
        answer, mark = answer_of(latest, here, "Every point is locked, tried and dead")
        locked = sum(counts(entry) for entry in latest.values())
        return Card(
            kind_line=f"Isolation. {locked} locked",
            act=f"My lock is on {here}" if here else "Every point is locked",
            part=here,
            heading=f"{here}: {step.do}" if here else "",
            fields=_fields(here),
            answer=answer,
            answer_mark=mark,
            own={
                "here": here,
                "rows": tuple(_row(name, latest.get(name), here) for name in points),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return the lock, its owner and the try-out."""
        made = entry.computed
        return f"lock {made['lock']} of {made['owner']}, tried: {made['try_out']}"

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return what trying must show."""
        return f"must be {DEAD}"


def _where(lock: str, part: str, entries: Sequence[Entry]) -> str:
    locks = locks_of(entries).items()
    others = (p for p, e in locks if p != part and same_lock(e.computed["lock"], lock))
    return next(others, "")


def _fields(here: str) -> tuple[Field, ...]:
    if not here:
        return ()
    return (
        Field(name="lock", label=f"Number of your own lock on {here}", control="text"),
        Field(
            name="try_out",
            label="You tried to start it. It is",
            control="choice",
            choices=(DEAD, NOT_DEAD),
        ),
    )


def _row(name: str, entry: Entry | None, here: str) -> Mapping[str, str]:
    made = {} if entry is None else entry.computed
    return {
        "name": name,
        "mark": mark_of(entry, here=name == here),
        "lock": made.get("lock", ""),
        "owner": made.get("owner", ""),
        "word": made.get("try_out", "To do"),
    }


KIND = Isolate()
