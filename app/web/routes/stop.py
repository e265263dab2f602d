"""Stop work and restart: one tap stops, by anyone and without a secret; two people restart."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from app.desk.desk import Done
from app.run.commands import SignRestart, StopWork
from app.run.refusal import Refusal
from app.web.acting import NOTHING_TOLD, Here, TheHere, Told, answered, signer, the_run, who_acts
from app.web.answers import json_answer, state_json
from app.web.pages import page
from app.web.submitted import Submitted, TheSubmitted
from app.web.views.stop import all_stopped_view, stopped_view

router = APIRouter()


@router.post("/stop")
async def stop_all(here: TheHere, sent: TheSubmitted) -> Response:
    """Stop every open run: for a tablet that shows none."""
    answers = [
        await _stop(here, sent, state.run)
        for state in here.desk.runs()
        if state.status in ("open", "suspended")
    ]
    if here.tablet.wants_json:
        done = [each for each in answers if isinstance(each, Done)]
        return json_answer({"stopped": [state_json(here.desk, each.seen) for each in done]})
    return RedirectResponse("/stopped", status_code=303)


@router.post("/runs/{run_id}/stop")
async def stop(here: TheHere, sent: TheSubmitted, run_id: str) -> Response:
    """Stop one run. No session is asked for, and no secret."""
    the_run(here.desk, run_id)
    answer = await _stop(here, sent, run_id)
    return answered(
        here,
        answer,
        sent,
        step="",
        then=f"/runs/{run_id}/stopped",
        again=lambda told: _stopped_page(here, run_id, told),
    )


async def _stop(here: Here, sent: Submitted, run_id: str) -> Done | Refusal:
    command = StopWork(by=here.tablet.entering, text=sent.text("text"))
    return await here.act(run_id, command, sent)


@router.get("/stopped")
async def all_stopped(here: TheHere) -> Response:
    """Show every run in which work is stopped, with its make-safe lines."""
    stopped = [here.desk.run(state.run) for state in here.desk.runs() if state.stop is not None]
    view = all_stopped_view([seen for seen in stopped if seen is not None], here.tablet.session)
    return page("stop/all.html", here.tablet, view=view, frame=view.frame)


@router.get("/runs/{run_id}/stopped")
async def stopped(here: TheHere, run_id: str) -> Response:
    """Show what to do this second, and who can restart. No session is asked for."""
    return _stopped_page(here, run_id)


@router.post("/runs/{run_id}/restart")
async def restart(here: TheHere, sent: TheSubmitted, run_id: str) -> Response:
    """Sign that every make-safe line is done; the second of two signatures restarts work."""
    the_run(here.desk, run_id)
    who_acts(here)
    person, secret = signer(sent)
    command = SignRestart(
        by=person, confirmed=sent.texts("confirmed"), reason=sent.text("reason"), signed=False
    )
    answer = await here.sign_act(run_id, command, secret, sent)
    then = f"/runs/{run_id}/stopped"
    if isinstance(answer, Done) and answer.seen.state.stop is None:
        then = f"/runs/{run_id}"
    return answered(
        here,
        answer,
        sent,
        step="",
        then=then,
        again=lambda told: _stopped_page(here, run_id, told),
    )


def _stopped_page(
    here: Here,
    run_id: str,
    told: Told = NOTHING_TOLD,
) -> Response:
    view = stopped_view(
        the_run(here.desk, run_id),
        here.tablet.session,
        here.desk.crew(),
        refusal=told.refusal,
        sent=told.sent,
    )
    return page("stop/page.html", here.tablet, told.status, view=view, frame=view.frame)
