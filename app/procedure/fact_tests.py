"""Conditions on facts and settings of facts, as `{ brackets = 0, place = { not = "road" } }`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from app.procedure.model import FactTest
from app.procedure.nearest import did_you_mean

if TYPE_CHECKING:
    from app.procedure.model import Comparison, Fact, FactValue
    from app.procedure.reading import Table

_WRITTEN: tuple[Comparison, ...] = ("not", "at_least", "at_most")


def read_tests(table: Table, key: str, facts: Mapping[str, Fact]) -> tuple[FactTest, ...]:
    """Return the conditions written under a key; each names a fact of the asset."""
    written = table.table(key)
    if written is None:
        return ()
    return tuple(
        test
        for name in written.keys()  # noqa: SIM118 - a Table is not a mapping: keys() notes them
        if (fact := _fact(written, name, facts)) is not None
        for test in _tests(written, fact)
    )


def read_settings(table: Table, key: str, facts: Mapping[str, Fact]) -> dict[str, FactValue]:
    """Return the facts that a step makes true."""
    written = table.table(key)
    settings: dict[str, FactValue] = {}
    if written is None:
        return settings
    for name in written.keys():  # noqa: SIM118 - a Table is not a mapping: keys() notes them
        fact = _fact(written, name, facts)
        value = None if fact is None else _value(written, fact, name, written.raw(name))
        if value is not None:
            settings[name] = value
    return settings


def _fact(table: Table, name: str, facts: Mapping[str, Fact]) -> Fact | None:
    if name in facts:
        return facts[name]
    table.fault(name, f"{name} is not a fact of the asset.", did_you_mean(name, facts))
    return None


def _tests(table: Table, fact: Fact) -> tuple[FactTest, ...]:
    found = table.raw(fact.name)
    if not isinstance(found, Mapping):
        value = _value(table, fact, fact.name, found)
        return () if value is None else (FactTest(fact.name, "is", value),)
    inner = table.table(fact.name, noun="condition")
    if inner is None:
        return ()
    tests = []
    for comparison in _WRITTEN:
        if inner.has(comparison):
            value = _value(inner, fact, comparison, inner.raw(comparison))
            tests += [] if value is None else [FactTest(fact.name, comparison, value)]
    inner.finish()
    return tuple(tests)


def _value(table: Table, fact: Fact, key: str, found: object) -> FactValue | None:
    """Return a value that the fact can have, or None with a fault."""
    ordered = key in {"at_least", "at_most"}
    if ordered and not isinstance(fact.values[0], int):
        table.fault(
            key, f"{fact.name} is a word, not a number.", "Compare it with not, or name it."
        )
        return None
    for value in fact.values:
        if value == found and type(value) is type(found):
            return value
    table.fault(key, f"{fact.name} cannot be {_shown(found)}.", f"It can be {said(fact)}.")
    return None


def said(fact: Fact) -> str:
    """Return what a fact can be: `off, on` or `0 to 21`."""
    if isinstance(fact.values[0], int):
        return f"{fact.values[0]} to {fact.values[-1]}"
    return ", ".join(str(value) for value in fact.values)


def _shown(found: object) -> str:
    return f'"{found}"' if isinstance(found, str) else str(found).lower()
