"""The people who can be named on a page: as many as the site knows, those at this tablet first."""

from __future__ import annotations

from collections.abc import Callable

from app.run.crew import Crew
from app.web.views.frame import AtTablet
from app.web.views.seats import Chooser


def anyone(_: str) -> bool:
    """Say yes to everyone."""
    return True


def people_to_choose(
    crew: Crew,
    session: AtTablet | None,
    *,
    chosen: str = "",
    may: Callable[[str], bool] = anyone,
) -> Chooser:
    """Return the people who can be chosen, those at the tablet first, then by id.

    Args:
        crew: everyone the site knows.
        session: who is at this tablet.
        chosen: who was chosen before a refusal; nobody is chosen beforehand.
        may: says who belongs in the list.
    """
    here = frozenset(session.people) if session is not None else frozenset()
    active = [p for p in crew.people.values() if p.active and may(p.id)]
    active.sort(key=lambda person: (person.id not in here, person.id))
    people = tuple((p.id, f"{p.name}, {', '.join(sorted(p.roles)) or 'no role'}") for p in active)
    return Chooser(people=people, only=people[0][0] if len(people) == 1 else "", chosen=chosen)


def able(crew: Crew, ability: str) -> Callable[[str], bool]:
    """Return who has an ability, as `restart`."""
    return lambda person: crew.may(person, ability)
