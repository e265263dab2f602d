"""Correct an entry: the old value stays, struck, beside the new one and the reason."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.desk.seen import Seen
from app.procedure.entry import Entry
from app.run.commands import Correct
from app.run.scene import is_blind
from app.web.acting import (
    NOTHING_TOLD,
    PHOTO_NAME,
    Here,
    TheHere,
    Told,
    answered,
    keep_photos,
    signer,
    the_run,
    the_step,
    who_acts,
)
from app.web.pages import page
from app.web.submitted import Submitted, TheSubmitted
from app.web.turned_away import TurnedAway, not_here
from app.web.views.correct import correct_view

router = APIRouter()

NOT_VALUES = frozenset({"reason", "own_reason"})


@router.get("/runs/{run_id}/entries/{number}/correct")
async def show(here: TheHere, run_id: str, number: int) -> Response:
    """Show what stands, what falls with it, and ask for the right value."""
    return _page(here, run_id, number)


@router.post("/runs/{run_id}/entries/{number}/correct")
async def correct(here: TheHere, sent: TheSubmitted, run_id: str, number: int) -> Response:
    """Strike an entry and put another in its place, signed."""
    who_acts(here)
    entry = _entry(the_run(here.desk, run_id), number)
    person, secret = signer(sent)
    # A photo that was not taken again stands: what was typed was wrong, not what was seen.
    photos = {name: sha for name, sha in entry.values.items() if PHOTO_NAME.fullmatch(name)}
    values = {**photos, **await keep_photos(here.desk, sent, sent.typed(NOT_VALUES))}
    command = Correct(
        by=person,
        entry=number,
        values=values,
        reason=_reason(sent),
        signed=False,
        seen=sent.seen,
    )
    answer = await here.sign_act(run_id, command, secret, sent)
    return answered(
        here,
        answer,
        sent,
        step=entry.step,
        then=f"/runs/{run_id}/steps/{entry.step}",
        again=lambda told: _page(here, run_id, number, told),
    )


def _reason(sent: Submitted) -> str:
    """Return the reason chosen from the list, with the person's own words behind it."""
    return ": ".join(each for each in (sent.text("reason"), sent.text("own_reason")) if each)


def _entry(seen: Seen, number: int) -> Entry:
    """Return an entry that may be shown.

    Raises:
        TurnedAway: there is none, or its count is sealed until all are in.
    """
    entry = seen.state.entry(number)
    if entry is None:
        raise not_here("entry of that number")
    step = the_step(seen, entry.step)
    if is_blind(seen.state, step):
        sentence = f"What was entered on step {step.number} is sealed until all are in."
        raise TurnedAway(422, "count.sealed", sentence, where=f"step {step.number}")
    return entry


def _page(
    here: Here,
    run_id: str,
    number: int,
    told: Told = NOTHING_TOLD,
) -> Response:
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    entry = _entry(seen, number)
    at = here.desk.circumstances(seen, entry.by)
    view = correct_view(
        seen, entry, at, here.desk.crew(), session, refusal=told.refusal, sent=told.sent
    )
    return page("correct/page.html", here.tablet, told.status, view=view, frame=view.frame)
