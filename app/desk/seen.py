"""What the desk hands out: a run as it stands, what an act came to, what is released, what is sealed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Self

from app.procedure.model import Procedure
from app.procedure.tool import Tool
from app.proof.releasing import Text
from app.run.board import Board
from app.run.state import RunState


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A run as it stands: its state, its pinned procedure, its asset's board."""

    state: RunState
    procedure: Procedure
    board: Board
    tools: Mapping[str, Tool] = field(default_factory=dict)  # the site's register, by serial


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """An act was taken: the run after it, and the events it made, by number."""

    seen: Seen
    seqs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """A procedure that may be run: its exact bytes are known by their SHA-256."""

    id: str
    revision: int
    title: str
    sha256: str
    reviewed_by: str
    released_by: str
    at: datetime

    @classmethod
    def of(cls, text: Text) -> Self:
        """Return a text that was released.

        Raises:
            ValueError: it was not.
        """
        if text.released is None or text.reviewed is None:
            raise ValueError(f"{text.procedure} revision {text.revision} is not released")
        return cls(
            id=text.procedure,
            revision=text.revision,
            title=text.title,
            sha256=text.sha256,
            reviewed_by=text.reviewed.by,
            released_by=text.released.by,
            at=text.released.at,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedRecord:
    """A sealed record on disk, as the site stream announced it."""

    run: str
    path: Path
    sha256: str
    head: str  # hash of the run's last event
    root: str  # SHA-256 of the site's root certificate
    at: datetime
