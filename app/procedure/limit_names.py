"""Fills `{name}` in a step's texts with a limit of the same step, so that no number stands twice.

A name is a key of the step, or a way into one of its tables: `{at_most}`, `{within.at_most}`. A bare
number is shown with the `unit` that stands beside it, if it is a limit.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

NAME = re.compile(r"\{([a-z_]+(?:\.[a-z_]+)*)\}")
_WITH_UNIT = frozenset(
    {"at_least", "at_most", "each_at_least", "each_at_most", "resolution", "uncertainty"}
)


def filled(text: str, step: Mapping[str, object]) -> tuple[str, tuple[str, ...]]:
    """Return the text with its names filled in, and the names that the step does not have."""
    unknown: list[str] = []

    def value(found: re.Match[str]) -> str:
        said = _said(found[1], step)
        if said is None:
            unknown.append(found[1])
        return found[0] if said is None else said

    return NAME.sub(value, text), tuple(unknown)


def _said(name: str, step: Mapping[str, object]) -> str | None:
    table: object = step
    *way, key = name.split(".")
    for part in way:
        table = table.get(part) if isinstance(table, Mapping) else None
    if not isinstance(table, Mapping):
        return None
    found = table.get(key)
    unit = table.get("unit", step.get("unit"))
    match found:
        case bool():
            return None
        case str():
            return found if found[:1].isdigit() or found[:1] in "+-" else None
        case int() | Decimal():
            said = f"{found:f}" if isinstance(found, Decimal) else str(found)
            return f"{said} {unit}" if key in _WITH_UNIT and isinstance(unit, str) else said
        case _:
            return None
