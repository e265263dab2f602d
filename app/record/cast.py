"""Who and what a site had at each moment of a run, as the site's own stream tells it."""

from __future__ import annotations

from bisect import bisect_right
from functools import cached_property
from typing import TYPE_CHECKING

from app.proof.releasing import RELEASE_EVENTS
from app.run.crew import Crew, Person
from app.run.tool_events import TOOL_EVENTS
from app.run.tool_events import noted as noted_tool

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import datetime

    from app.ledger.stored import Stored
    from app.procedure.model import Site
    from app.procedure.tool import Tool

PEOPLE_EVENTS = frozenset({"PersonAdded", "RolesChanged", "PersonRetired"})
OF_THE_RUN = frozenset({"RunOpened", "HeadNoted"})
NAMED = ("by", "second", "part", "person")


class SiteCast:
    """The people and tools of a site, at any moment up to the end of a run."""

    def __init__(self, site: Site, events: Sequence[Stored]) -> None:
        self._site = site
        self._events = events

    def crew(self, at: datetime) -> Crew:
        """Return the people with the roles that they held at a moment."""
        return self._crews[bisect_right(self._people_times, at)]

    def tools(self, at: datetime) -> Mapping[str, Tool]:
        """Return the register of tools as it stood at a moment."""
        return self._books[bisect_right(self._tool_times, at)]

    @cached_property
    def _people_times(self) -> list[datetime]:
        return [each.at for each in self._events if each.kind in PEOPLE_EVENTS]

    @cached_property
    def _tool_times(self) -> list[datetime]:
        return [each.at for each in self._events if each.kind in TOOL_EVENTS]

    @cached_property
    def _crews(self) -> list[Crew]:
        people: dict[str, Person] = {}
        crews = [Crew(people={}, abilities=self._site.roles)]
        for each in self._events:
            if each.kind in PEOPLE_EVENTS:
                people = {**people, **_person(people, each)}
                crews.append(Crew(people=people, abilities=self._site.roles))
        return crews

    @cached_property
    def _books(self) -> list[dict[str, Tool]]:
        tools: dict[str, Tool] = {}
        books = [tools]
        for each in self._events:
            if each.kind in TOOL_EVENTS:
                serial = str(each.body.get("serial"))
                tool = noted_tool(tools.get(serial), each.kind, each.body, each.at)
                tools = tools if tool is None else {**tools, serial: tool}
                books.append(tools)
        return books


def _person(people: Mapping[str, Person], told: Stored) -> dict[str, Person]:
    ident = str(told.body.get("person"))
    known = people.get(ident)
    roles = frozenset(str(role) for role in told.body.get("roles", ()))
    if told.kind == "PersonAdded":
        return {ident: Person(id=ident, name=str(told.body.get("name", "")), roles=roles)}
    if known is None:
        return {}
    active = told.kind != "PersonRetired"
    kept = roles if active else known.roles
    return {ident: Person(id=ident, name=known.name, roles=kept, active=active)}


def resting_on(site_events: Iterable[Stored], events: Sequence[Stored]) -> tuple[Stored, ...]:
    """Return the events of the site's stream on which a run rests, up to the run's end.

    The founding; the run's procedure; the people whom the run names; all tools; what was declared
    of the hardware; the heads that the site noted; each time its clock was set back meanwhile.
    """
    opened, last = events[0], events[-1]
    run, procedure = opened.body["run"], opened.body["procedure"]
    asset, site_events = opened.body["asset"], tuple(site_events)
    people = frozenset((*_named(events), *_released_by(site_events, procedure)))
    found = []
    for each in site_events:
        body = each.body
        wanted = (
            each.kind == "SiteFounded"
            or (each.kind in RELEASE_EVENTS and body.get("procedure") == procedure)
            or (each.kind in PEOPLE_EVENTS and body.get("person") in people)
            or each.kind in TOOL_EVENTS
            or (each.kind == "FactsDeclared" and body.get("asset") == asset)
            or (each.kind in OF_THE_RUN and body.get("run") == run)
            or (each.kind == "ClockSteppedBack" and each.at >= opened.at)
        )
        if wanted and each.at <= last.at:
            found.append(each)
    return tuple(found)


def _released_by(site_events: Sequence[Stored], procedure: object) -> Iterator[str]:
    for each in site_events:
        if each.kind in RELEASE_EVENTS and each.body.get("procedure") == procedure:
            yield from (each.by, str(each.body.get("reviewed_by", "")))


def _named(events: Sequence[Stored]) -> Iterator[str]:
    for each in events:
        yield each.by
        yield from (str(each.body[name]) for name in NAMED if each.body.get(name))
        values = each.body.get("values")
        if isinstance(values, dict):
            yield from (str(value) for value in values.values())
