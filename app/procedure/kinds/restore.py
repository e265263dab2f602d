"""Restoring: each lock is taken off by its owner, and by nobody else.

Keys: `of` (the isolation), `without_owner` (the role that may take off the lock of someone who is not
there; that is kept as out of limit until somebody else accepts it; without the key it is refused).

Source: 29 CFR 1910.147 (e)(3), removal by the person who put it on, and its one exception (from
memory). Local rules and licensed practice come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.entry import Judged, Unreadable
from app.procedure.faults import Fault
from app.procedure.kind import Card, Field
from app.procedure.locked import LONGEST_LOCK, Points, locks_of, same_lock
from app.procedure.turns import answer_of, counts, here_of, mark_of
from app.procedure.typed import read_words
from app.procedure.usual import UsualKind, latest_of, once_faults, role_faults

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a restoring."""

    of: str
    without_owner: str


class Restore(UsualKind):
    """The locks of an isolation come off, each by its owner."""

    name: ClassVar[str] = "restore"
    title: ClassVar[str] = "Locks off"

    def read(self, table: Table) -> Own:
        """Read the keys of a restoring."""
        return Own(of=table.text("of", required=True), without_owner=table.text("without_owner"))

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Ask for an earlier isolation."""
        yield from once_faults(step, procedure)
        of = cast("Own", step.own).of
        other = procedure.step(of)
        if other is None or other.number >= step.number or not isinstance(other.own, Points):
            what = f"{of} is no earlier isolation."
            yield Fault(procedure.file, step.line, "of", what, "Name a step of kind isolate.")
        without = cast("Own", step.own).without_owner
        yield from role_faults(step, procedure, "without_owner", without)

    def rests_on(self, step: Step) -> tuple[str, ...]:
        """Return the isolation."""
        return (cast("Own", step.own).of,)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:
        """Return the points that are locked."""
        return tuple(locks_of(at.of(cast("Own", step.own).of)))

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Let the owner take the lock off; another only by the role for that, kept as out of limit."""
        own = cast("Own", step.own)
        on = locks_of(at.of(own.of)).get(part)
        if on is None:
            sentence = f'"{part}" has no lock of this isolation. Nothing was saved.'
            return Unreadable(code="lock.unknown", sentence=sentence)
        lock = read_words(values.get("lock", ""), "the number on the lock", LONGEST_LOCK)
        if isinstance(lock, Unreadable):
            return lock
        owner, wanted = on.computed["owner"], on.computed["lock"]
        if not same_lock(lock, wanted):
            sentence = f"Lock {wanted} of {owner} stands on {part}, not {lock}. Nothing was saved."
            return Unreadable(code="lock.other", sentence=sentence)
        if at.who == owner:
            return Judged(verdict="good", saying=f"{part}: {owner} took lock {wanted} off.")
        return _without(own, part, wanted, owner, values, at)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show every lock that is still on, and whose it is."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        locks = locks_of(at.of(own.of))
        here = here_of(part, locks, latest) if part else _mine_first(locks, latest, at.who)
        answer, mark = answer_of(latest, here, "Every lock is off")
        left = [name for name in locks if not counts(latest.get(name))]
        return Card(
            kind_line=f"Locks off. {len(left)} still on",
            act=f"My lock is off {here}" if here else "Every lock is off",
            part=here,
            heading=f"{here}: {step.do}" if here else "",
            fields=_fields(own, here),
            answer=answer,
            answer_mark=mark,
            own={
                "here": here,
                "rows": tuple(_row(name, on, latest.get(name), here) for name, on in locks.items()),
            },
        )

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return who must take it off."""
        return "taken off by its owner"


def _without(  # noqa: PLR0913, PLR0917 - whose lock, where, and who comes instead
    own: Own, part: str, lock: str, owner: str, values: Mapping[str, str], at: Circumstances
) -> Judged | Unreadable:
    if not own.without_owner:
        sentence = (
            f"Lock {lock} on {part} is {owner}'s. Only {owner} takes it off. Nothing was saved."
        )
        return Unreadable(code="lock.owner", sentence=sentence)
    if own.without_owner not in at.roles.get(at.who, frozenset()):
        sentence = (
            f"Lock {lock} on {part} is {owner}'s. Only {owner} takes it off; "
            f"if {owner} is not there, a {own.without_owner} does. Nothing was saved."
        )
        return Unreadable(code="lock.owner", sentence=sentence)
    why = read_words(values.get("why", ""), f"where {owner} is, and how {owner} was told")
    if isinstance(why, Unreadable):
        return why
    saying = f"{part}: {at.who} took lock {lock} of {owner} off. {why.rstrip('.')}. Someone else accepts it, or not."
    return Judged(verdict="out", saying=saying)


def _mine_first(locks: Mapping[str, Entry], latest: Mapping[str, Entry], who: str) -> str:
    left = [name for name in locks if not counts(latest.get(name))]
    mine = [name for name in left if locks[name].computed["owner"] == who]
    return next(iter((*mine, *left)), "")


def _fields(own: Own, here: str) -> tuple[Field, ...]:
    if not here:
        return ()
    lock = Field(name="lock", label=f"Number of the lock on {here}", control="text")
    if not own.without_owner:
        return (lock,)
    why = Field(
        name="why",
        label="Only without the owner: where they are, and how they were told",
        control="text",
        hint=f"Only a {own.without_owner}.",
        required=False,
    )
    return (lock, why)


def _row(name: str, on: Entry, entry: Entry | None, here: str) -> Mapping[str, str]:
    mark = mark_of(entry, here=name == here)
    return {
        "name": name,
        "mark": mark,
        "lock": on.computed["lock"],
        "owner": on.computed["owner"],
        "word": {"done": "off", "out": "off, not by its owner"}.get(mark, "on"),
    }


KIND = Restore()
