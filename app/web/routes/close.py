"""Close a run: every step done, the hardware as promised, one signature; then it is sealed."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.run.commands import Close
from app.web.acting import NOTHING_TOLD, Here, TheHere, Told, answered, signer, the_run, who_acts
from app.web.pages import page
from app.web.submitted import TheSubmitted
from app.web.views.close import close_view

router = APIRouter()


@router.get("/runs/{run_id}/close")
async def show(here: TheHere, run_id: str) -> Response:
    """Show what still stands against closing, or ask for the signature."""
    return _page(here, run_id)


@router.post("/runs/{run_id}/close")
async def close(here: TheHere, sent: TheSubmitted, run_id: str) -> Response:
    """Close the run, signed. The desk seals its record meanwhile."""
    who_acts(here)
    the_run(here.desk, run_id)
    person, secret = signer(sent)
    unsent = tuple(report.words() for report in here.desk.unsent.left(run_id))
    reason = sent.text("reason")
    command = Close(by=person, signed=False, seen=sent.seen, unsent=unsent, reason=reason)
    answer = await here.sign_act(run_id, command, secret, sent)
    return answered(
        here,
        answer,
        sent,
        step="",
        then=f"/records/{run_id}",
        again=lambda told: _page(here, run_id, told),
    )


def _page(here: Here, run_id: str, told: Told = NOTHING_TOLD) -> Response:
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    unsent = tuple(report.words() for report in here.desk.unsent.left(run_id))
    view = close_view(seen, here.desk.crew(), session, refusal=told.refusal, unsent=unsent)
    return page("close/page.html", here.tablet, told.status, view=view, frame=view.frame)
