"""Sign on, change hands, sign off: who is entering at this here.tablet."""

from __future__ import annotations

import asyncio
from http import HTTPStatus

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from app.people.sessions import Session
from app.run.refusal import Refusal
from app.web.acting import Here, TheHere
from app.web.answers import json_answer, refusal_json, status_of
from app.web.errors import in_told_place
from app.web.pages import page
from app.web.submitted import TheSubmitted
from app.web.tablet import DEVICE, TOKEN, Tablet, keep_cookie, new_device
from app.web.turned_away import nobody_signed_on, not_readable
from app.web.views.sign_on import sign_on_view

router = APIRouter()


@router.get("/sign-on")
async def show(here: TheHere, back: str = "/") -> Response:
    """Ask who is entering now."""
    return _page(here, back=local_page(back))


@router.post("/sign-on")
async def sign_on(request: Request, here: TheHere, sent: TheSubmitted) -> Response:
    """Sign a person on at this tablet; they are entering now."""
    back = local_page(sent.text("back"))
    person = sent.needed("person", "Say who signs on. Nobody was signed on.")
    if not sent.exact("secret"):
        raise not_readable(f"{person} signs on with their own secret. Nobody was signed on.")
    device = here.tablet.device or new_device()
    refusal = await here.desk.why_not_own(person, sent.exact("secret"), device)
    if refusal is not None:
        return _refused(here, refusal, back=back, person=person)
    session = await asyncio.to_thread(here.desk.sessions.sign_on, here.tablet.token, person, device)
    response = _signed_on(here.tablet, session, back)
    keep_cookie(request, response, TOKEN, session.token)
    keep_cookie(request, response, DEVICE, device)
    return response


def _signed_on(tablet: Tablet, session: Session, back: str) -> Response:
    if tablet.wants_json:
        return json_answer(session_json(session))
    if tablet.wants_fragment:
        return in_told_place(page("sign_on/_now.html", tablet, person=session.entering))
    return RedirectResponse(back, status_code=303)


@router.post("/hands")
async def hands(here: TheHere, sent: TheSubmitted) -> Response:
    """Say that another of the people at this tablet is entering now."""
    back = local_page(sent.text("back"))
    person = sent.needed("person", "Say who is entering now. Nothing was changed.")
    if here.tablet.session is None:
        raise nobody_signed_on()
    answer = await asyncio.to_thread(here.desk.sessions.change_hands, here.tablet.token, person)
    if isinstance(answer, Refusal):
        return _refused(here, answer, back=back, person=person)
    if here.tablet.wants_json:
        return json_answer(session_json(answer))
    return RedirectResponse(back, status_code=303)


@router.post("/sign-off")
async def sign_off(here: TheHere, sent: TheSubmitted) -> Response:
    """Sign one person off at this tablet: the one named, else the one entering."""
    if here.tablet.session is None:
        raise nobody_signed_on()
    person = sent.text("person") or here.tablet.entering
    left = await asyncio.to_thread(here.desk.sessions.sign_off, here.tablet.token, person)
    if here.tablet.wants_json:
        return json_answer(session_json(left))
    return RedirectResponse("/sign-on", status_code=303)


def session_json(session: Session | None) -> dict[str, object]:
    """Return who is at the tablet, as the contract has it."""
    if session is None:
        return {"people": [], "entering": "", "until": ""}
    until = session.until.isoformat(timespec="seconds")
    return {"people": list(session.people), "entering": session.entering, "until": until}


def local_page(asked: str) -> str:
    """Return a page of ours to go back to: a path, never another site."""
    plain = asked.startswith("/") and not asked.startswith(("//", "/\\"))
    return asked if plain and asked.isprintable() and "\\" not in asked else "/"


def _refused(here: Here, refusal: Refusal, *, back: str, person: str) -> Response:
    # 401 is kept for "nobody is signed on": a wrong secret is a refusal of its own.
    status = max(status_of(refusal), HTTPStatus.FORBIDDEN)
    if here.tablet.wants_json:
        return json_answer(refusal_json(refusal), status)
    if here.tablet.wants_fragment:
        return in_told_place(page("run/_told.html", here.tablet, status, refusal=refusal))
    return _page(here, back=back, refusal=refusal, status=status, person=person)


def _page(
    here: Here,
    *,
    back: str,
    refusal: Refusal | None = None,
    status: int = 200,
    person: str = "",
) -> Response:
    view = sign_on_view(
        here.desk.crew(), here.tablet.session, back=back, refusal=refusal, chosen=person
    )
    return page("sign_on/page.html", here.tablet, status, view=view, frame=view.frame)
