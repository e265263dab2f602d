"""What the lead decides about one run with another person: another text for it, or its end."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.run.commands import Abandon, ChangeSteps
from app.web.acting import NOTHING_TOLD, Here, TheHere, Told, answered, signer, the_run, who_acts
from app.web.pages import page
from app.web.submitted import Submitted, TheSubmitted
from app.web.turned_away import not_readable
from app.web.views.decide import abandon_view, change_view

router = APIRouter()


@router.get("/runs/{run_id}/abandon")
async def show_abandon(here: TheHere, run_id: str) -> Response:
    """Ask why the run cannot be finished, and how everything is left."""
    return _abandon_page(here, run_id)


@router.post("/runs/{run_id}/abandon")
async def abandon(here: TheHere, sent: TheSubmitted, run_id: str) -> Response:
    """End the run unfinished, signed by two. The desk seals its record meanwhile."""
    who_acts(here)
    the_run(here.desk, run_id)
    person, secret = signer(sent)
    command = Abandon(
        by=person,
        second=sent.text("second"),
        reason=sent.text("reason"),
        state=sent.text("state"),
        signed=False,
    )
    answer = await here.desk.decide_together(
        run_id,
        command,
        (secret, sent.exact("second_secret")),
        key=sent.key,
        device=here.tablet.device,
    )
    return answered(
        here,
        answer,
        sent,
        step="",
        then=f"/records/{run_id}",
        again=lambda told: _abandon_page(here, run_id, told),
    )


@router.get("/runs/{run_id}/change")
async def show_change(here: TheHere, run_id: str, step: str = "") -> Response:
    """Show which steps can be changed for this run, and the lines of one."""
    return _change_page(here, run_id, step=step)


@router.post("/runs/{run_id}/change")
async def change(here: TheHere, sent: TheSubmitted, run_id: str) -> Response:
    """Approve other lines for steps of this run, signed by two, once they are proved."""
    who_acts(here)
    seen = the_run(here.desk, run_id)
    person, secret = signer(sent)
    command = ChangeSteps(
        by=person,
        second=sent.text("second"),
        reason=sent.text("reason"),
        until=_moment(sent.text("until")),
        until_step=sent.text("until_step"),
        sha256="",
        signed=False,
    )
    steps, lines = sent.texts("step"), sent.several("lines")
    if not steps or len(steps) != len(lines):
        raise not_readable("Say which step is changed, and its lines. Nothing was saved.")
    answer = await here.desk.decide_together(
        run_id,
        command,
        (secret, sent.exact("second_secret")),
        key=sent.key,
        device=here.tablet.device,
        text=here.desk.change_desk.with_lines(seen.state, tuple(zip(steps, lines, strict=True))),
    )
    return answered(
        here,
        answer,
        sent,
        step="",
        then=f"/runs/{run_id}",
        again=lambda told: _change_page(here, run_id, told, step=steps[0], sent=sent),
    )


def _moment(typed: str) -> str:
    """Return a moment as typed on the page, which asks for UTC and sends no zone."""
    return f"{typed}:00+00:00" if len(typed) == len("2027-05-06T10:00") else typed


def _abandon_page(here: Here, run_id: str, told: Told = NOTHING_TOLD) -> Response:
    view = abandon_view(
        the_run(here.desk, run_id),
        here.desk.crew(),
        here.tablet.signed_on,
        refusal=told.refusal,
        sent=told.sent,
    )
    return page("decide/abandon.html", here.tablet, told.status, view=view, frame=view.frame)


def _change_page(
    here: Here,
    run_id: str,
    told: Told = NOTHING_TOLD,
    *,
    step: str = "",
    sent: Submitted | None = None,
) -> Response:
    seen = the_run(here.desk, run_id)
    view = change_view(
        seen,
        here.desk.procedure_of(seen),
        here.desk.crew(),
        here.tablet.signed_on,
        step=step,
        lines=here.desk.change_desk.lines(seen.state, step) if step else "",
        refusal=told.refusal,
        sent=sent,
    )
    return page("decide/change.html", here.tablet, told.status, view=view, frame=view.frame)
