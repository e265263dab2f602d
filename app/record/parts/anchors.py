"""What the site's own stream says of a run: its release, its people, the heads noted meanwhile."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.ledger.stored import Stored
    from app.record.acts import Names
    from app.record.clock import Clock


def released_words(site_events: Sequence[Stored], sha256: str, names: Names, clock: Clock) -> str:
    """Return who drafted, reviewed and released a text and when, as a sentence; or ""."""
    told: dict[str, Stored] = {
        each.kind: each for each in site_events if each.body.get("sha256") == sha256
    }
    release = told.get("ProcedureReleased")
    if release is None:
        return ""
    drafted = told.get("ProcedureDrafted")
    by = f"Drafted by {names.person(drafted.by)}. " if drafted is not None else ""
    reviewed = told.get("ProcedureReviewed")
    reviewer = reviewed.by if reviewed is not None else str(release.body.get("reviewed_by", ""))
    return (
        f"{by}Reviewed by {names.person(reviewer)}, released by {names.person(release.by)} on "
        f"{clock.full(release.at)}."
    )


def role_since(site_events: Sequence[Stored], person: str, clock: Clock) -> str:
    """Return since when a person held the roles that they had at the end."""
    given = [
        each
        for each in site_events
        if each.kind in ("PersonAdded", "RolesChanged") and each.body.get("person") == person
    ]
    return (
        f"since {clock.full(given[-1].at)}, entered by {given[-1].by or 'nobody'}" if given else ""
    )


def anchors(site_events: Sequence[Stored], clock: Clock) -> tuple[str, ...]:
    """Return one line for each note that the site's stream keeps of the run."""
    return tuple(_anchors(site_events, clock))


def _anchors(site_events: Sequence[Stored], clock: Clock) -> Iterator[str]:
    for each in site_events:
        body = each.body
        if each.kind == "RunOpened":
            yield f"Site event {each.seq}, {clock.when(each.at)}: the run was opened."
        elif each.kind == "HeadNoted":
            head = str(body.get("hash", ""))[:16]
            yield (
                f"Site event {each.seq}, {clock.when(each.at)}: the run had come to event "
                f"{body.get('seq')}, head {head}…."
            )
        elif each.kind == "ClockSteppedBack":
            yield (
                f"Site event {each.seq}: the server's clock was found set back, to "
                f"{body.get('clock')} after {body.get('last')}. No event was dated back by it."
            )
