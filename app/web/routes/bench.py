"""The bench: one step of a run; entering on it, signing it, refusing a hold."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.desk.desk import Done
from app.procedure.registry import kind_of
from app.run.commands import Enter, RefuseHold, Sign
from app.run.refusal import Refusal
from app.run.scene import is_blind
from app.web.acting import (
    NOTHING_TOLD,
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
from app.web.answers import json_answer, state_json
from app.web.kept import TheKept, refuse_kept, who_entered
from app.web.pages import page
from app.web.routes.hold import countersign_page
from app.web.submitted import Submitted, TheSubmitted
from app.web.views.bench import bench_view
from app.web.views.words import clock

router = APIRouter()

PAGE, FRAGMENT = "run/page.html", "run/_bench.html"


@router.get("/runs/{run_id}")
async def show(here: TheHere, run_id: str, step: str = "", part: str = "") -> Response:
    """Show a run at the step that is next, or at the one asked for."""
    return _show(here, run_id, PAGE, step=step, part=part)


@router.get("/runs/{run_id}/steps/{step_id}")
async def show_step(here: TheHere, run_id: str, step_id: str, part: str = "") -> Response:
    """Show a run at one step."""
    return _show(here, run_id, PAGE, step=step_id, part=part)


@router.get("/runs/{run_id}/_bench")
async def fragment(here: TheHere, run_id: str, step: str = "", part: str = "") -> Response:
    """Return the bench alone, for a page that has seen that something is new."""
    return _show(here, run_id, FRAGMENT, step=step, part=part)


@router.post("/runs/{run_id}/steps/{step_id}/enter")
async def enter(
    here: TheHere, sent: TheSubmitted, kept: TheKept, run_id: str, step_id: str
) -> Response:
    """Enter values on one part of a step; with a secret, the entry is itself a signature."""
    entering = who_acts(here) if kept is None else await who_entered(here.desk, here.tablet, kept)
    step = the_step(the_run(here.desk, run_id), step_id)
    secret = sent.exact("secret")
    if secret:
        refuse_kept(kept)
    by = sent.text("person") if secret and sent.text("person") else entering
    command = Enter(
        by=by,
        step=step_id,
        part=by if kind_of(step).presence else sent.text("part"),
        values=await keep_photos(here.desk, sent, sent.typed()),
        seen=sent.seen,
        after=kept.after if kept else "",
        tablet=kept.times(here.desk.now()) if kept else {},
    )
    if secret:
        answer = await here.sign_act(run_id, command, secret, sent)
    else:
        answer = await here.act(run_id, command, sent)
    if kept is not None and isinstance(answer, Done):
        here.desk.unsent.arrived(run_id, here.tablet.device)
    return _acted(here, run_id, step_id, answer, sent)


@router.post("/runs/{run_id}/steps/{step_id}/sign")
async def sign(here: TheHere, sent: TheSubmitted, run_id: str, step_id: str) -> Response:
    """Sign a seat of a step: any person known here, with their own secret."""
    who_acts(here)
    the_step(the_run(here.desk, run_id), step_id)
    person, secret = signer(sent)
    command = Sign(by=person, step=step_id, how=sent.text("how"), signed=False, seen=sent.seen)
    answer = await here.sign_act(run_id, command, secret, sent)
    return _acted(here, run_id, step_id, answer, sent)


@router.post("/runs/{run_id}/steps/{step_id}/refuse")
async def refuse(here: TheHere, sent: TheSubmitted, run_id: str, step_id: str) -> Response:
    """Refuse to sign a hold, and say why."""
    who_acts(here)
    the_step(the_run(here.desk, run_id), step_id)
    person, secret = signer(sent)
    command = RefuseHold(
        by=person, step=step_id, reason=sent.text("reason"), signed=False, seen=sent.seen
    )
    answer = await here.sign_act(run_id, command, secret, sent)
    return _acted(here, run_id, step_id, answer, sent)


def _show(here: Here, run_id: str, template: str, *, step: str, part: str) -> Response:
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    if step:
        the_step(seen, step)
    if here.tablet.wants_json:
        return json_answer(state_json(here.desk, seen, step))
    at = here.desk.circumstances(seen, session.entering)
    view = bench_view(seen, at, here.desk.crew(), session, here.desk.now(), step, asked_part=part)
    answer = page(template, here.tablet, view=view, frame=view.frame)
    if template == PAGE and not is_blind(seen.state, view.step):
        answer.headers["X-Reading-Copy"] = "yes"  # a page of a blind step is never kept to be read
    return answer


def _acted(
    here: Here, run_id: str, step_id: str, answer: Done | Refusal, sent: Submitted
) -> Response:
    done = isinstance(answer, Done) and answer.seen.state.progress(step_id).done
    then = f"/runs/{run_id}" + ("" if done else f"?step={step_id}")
    if here.tablet.wants_fragment and not here.tablet.wants_json and isinstance(answer, Done):
        if sent.text("page") == "countersign":
            return Response(headers={"HX-Redirect": then})
        return _bench(here, run_id, "" if done else step_id, said=f"Saved {clock(here.desk.now())}")
    return answered(
        here,
        answer,
        sent,
        step=step_id,
        then=then,
        again=lambda told: _refused(here, run_id, step_id, told),
    )


def _refused(
    here: Here,
    run_id: str,
    step_id: str,
    told: Told,
) -> Response:
    if told.sent is not None and told.sent.text("page") == "countersign":
        return countersign_page(here, run_id, step_id, told)
    return _bench(here, run_id, step_id, told)


def _bench(
    here: Here,
    run_id: str,
    step_id: str,
    told: Told = NOTHING_TOLD,
    *,
    said: str = "",
) -> Response:
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    step = seen.procedure.step(step_id)
    sent = told.sent or Submitted()
    # What was typed stays in the fields, but a blind number is never written back to a screen.
    blind = step is not None and is_blind(seen.state, step)
    view = bench_view(
        seen,
        here.desk.circumstances(seen, session.entering),
        here.desk.crew(),
        session,
        here.desk.now(),
        step_id,
        refusal=told.refusal,
        typed=None if blind else sent.typed(),
        asked_part=sent.text("part"),
        said=said,
    )
    template = FRAGMENT if here.tablet.wants_fragment else PAGE
    return page(template, here.tablet, told.status, view=view, frame=view.frame)
