"""Holds that wait, and the page on which one is read and countersigned."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.web.acting import NOTHING_TOLD, Here, TheHere, Told, the_run, the_step
from app.web.pages import page
from app.web.views.hold import countersign_view, holds_view

router = APIRouter()


@router.get("/holds")
async def holds(here: TheHere) -> Response:
    """Show the holds that wait, the most pressing first."""
    session = here.tablet.signed_on
    runs = [here.desk.run(state.run) for state in here.desk.runs() if state.status == "open"]
    found = [each for each in runs if each is not None]
    view = holds_view(found, here.desk.crew(), session, here.desk.now())
    return page("hold/queue.html", here.tablet, view=view, frame=view.frame)


@router.get("/runs/{run_id}/steps/{step_id}/countersign")
async def countersign(here: TheHere, run_id: str, step_id: str) -> Response:
    """Show a hold's sentence, its evidence, and where it is signed."""
    return countersign_page(here, run_id, step_id)


def countersign_page(
    here: Here,
    run_id: str,
    step_id: str,
    told: Told = NOTHING_TOLD,
) -> Response:
    """Return the page of a hold, with why the last act on it was not done."""
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    the_step(seen, step_id)
    at = here.desk.circumstances(seen, session.entering)
    view = countersign_view(
        seen, at, here.desk.crew(), session, here.desk.now(), step_id, refusal=told.refusal
    )
    return page("hold/countersign.html", here.tablet, told.status, view=view, frame=view.frame)
