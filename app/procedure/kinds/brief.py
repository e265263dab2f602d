"""A briefing: everyone present says, each with their own secret, that they heard the topics.

Keys: `topics` (what is said aloud, one text for each).

The parts are people. It is complete when the crew that the procedure asks for is there; a person who
has two roles fills one place only.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, cast

from app.procedure.entry import Judged, Outcome, Unreadable
from app.procedure.kind import Card
from app.procedure.usual import UsualKind, latest_of
from app.procedure.wording import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a briefing."""

    topics: tuple[str, ...]


class Brief(UsualKind):
    """Who is here, and has heard what was said."""

    name: ClassVar[str] = "brief"
    title: ClassVar[str] = "Briefing"
    presence: ClassVar[bool] = True
    closing: ClassVar[Literal["entry", "signature"]] = "signature"

    def read(self, table: Table) -> Own:
        """Read the keys of a briefing."""
        topics = table.texts("topics", required=True)
        if table.has("topics") and not topics:
            table.fault("topics", "There are no topics.", 'Write topics = ["Who stops work."].')
        return Own(topics=topics)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:
        """Return the people who have said so, and the one who is entering."""
        present = tuple(latest_of(at.of(step.id)))
        return present if at.who in ("", *present) else (*present, at.who)

    def judge(
        self,
        step: Step,  # noqa: ARG002
        part: str,
        values: Mapping[str, str],  # noqa: ARG002
        at: Circumstances,
    ) -> Judged | Unreadable:
        """Keep what a person says for themselves; nobody says it for another."""
        if not part or part != at.who:
            who = part or "Someone"
            sentence = f"{who} must say so in person, with their own secret. Nothing was saved."
            return Unreadable(code="brief.own", sentence=sentence)
        return Judged(verdict="good", saying=f"{part} is here and has heard every topic.")

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:  # noqa: ARG002
        """Ask for the least crew, each person in one place."""
        missing = _missing(latest_of(entries), at)
        if missing:
            roles = [f"{number} {role}" for role, number in missing.items()]
            return Outcome(complete=False, missing=f"Still to be briefed: {listed(roles)}.")
        return Outcome(complete=True)

    def card(self, step: Step, part: str, at: Circumstances) -> Card:  # noqa: ARG002
        """Show the topics, who is here, and who is still missing."""
        latest = latest_of(at.of(step.id))
        outcome = self.outcome(step, tuple(latest.values()), at)
        said = at.who in latest
        return Card(
            kind_line=f"Briefing. {len(latest)} briefed",
            act=f"{at.who} is here and has heard it" if at.who else "I am here and have heard it",
            part=at.who,
            answer="The crew is briefed" if outcome.complete else outcome.missing,
            answer_mark="done" if outcome.complete else "wait",
            off=f"{at.who} has said so already" if said else "",
            own={
                "topics": cast("Own", step.own).topics,
                "present": tuple(
                    {"id": person, "name": at.names.get(person, ""), "roles": _roles(person, at)}
                    for person in latest
                ),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return that the person is here."""
        return "present, has heard every topic"


def _roles(person: str, at: Circumstances) -> str:
    return ", ".join(sorted(at.roles.get(person, frozenset())))


def _missing(present: Mapping[str, Entry], at: Circumstances) -> dict[str, int]:
    """Return how many of each role are still missing when each person fills one place at most."""
    held = Counter(role for roles in at.roles.values() for role in roles)
    crew = sorted(at.procedure.crew.items(), key=lambda each: held[each[0]])
    places = [role for role, number in crew for _ in range(number)]  # the scarcest are filled first
    filled: dict[int, str] = {}
    for person in present:
        _seat(person, places, filled, at, set())
    empty = [role for n, role in enumerate(places) if n not in filled]
    return {role: empty.count(role) for role in dict.fromkeys(empty)}


def _seat(
    person: str, places: Sequence[str], filled: dict[int, str], at: Circumstances, tried: set[int]
) -> bool:
    """Find a place for a person, moving others along where that frees one (augmenting paths)."""
    for n, role in enumerate(places):
        if n in tried or role not in at.roles.get(person, frozenset()):
            continue
        tried.add(n)
        if n not in filled or _seat(filled[n], places, filled, at, tried):
            filled[n] = person
            return True
    return False


KIND = Brief()
