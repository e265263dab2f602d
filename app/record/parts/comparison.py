"""The values of this run beside those of the last run of the same procedure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from app.record.previous import values_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from app.procedure.model import Procedure
    from app.record.previous import Previous
    from app.run.state import RunState

MEASURED = re.compile(r"([-−+]?[0-9]+(?:[.][0-9]+)?)(?:\s+(\S.*))?", re.ASCII)
NO_PREVIOUS = "No earlier record of this procedure was closed at this site before this run."


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedShown:
    """One value, then and now."""

    step: str
    what: str
    then: str
    now: str
    difference: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonShown:
    """The whole comparison, with the record that it looks back to."""

    sentence: str
    rows: tuple[ComparedShown, ...] = ()


def comparison(procedure: Procedure, state: RunState, previous: Previous | None) -> ComparisonShown:
    """Return what both runs have, side by side."""
    if previous is None:
        return ComparisonShown(sentence=NO_PREVIOUS)
    rows = tuple(compared(procedure, previous.values, values_of(procedure, state)))
    same = "the same revision" if previous.revision == state.revision else "another revision"
    return ComparisonShown(
        sentence=(
            f"Beside record {previous.run}, revision {previous.revision} ({same}), closed "
            f"{previous.closed}, whose events end in the head {previous.head[:16]}…. "
            f"{len(rows)} values stand in both."
        ),
        rows=rows,
    )


def compared(
    procedure: Procedure,
    then: Mapping[str, Mapping[str, str]],
    now: Mapping[str, Mapping[str, str]],
) -> Iterator[ComparedShown]:
    """Yield each value that both runs have, in the order of the steps."""
    for step in procedure.steps:
        for what, value in now.get(step.id, {}).items():
            old = then.get(step.id, {}).get(what)
            if old is not None:
                yield ComparedShown(
                    step=f"Step {step.number}",
                    what=what,
                    then=old,
                    now=value,
                    difference=difference(old, value),
                )


def difference(then: str, now: str) -> str:
    """Return how far a value moved, with its unit; "" where the two are not of one unit."""
    old, new = MEASURED.fullmatch(then), MEASURED.fullmatch(now)
    if old is None or new is None or old[2] != new[2]:
        return ""
    moved = Decimal(new[1].replace("−", "-")) - Decimal(old[1].replace("−", "-"))
    sign = "+" if moved > 0 else "−" if moved < 0 else "±"
    return f"{sign}{abs(moved):f}{f' {new[2]}' if new[2] else ''}"
