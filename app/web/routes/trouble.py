"""Trouble: reporting it on a step, and deciding what becomes of it."""

from __future__ import annotations

from typing import cast, get_args

from fastapi import APIRouter
from starlette.responses import Response

from app.run.commands import DisposeTrouble, Disposition, ReportTrouble
from app.web.acting import (
    NOTHING_TOLD,
    Here,
    TheHere,
    Told,
    answered,
    signer,
    the_run,
    the_step,
    who_acts,
)
from app.web.pages import page
from app.web.submitted import Submitted, TheSubmitted
from app.web.turned_away import not_here, not_readable
from app.web.views.look import next_step
from app.web.views.trouble import dispose_view, report_view, troubles_view

router = APIRouter()


@router.get("/runs/{run_id}/troubles")
async def show_all(here: TheHere, run_id: str) -> Response:
    """Show the troubles of a run, the open ones first."""
    view = troubles_view(the_run(here.desk, run_id), here.tablet.signed_on)
    return page("trouble/all.html", here.tablet, view=view, frame=view.frame)


@router.get("/runs/{run_id}/trouble")
async def show_report_here(here: TheHere, run_id: str, step: str = "", part: str = "") -> Response:
    """Ask what is wrong, on the step asked for or the one that is next."""
    seen = the_run(here.desk, run_id)
    asked = step or next_step(seen.procedure, seen.state).id
    return _report_page(here, run_id, asked, part=part)


@router.get("/runs/{run_id}/steps/{step_id}/trouble")
async def show_report(here: TheHere, run_id: str, step_id: str, part: str = "") -> Response:
    """Ask what is wrong on a step."""
    return _report_page(here, run_id, step_id, part=part)


@router.post("/runs/{run_id}/steps/{step_id}/trouble")
async def report(here: TheHere, sent: TheSubmitted, run_id: str, step_id: str) -> Response:
    """Report that something is wrong; the step is shut until someone else decides."""
    by = who_acts(here)
    the_step(the_run(here.desk, run_id), step_id)
    command = ReportTrouble(by=by, step=step_id, text=sent.text("text"), part=sent.text("part"))
    answer = await here.act(run_id, command, sent)
    return answered(
        here,
        answer,
        sent,
        step=step_id,
        then=f"/runs/{run_id}/steps/{step_id}",
        again=lambda told: _report_page(here, run_id, step_id, told),
    )


@router.get("/runs/{run_id}/troubles/{number}")
async def show_dispose(here: TheHere, run_id: str, number: int) -> Response:
    """Show a trouble, and what can become of it."""
    return _dispose_page(here, run_id, number)


@router.post("/runs/{run_id}/troubles/{number}")
async def dispose(here: TheHere, sent: TheSubmitted, run_id: str, number: int) -> Response:
    """Decide what becomes of a trouble, signed by someone who did not report it."""
    who_acts(here)
    step = _step_of(here, run_id, number)
    if sent.text("disposition") not in get_args(Disposition):
        raise not_readable("Say what becomes of it: use as is, redo, repair or reject. Not saved.")
    person, secret = signer(sent)
    command = DisposeTrouble(
        by=person,
        trouble=number,
        disposition=cast("Disposition", sent.text("disposition")),
        reason=sent.text("reason"),
        signed=False,
    )
    answer = await here.sign_act(run_id, command, secret, sent)
    return answered(
        here,
        answer,
        sent,
        step=step,
        then=f"/runs/{run_id}/steps/{step}",
        again=lambda told: _dispose_page(here, run_id, number, told),
    )


def _step_of(here: Here, run_id: str, number: int) -> str:
    for trouble in the_run(here.desk, run_id).state.troubles:
        if trouble.number == number:
            return trouble.step
    raise not_here("trouble of that number")


def _report_page(
    here: Here,
    run_id: str,
    step_id: str,
    told: Told = NOTHING_TOLD,
    *,
    part: str = "",
) -> Response:
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    step = the_step(seen, step_id)
    sent = told.sent or Submitted(fields={"part": (part,)})
    at = here.desk.circumstances(seen, session.entering)
    view = report_view(seen, step, at, here.desk.crew(), session, refusal=told.refusal, sent=sent)
    return page("trouble/report.html", here.tablet, told.status, view=view, frame=view.frame)


def _dispose_page(
    here: Here,
    run_id: str,
    number: int,
    told: Told = NOTHING_TOLD,
) -> Response:
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    step = the_step(seen, _step_of(here, run_id, number))
    view = dispose_view(
        seen, step, number, here.desk.crew(), session, refusal=told.refusal, sent=told.sent
    )
    return page("trouble/dispose.html", here.tablet, told.status, view=view, frame=view.frame)
