"""The people of a site as the core sees them: ids, names, roles, and what each role may do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Someone known to the site; `id` is short and stands in the record, as `JB`."""

    id: str
    name: str
    roles: frozenset[str]
    active: bool = True


@dataclass(frozen=True, kw_only=True)  # no slots: it keeps what it has worked out
class Crew:
    """Everyone the site knows, and the abilities of each role."""

    people: Mapping[str, Person] = field(default_factory=dict)
    abilities: Mapping[str, frozenset[str]] = field(default_factory=dict)  # role -> abilities

    @cached_property
    def roles_of_all(self) -> Mapping[str, frozenset[str]]:
        """Return everyone's roles, by person."""
        return {person: self.roles(person) for person in self.people}

    @cached_property
    def names(self) -> Mapping[str, str]:
        """Return everyone's name, by person."""
        return {person.id: person.name for person in self.people.values()}

    def roles(self, person: str) -> frozenset[str]:
        """Return the roles of a person; of nobody, none."""
        known = self.people.get(person)
        return known.roles if known is not None and known.active else frozenset()

    def may(self, person: str, ability: str) -> bool:
        """Say whether one of the person's roles has the ability, as `release-hold`."""
        return any(ability in self.abilities.get(role, frozenset()) for role in self.roles(person))

    def who_may(self, ability: str) -> str:
        """Return the roles that have an ability, as `supervisor or lead`."""
        return " or ".join(role for role, may in self.abilities.items() if ability in may)
