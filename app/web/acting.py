"""What every route that acts has in common: whose act it is, on what, and how it is answered."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request
from starlette.responses import RedirectResponse, Response

from app.desk.desk import Desk, Done
from app.desk.seen import Seen
from app.procedure.model import Step
from app.run.commands import Command
from app.run.refusal import Refusal
from app.web.answers import json_answer, refusal_json, state_json, status_of
from app.web.submitted import Submitted
from app.web.tablet import Tablet, tablet_of, the_desk
from app.web.turned_away import TurnedAway, not_here, not_readable, reading_only
from app.web.uploads import drawn_anew

PHOTO_NAME = re.compile(r"photo[0-9]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """Where an act comes in: the desk, and the tablet at it."""

    desk: Desk
    tablet: Tablet

    async def act(self, run_id: str, command: Command, sent: Submitted) -> Done | Refusal:
        """Do an act that needs no secret."""
        return await self.desk.act(run_id, command, key=sent.key, device=self.tablet.device)

    async def sign_act(
        self, run_id: str, command: Command, secret: str, sent: Submitted
    ) -> Done | Refusal:
        """Do an act that is signed with the person's own secret; once for each sheet."""
        key = sent.key

        async def sign() -> Done | Refusal:
            device = self.tablet.device
            return await self.desk.sign_act(run_id, command, secret=secret, key=key, device=device)

        return await self.desk.sheets.once(run_id, key, sign)


async def here(request: Request) -> Here:
    """Return the desk and the tablet of a request."""
    desk = the_desk(request)
    return Here(desk=desk, tablet=tablet_of(request, desk))


TheHere = Annotated[Here, Depends(here)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a page is drawn again with: why the act was not done, and what was typed."""

    refusal: Refusal | None = None
    status: int = 200
    sent: Submitted | None = None


NOTHING_TOLD = Told()

Draw = Callable[[Told], Response]


def the_run(desk: Desk, run_id: str) -> Seen:
    """Return a run.

    Raises:
        TurnedAway: there is no such run.
    """
    seen = desk.run(run_id)
    if seen is None:
        raise not_here("run of that number")
    return seen


def the_step(seen: Seen, step_id: str) -> Step:
    """Return a step of the run's procedure.

    Raises:
        TurnedAway: there is no such step.
    """
    step = seen.procedure.step(step_id)
    if step is None:
        raise not_here("step of that name")
    return step


def who_acts(here: Here) -> str:
    """Return the person who is entering at this tablet, if they may act at all.

    Raises:
        TurnedAway: nobody is signed on, nobody is entering, or they may only read.
    """
    person = here.tablet.signed_on.entering
    if not person:
        sentence = "Nobody is entering at this tablet now. Say who is. Nothing was saved."
        raise TurnedAway(401, "session.no_hands", sentence, where="Change hands")
    if not may_act(here.desk, person):
        raise reading_only()
    return person


def may_act(desk: Desk, person: str) -> bool:
    """Say whether a person has any part in a run; someone who audits has none."""
    return desk.crew().may(person, "perform")


def signer(sent: Submitted) -> tuple[str, str]:
    """Return the person who signs and the secret that they gave.

    Raises:
        TurnedAway: one of the two is missing.
    """
    person = sent.needed("person", "Say who signs. Nothing was saved.")
    secret = sent.exact("secret")
    if not secret:
        raise not_readable(f"{person} signs with {person}'s own secret. Nothing was saved.")
    return person, secret


async def keep_photos(desk: Desk, sent: Submitted, values: Mapping[str, str]) -> dict[str, str]:
    """Keep the photos of an entry, and return its values with the photos' digests.

    Raises:
        TurnedAway: a photo is not one, or a digest names no photo that is kept.
    """
    kept = dict(values)
    for name, photo in sent.photos.items():
        anew, suffix = await asyncio.to_thread(drawn_anew, photo)
        kept[name] = await asyncio.to_thread(desk.blobs.keep, anew, suffix)
    for name, value in values.items():
        named = PHOTO_NAME.fullmatch(name) is not None and name not in sent.photos and value
        if named and desk.blobs.path(value) is None:
            raise not_readable("The photo did not arrive. Take it again. Not saved.")
    return kept


def answered(  # noqa: PLR0913 - each is named where it is given
    here: Here, answer: Done | Refusal, sent: Submitted, *, step: str, then: str, again: Draw
) -> Response:
    """Answer an act.

    Args:
        here: where it was done, and which kind of answer the tablet reads.
        answer: what the desk says.
        sent: what was typed: it stays in the fields after a refusal.
        step: the step to show in JSON; "" for the one that is next.
        then: where a page goes on.
        again: draws the page anew, with the refusal.
    """
    if isinstance(answer, Refusal):
        status = status_of(answer)
        if here.tablet.wants_json:
            return json_answer(refusal_json(answer), status)
        return again(Told(refusal=answer, status=status, sent=sent))
    if here.tablet.wants_json:
        return json_answer(state_json(here.desk, answer.seen, step))
    if here.tablet.wants_fragment:
        return Response(headers={"HX-Redirect": then})
    return RedirectResponse(then, status_code=303)
