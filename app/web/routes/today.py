"""Today: what to do next, what else is open, and opening a run."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.desk.desk import Done
from app.web.acting import NOTHING_TOLD, Here, TheHere, Told, answered, signer, who_acts
from app.web.pages import page
from app.web.submitted import TheSubmitted
from app.web.views.today import today_view

router = APIRouter()


@router.get("/")
@router.get("/today")
async def today(here: TheHere) -> Response:
    """Show the one procedure to go on with."""
    _ = here.tablet.signed_on
    return _page(here)


@router.post("/runs")
async def open_run(here: TheHere, sent: TheSubmitted) -> Response:
    """Open a run of a released procedure, signed."""
    who_acts(here)
    procedure = sent.needed("procedure", "Say which procedure is to be opened. Nothing was opened.")
    person, secret = signer(sent)
    answer = await here.desk.open_run(
        procedure, by=person, secret=secret, key=sent.key, device=here.tablet.device
    )
    return answered(
        here,
        answer,
        sent,
        step="",
        then=f"/runs/{answer.seen.state.run}" if isinstance(answer, Done) else "/",
        again=lambda told: _page(here, told),
    )


def _page(here: Here, told: Told = NOTHING_TOLD) -> Response:
    seen = [here.desk.run(state.run) for state in here.desk.runs()]
    view = today_view(
        [each for each in seen if each is not None],
        here.desk.released(),
        here.desk.crew(),
        here.tablet.signed_on,
        here.desk.now(),
        refusal=told.refusal,
        sent=told.sent,
    )
    return page("today/page.html", here.tablet, told.status, view=view, frame=view.frame)
