"""Makes the record of a closed run: pages printed, events and procedure attached, all sealed."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from app.record.printing import Attached, Job
from app.record.seal import seal
from app.record.trouble import RecordTrouble

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.ledger.stored import Stored
    from app.record.document import Document
    from app.record.pdf import Renderer
    from app.record.seal import SiteKeys

EVENTS_FILE = "events.jsonl"
PROCEDURE_FILE = "procedure.toml"
CERTIFICATES_FILE = "certificates.pem"
SITE_FILE = "site.toml"
CHANGE_FILE = "change-{}.toml"  # the text of a field change, by its number
NO_CHANGES: Mapping[int, bytes] = MappingProxyType({})
ENDINGS = ("RunClosed", "RunAbandoned")


def make_record(  # noqa: PLR0913  each is one thing that the record holds
    document: Document,
    events: Sequence[Stored],
    procedure_toml: bytes,
    keys: SiteKeys,
    *,
    renderer: Renderer,
    site_toml: bytes = b"",
    changes: Mapping[int, bytes] = NO_CHANGES,
) -> bytes:
    """Return the sealed record of a closed run. Slow: call it from a thread, not from a loop.

    Args:
        document: what the pages say; its head is the hash of the last of `events`.
        events: the run's whole stream, in order, from its opening to its closing.
        procedure_toml: the exact bytes of the procedure.
        keys: the site's keys.
        renderer: the printing room.
        site_toml: the exact bytes of the site's file, attached when given.
        changes: the exact bytes of each text that was approved for this run alone, by its number.

    Raises:
        RecordTrouble: the run is not closed, or the record cannot be printed.
    """
    if not events or events[-1].kind not in ENDINGS:
        raise RecordTrouble(f"Run {document.run} is not closed. A record is sealed when it is.")
    if events[-1].hash != document.head:
        raise RecordTrouble(
            f"The pages of run {document.run} name another last event than the one to be attached. "
            "Nothing was sealed."
        )
    attached = attached_files(events, procedure_toml, keys, site_toml, changes)
    printed = renderer.render(Job(document, attached))
    return seal(printed.pdf, keys, record=document.run)


def attached_files(
    events: Sequence[Stored],
    procedure_toml: bytes,
    keys: SiteKeys,
    site_toml: bytes = b"",
    changes: Mapping[int, bytes] = NO_CHANGES,
) -> tuple[Attached, ...]:
    """Return what travels inside the record, always in the same order."""
    lines = b"".join(event.canonical + b"\n" for event in events)
    files = [
        Attached(
            name=EVENTS_FILE,
            content=lines,
            description="Every event of the run, one to a line, as the recorder keeps it",
        ),
        Attached(
            name=PROCEDURE_FILE,
            content=procedure_toml,
            description="The procedure as it was released, byte for byte",
        ),
        Attached(
            name=CERTIFICATES_FILE,
            content=keys.certificates_pem,
            description="The certificate of the seal and the root of the site",
            relationship="Supplement",
        ),
    ]
    files += [
        Attached(
            name=CHANGE_FILE.format(number),
            content=text,
            description=f"The text of change {number}, approved for this run alone, byte for byte",
        )
        for number, text in sorted(changes.items())
    ]
    if site_toml:
        files.append(
            Attached(
                name=SITE_FILE,
                content=site_toml,
                description="The site's file: roles, facts, hazards",
                relationship="Supplement",
            )
        )
    return tuple(files)
