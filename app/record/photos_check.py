"""Whether every photo that a run names has its picture in the record, and is the photo kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.ledger.canonical import digest
from app.record.seal_check import Found
from app.record.sources import photos_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from app.record.sources import Sources


def photo_sentences(
    sources: Sources, find: Callable[[str], bytes | None] | None
) -> Iterator[Found]:
    """Yield what holds of the photos; the whole ones are compared only where they are at hand."""
    named = photos_of(sources.happened)
    strange = [sha256[:12] for sha256 in sources.photos if sha256 not in named]
    if strange:
        yield Found(False, f"No entry of the run names the picture {', '.join(strange)}.")
    lacking = [sha256[:12] for sha256 in named if sha256 not in sources.photos]
    if lacking:
        said = f"Of {len(lacking)} photos the record has no small picture: {', '.join(lacking)}."
        yield Found(True, said)
    if find is None or not named:
        return
    gone, other = [], []
    for sha256 in named:
        content = find(sha256)
        if content is None:
            gone.append(sha256[:12])
        elif digest(content) != sha256:
            other.append(sha256[:12])
    if gone:
        yield Found(False, f"Photos that the run names are not there: {', '.join(gone)}.")
    if other:
        yield Found(False, f"Photos are not those that were entered: {', '.join(other)}.")
    if not gone and not other:
        yield Found(True, f"All {len(named)} photos are there, byte for byte as they were entered.")
