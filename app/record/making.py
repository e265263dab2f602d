"""Makes the record of a closed run: pages printed, everything they are made from attached, all sealed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.record.printing import Attached, Job
from app.record.seal import seal
from app.record.sources import (
    CERTIFICATES_FILE,
    CHANGE_FILE,
    EARLIER_FILE,
    EVENTS_FILE,
    PHOTO_FILE,
    PREVIOUS_FILE,
    PROCEDURE_FILE,
    SITE_EVENTS_FILE,
    SITE_FILE,
    Unusable,
    lines_of,
)
from app.record.trouble import RecordTrouble

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.record.pdf import Renderer
    from app.record.seal import SiteKeys
    from app.record.sources import Sources

ENDINGS = ("RunClosed", "RunAbandoned")


def make_record(sources: Sources, keys: SiteKeys, *, renderer: Renderer) -> bytes:
    """Return the sealed record of a closed run. Slow: call it from a thread, not from a loop.

    Args:
        sources: all that the pages are made from; the events end with the run's ending.
        keys: the site's keys.
        renderer: the printing room.

    Raises:
        RecordTrouble: the run is not closed, or the record cannot be printed.
    """
    if not sources.events or sources.events[-1].kind not in ENDINGS:
        raise RecordTrouble("The run is not closed. A record is sealed when it is.")
    try:
        document = sources.document(keys.fingerprint)
    except Unusable as failure:
        raise RecordTrouble(f"The record cannot be made: {failure}") from failure
    printed = renderer.render(Job(document, attached_files(sources, keys.certificates_pem)))
    return seal(printed.pdf, keys, record=document.run)


def attached_files(sources: Sources, certificates: bytes) -> tuple[Attached, ...]:
    """Return what travels inside the record, always in the same order."""
    return (
        Attached(
            name=EVENTS_FILE,
            content=lines_of(sources.events),
            description="Every event of the run, one to a line, as the recorder keeps it",
        ),
        Attached(
            name=PROCEDURE_FILE,
            content=sources.procedure,
            description="The procedure as it was released, byte for byte",
        ),
        Attached(
            name=SITE_FILE,
            content=sources.site,
            description="The site's file: roles, facts, hazards",
        ),
        Attached(
            name=SITE_EVENTS_FILE,
            content=lines_of(sources.site_events),
            description="Events of the site's own stream on which the run rests",
        ),
        Attached(
            name=CERTIFICATES_FILE,
            content=certificates,
            description="The certificate of the seal and the root of the site",
            relationship="Supplement",
        ),
        *_others(sources),
    )


def _others(sources: Sources) -> Iterator[Attached]:
    for number, text in sorted(sources.changes.items()):
        yield Attached(
            name=CHANGE_FILE.format(number),
            content=text,
            description=f"The text of change {number}, approved for this run alone, byte for byte",
        )
    if sources.earlier:
        yield Attached(
            name=EARLIER_FILE,
            content=lines_of(sources.earlier),
            description="Entries of earlier runs whose readings stood on the board at the opening",
        )
    if sources.previous:
        yield Attached(
            name=PREVIOUS_FILE,
            content=sources.previous,
            description="Values of the last run of the same procedure",
            relationship="Data",
        )
    for sha256, picture in sources.photos.items():
        yield Attached(
            name=PHOTO_FILE.format(sha256),
            content=picture,
            description=f"A small picture of the photo with SHA-256 {sha256}",
            relationship="Supplement",
        )
