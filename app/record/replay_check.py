"""Whether the events of a record obey the procedure: every act decided anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.record.seal_check import Found
from app.run.replay import objections

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.record.sources import Sources

MOST_TOLD = 12  # objections: a change early in a run draws many others after it


def replay_sentences(sources: Sources) -> Iterator[Found]:
    """Yield what holds of a run that is played again."""
    found = list(objections(sources.stage, sources.acts))
    for each in found[:MOST_TOLD]:
        yield Found(False, each.sentence)
    if len(found) > MOST_TOLD:
        yield Found(False, f"{len(found) - MOST_TOLD} more follow from these, or beside them.")
    if not found:
        yield Found(
            True,
            f"All {len(sources.acts)} acts were played again: each would have been taken, and "
            "comes to the very events that are attached.",
        )
    for strange in sources.unknown:
        yield Found(
            True,
            f"Event {strange.seq} is of a kind that this version does not know, {strange.kind}: it was "
            "not judged.",
            judged=False,
        )
