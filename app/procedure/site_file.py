"""Reads `site.toml`: the place, the roles and what each may do, the assets with their hazards."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from app.calculations.quantity import Quantity
from app.procedure.fact_tests import read_tests, said
from app.procedure.model import Asset, Fact, Hazard, Site
from app.procedure.nearest import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from app.procedure.model import FactValue
    from app.procedure.reading import Table

ABILITIES = (
    "perform",
    "release-hold",
    "restart",
    "release-procedure",
    "accept-deviation",
    "read-records",
    "manage-people",
)
FORMAT = 1
WIDEST_FACT = 1000  # values of one fact; the search for hazards visits every one of them
_NAME = re.compile(r"[a-z][a-z0-9_-]{0,31}")
_FIELD = re.compile(r"[a-z][a-z0-9_]{0,31}")
_SEA_LEVEL = Quantity.parse("0 m")


def read_format(table: Table) -> None:
    """Read the `format` key that every file opens with."""
    written = table.whole("format", required=True)
    if written not in (None, FORMAT):
        table.fault("format", f"This is format {written}.", f"Only format {FORMAT} is known here.")


def read_site(table: Table) -> Site:
    """Return the site that a file describes; faults gather in the table."""
    read_format(table)
    place = table.table("site", required=True, noun="site")
    roles = _roles(table)
    assets = _assets(table)
    table.finish()
    if place is None:
        return _site(table, roles, assets)
    site = _site(place, roles, assets)
    place.finish()
    return site


def _site(place: Table, roles: Mapping[str, frozenset[str]], assets: Mapping[str, Asset]) -> Site:
    return Site(
        name=place.text("name", required=True),
        latitude=float(_degrees(place, "latitude", 90)),
        longitude=float(_degrees(place, "longitude", 180)),
        elevation=place.quantity("elevation", "m", required=True) or _SEA_LEVEL,
        time_zone=_time_zone(place),
        roles=roles,
        assets=assets,
    )


def _degrees(place: Table, key: str, most: int) -> Decimal | int:
    found = place.number(key, required=True)
    if found is not None and abs(found) > most:
        place.fault(key, f"{key} is {found}.", f"It must be -{most} to {most} degrees.")
    return found or 0


def _time_zone(place: Table) -> str:
    name = place.text("time_zone", required=True)
    try:
        ZoneInfo(name or "UTC")
    except (ZoneInfoNotFoundError, ValueError, OSError):
        place.fault("time_zone", f"{name} is not a known time zone.", "Give its IANA name.")
        return "UTC"
    return name or "UTC"


def _roles(table: Table) -> Mapping[str, frozenset[str]]:
    written = table.table("roles", required=True, noun="list of roles")
    if written is None:
        return {}
    roles: dict[str, frozenset[str]] = {}
    for role in written.keys():  # noqa: SIM118 - a Table is not a mapping: keys() notes them
        abilities = written.texts(role)
        for ability in abilities:
            if ability not in ABILITIES:
                mend = did_you_mean(ability, ABILITIES)
                written.fault(role, f"{ability} is not an ability.", mend)
        if not _NAME.fullmatch(role):
            written.fault(
                role, f'"{role}" is not a name for a role.', "Use small letters and hyphens."
            )
        roles[role] = frozenset(abilities)
    return roles


def _assets(table: Table) -> Mapping[str, Asset]:
    written = table.table("asset", required=True, noun="list of assets")
    if written is None:
        return {}
    assets: dict[str, Asset] = {}
    for name in written.keys():  # noqa: SIM118 - a Table is not a mapping: keys() notes them
        asset = written.table(name, noun="asset")
        if asset is not None:
            assets[name] = _asset(asset, name)
    return assets


def _asset(table: Table, name: str) -> Asset:
    title = table.text("title", required=True)
    written = table.table("facts", required=True, noun="list of facts")
    facts: dict[str, Fact] = {}
    for fact in written.keys() if written is not None else ():
        inner = written.table(fact, noun="fact") if written is not None else None
        found = None if inner is None else _fact(inner, fact)
        facts |= {} if found is None else {fact: found}
    hazards = tuple(_hazard(each, facts) for each in table.tables("hazards", noun="hazard"))
    for index, hazard in enumerate(hazards):
        if hazard.id in [each.id for each in hazards[:index]]:
            table.fault("hazards", f"Two hazards are called {hazard.id}.", "Name each once.")
    table.finish()
    return Asset(id=name, title=title, facts=facts, hazards=hazards)


def _fact(table: Table, name: str) -> Fact | None:
    values: tuple[FactValue, ...]
    if table.has("values"):
        values = table.texts("values")
    else:
        low, high = table.whole("from", required=True), table.whole("to", required=True)
        values = tuple(range(low, high + 1)) if low is not None and high is not None else ()
    now = table.raw("now")
    table.finish()
    if not _FIELD.fullmatch(name):
        table.fault("", f'"{name}" is not a name for a fact.', "Use small letters and underscores.")
    if not 2 <= len(values) <= WIDEST_FACT or len(set(values)) < len(values):
        table.fault("values", f"{name} has no two different values.", "Give each value once.")
        return None
    fact = Fact(name=name, values=values, now=values[0])
    for value in values:
        if value == now and type(value) is type(now):
            return Fact(name=name, values=values, now=value)
    table.fault("now", f"{name} does not say what is so now.", f"It can be {said(fact)}.")
    return fact


def _hazard(table: Table, facts: Mapping[str, Fact]) -> Hazard:
    hazard = Hazard(
        id=table.text("id", required=True),
        harm=table.text("harm", required=True),
        never=read_tests(table, "never", facts),
        people=table.whole("people", 1, at_least=1, at_most=9, required=True) or 1,
    )
    if not hazard.never:
        table.fault("never", "This hazard has no condition.", "Write never = { fact = value }.")
    table.finish()
    return hazard
