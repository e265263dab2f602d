"""The values of the last run of the same procedure, as they travel inside a record."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from app.procedure.registry import kind_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.model import Procedure
    from app.run.state import RunState


@dataclass(frozen=True, slots=True, kw_only=True)
class Previous:
    """What an earlier run came to: by step and by what was read, the value with its unit."""

    run: str
    revision: int
    closed: str  # day, ISO
    head: str
    values: Mapping[str, Mapping[str, str]]

    @classmethod
    def read(cls, content: bytes) -> Self | None:
        """Return what a file holds; None for an empty one, or one that is not of this form."""
        try:
            told = json.loads(content)
            return cls(
                run=str(told["run"]),
                revision=int(told["revision"]),
                closed=str(told["closed"]),
                head=str(told["head"]),
                values={
                    str(step): {str(k): str(v) for k, v in lines.items()}
                    for step, lines in told["values"].items()
                },
            )
        except (ValueError, KeyError, TypeError, AttributeError):
            return None

    @classmethod
    def of(cls, procedure: Procedure, state: RunState, head: str) -> Self:
        """Return what a closed run came to."""
        closed = f"{state.closed_at:%Y-%m-%d}" if state.closed_at is not None else ""
        return cls(
            run=state.run,
            revision=state.revision,
            closed=closed,
            head=head,
            values=values_of(procedure, state),
        )

    def plain(self) -> dict[str, object]:
        """Return it as plain data."""
        return {
            "run": self.run,
            "revision": self.revision,
            "closed": self.closed,
            "head": self.head,
            "values": {step: dict(lines) for step, lines in self.values.items()},
        }


def values_of(procedure: Procedure, state: RunState) -> dict[str, dict[str, str]]:
    """Return the values that stand at the end of a run: step -> what was read -> value."""
    found: dict[str, dict[str, str]] = {}
    for step in procedure.steps:
        live = state.progress(step.id).live()
        lines = kind_of(step).lines(step, live) if live else ()
        # What is attached to a value, as the tool, follows a semicolon: it is not compared.
        kept = {x.what: x.value.partition(";")[0] for x in lines if _is_measured(x.value)}
        if kept:
            found[step.id] = kept
    return found


def _is_measured(value: str) -> bool:
    return value[:1].isdigit() or (value[:1] in "-−+" and value[1:2].isdigit())
