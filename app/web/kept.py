"""An entry that a tablet had kept before it was sent: who entered it, and when by the tablet's clock.

Rules: only entries and a stop of work may wait on a tablet; whatever is signed may not, and is
turned away if it says that it did. Who entered is believed if they were entering at this tablet then.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Annotated

from fastapi import Depends, Request

from app.desk.desk import Desk
from app.run.tablet_time import TabletTime, reckoned
from app.web.tablet import Tablet
from app.web.turned_away import TurnedAway, nobody_signed_on, untouched

BY, MADE, SENT, AGE = "kept-by", "kept-made", "kept-sent", "kept-age-ms"
AFTER, HANDS = "kept-after", "kept-hands"
LONGEST = timedelta(days=60)
LONGEST_NAME = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What a tablet says of an entry that it had kept."""

    by: str
    time: TabletTime
    after: str
    hands: str = ""  # the proof that the page carried on which it was entered

    def times(self, received: datetime) -> Mapping[str, str]:
        """Return the entry's times as the record has them."""
        return reckoned(self.time, received)


async def kept_of(request: Request) -> Kept | None:
    """Read what a tablet says of an entry; None where it had not kept it.

    Raises:
        TurnedAway: it says it so that it cannot be read.
    """
    said = request.headers
    if BY not in said:
        return None
    try:
        time = TabletTime(made=_moment(said[MADE]), sent=_moment(said[SENT]), age=_age(said))
    except (KeyError, ValueError, OverflowError) as broken:
        sentence = "The tablet did not say when it was entered. Not saved."
        raise TurnedAway(400, "kept.unreadable", sentence) from broken
    return Kept(
        by=said[BY][:LONGEST_NAME],
        time=time,
        after=said.get(AFTER, "")[:LONGEST_NAME],
        hands=said.get(HANDS, "")[:LONGEST_NAME],
    )


TheKept = Annotated[Kept | None, Depends(kept_of)]


async def who_entered(desk: Desk, tablet: Tablet, kept: Kept) -> str:
    """Return who entered it, if they were entering at this tablet at that time.

    Raises:
        TurnedAway: they were not, or nobody has ever signed on at this tablet.
    """
    if tablet.entering and tablet.entering == kept.by:
        return kept.by
    at = datetime.fromisoformat(kept.times(desk.now())["estimated"])
    if tablet.locked and tablet.token:
        locked = desk.sessions.locked_since(tablet.token, desk.now())
        if locked is not None and at >= locked:
            raise untouched()
    asked = partial(desk.sessions.was_entering, tablet.token, kept.by, at, proof=kept.hands)
    if await asyncio.to_thread(asked):
        return kept.by
    if tablet.session is None:
        raise nobody_signed_on()
    sentence = (
        f"{kept.by} was not entering at this tablet at {at:%H:%M:%S} UTC. Nothing was saved. "
        "Whoever read it enters it again."
    )
    raise TurnedAway(403, "kept.not_then", sentence, who=kept.by, where="at this tablet")


def refuse_kept(kept: Kept | None) -> None:
    """Turn away what is signed, if a tablet had kept it.

    Raises:
        TurnedAway: it was kept.
    """
    if kept is not None:
        sentence = "A signature is never kept on a tablet. Nothing was signed. Sign with a link."
        raise TurnedAway(400, "kept.signature", sentence)


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(text)
    return moment.astimezone(UTC)


def _age(said: Mapping[str, str]) -> timedelta | None:
    if AGE not in said:
        return None
    age = timedelta(milliseconds=int(said[AGE]))
    if not timedelta(0) <= age <= LONGEST:
        raise ValueError(said[AGE])
    return age
