"""Suspend at a safe point, and resume after the last state was confirmed by looking."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.run.commands import Resume, Suspend
from app.web.acting import NOTHING_TOLD, Here, TheHere, Told, answered, signer, the_run, who_acts
from app.web.pages import page
from app.web.submitted import TheSubmitted
from app.web.views.pause import resume_view, suspend_view

router = APIRouter()


@router.get("/runs/{run_id}/suspend")
async def show_suspend(here: TheHere, run_id: str) -> Response:
    """Ask how the mirror and the equipment are left."""
    return _suspend_page(here, run_id)


@router.post("/runs/{run_id}/suspend")
async def suspend(here: TheHere, sent: TheSubmitted, run_id: str) -> Response:
    """Leave the work, signed."""
    who_acts(here)
    the_run(here.desk, run_id)
    person, secret = signer(sent)
    command = Suspend(by=person, state=sent.text("state"), signed=False)
    answer = await here.sign_act(run_id, command, secret, sent)
    return answered(
        here,
        answer,
        sent,
        step="",
        then=f"/runs/{run_id}/resume",
        again=lambda told: _suspend_page(here, run_id, told),
    )


@router.get("/runs/{run_id}/resume")
async def show_resume(here: TheHere, run_id: str) -> Response:
    """Show the last state, line by line."""
    return _resume_page(here, run_id)


@router.post("/runs/{run_id}/resume")
async def resume(here: TheHere, sent: TheSubmitted, run_id: str) -> Response:
    """Take the work up again, signed."""
    who_acts(here)
    the_run(here.desk, run_id)
    person, secret = signer(sent)
    command = Resume(by=person, confirmed=sent.texts("confirmed"), signed=False)
    answer = await here.sign_act(run_id, command, secret, sent)
    return answered(
        here,
        answer,
        sent,
        step="",
        then=f"/runs/{run_id}",
        again=lambda told: _resume_page(here, run_id, told),
    )


def _suspend_page(
    here: Here,
    run_id: str,
    told: Told = NOTHING_TOLD,
) -> Response:
    session = here.tablet.signed_on
    view = suspend_view(
        the_run(here.desk, run_id), here.desk.crew(), session, refusal=told.refusal, sent=told.sent
    )
    return page("pause/suspend.html", here.tablet, told.status, view=view, frame=view.frame)


def _resume_page(
    here: Here,
    run_id: str,
    told: Told = NOTHING_TOLD,
) -> Response:
    session = here.tablet.signed_on
    view = resume_view(
        the_run(here.desk, run_id), here.desk.crew(), session, refusal=told.refusal, sent=told.sent
    )
    return page("pause/resume.html", here.tablet, told.status, view=view, frame=view.frame)
