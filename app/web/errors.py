"""What is answered when an act cannot be done: the refusal, the ledger's trouble, our own bug."""

from __future__ import annotations

import logging
from http import HTTPStatus

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection
from starlette.responses import HTMLResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.ledger.trouble import LedgerTrouble
from app.record.trouble import RecordTrouble
from app.run.refusal import Refusal
from app.web.answers import json_answer, refusal_json, status_of
from app.web.pages import page, templates
from app.web.tablet import Tablet, tablet_of, the_desk
from app.web.turned_away import TurnedAway
from app.web.views.frame import Way, frame_of
from app.web.views.people import people_to_choose

log = logging.getLogger(__name__)

NOT_DONE = (
    "Something in the program did not work. Nothing was saved. The keeper finds it in the log."
)


def answer_errors(app: FastAPI) -> None:
    """Say in sentences whatever can go wrong."""
    app.add_exception_handler(TurnedAway, turned_away)
    app.add_exception_handler(LedgerTrouble, ledger_trouble)
    app.add_exception_handler(RecordTrouble, record_trouble)
    app.add_exception_handler(RequestValidationError, form_unreadable)
    app.add_exception_handler(HTTPException, http_error)


async def turned_away(request: Request, error: Exception) -> Response:
    """Answer a request that was turned away before it reached the desk."""
    assert isinstance(error, TurnedAway)  # noqa: S101 - this is how it was registered
    return told(request, error.refusal, error.status)


async def ledger_trouble(request: Request, error: Exception) -> Response:
    """Answer when the ledger cannot be written or read."""
    assert isinstance(error, LedgerTrouble)  # noqa: S101
    log.error("ledger: %s (%s %s)", error.sentence, request.method, request.url.path)
    refusal = Refusal(code=f"ledger.{error.code}", sentence=error.sentence, who="the keeper")
    return told(request, refusal, status_of(refusal))


async def record_trouble(request: Request, error: Exception) -> Response:
    """Answer when a record cannot be printed or sealed now."""
    log.error("record: %s (%s)", error, request.url.path)
    sentence = f"The record cannot be sealed now. {error}"
    return told(request, Refusal(code="ledger.record", sentence=sentence, who="the keeper"), 503)


async def form_unreadable(request: Request, error: Exception) -> Response:
    """Answer an address or a query that does not say what it must."""
    log.info("unreadable: %s %s: %s", request.method, request.url.path, type(error).__name__)
    sentence = "The page did not send what it must. Load it again. Not saved."
    return told(request, Refusal(code="form.unreadable", sentence=sentence), 422)


async def http_error(request: Request, error: Exception) -> Response:
    """Answer an address where there is nothing, or a method that it does not take."""
    assert isinstance(error, HTTPException)  # noqa: S101
    if error.status_code == HTTPStatus.NOT_FOUND:
        refusal = Refusal(code="page.none", sentence="There is no page here.", where="Today")
    else:
        refusal = Refusal(code="page.refused", sentence="This page cannot be used like that.")
    return told(request, refusal, error.status_code)


class RequestEdge:
    """Answers when the program itself is wrong: a sentence for the person, the rest for the log.

    It stands inside the headers, so that this answer carries them too.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, whatever happens."""
        begun = False

        async def send_on(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self.app(scope, receive, send_on)
        except Exception:
            if scope["type"] != "http":
                raise
            log.exception("bug: %s %s", scope["method"], scope["path"])
            if begun:  # half an answer is out: only the connection can be dropped
                raise
            await refuse_at_the_door(scope, receive, send, 500, "program.bug", NOT_DONE)


def told(request: Request, refusal: Refusal, status: int) -> Response:
    """Say a refusal as a page, a fragment or JSON, as the tablet asked."""
    tablet = tablet_of(request, the_desk(request))
    if tablet.wants_json:
        return json_answer(refusal_json(refusal), status)
    if status == HTTPStatus.UNAUTHORIZED:
        return _sign_on_again(request, tablet, refusal)
    if tablet.wants_fragment:
        return in_told_place(page("run/_told.html", tablet, status, refusal=refusal))
    frame = frame_of(
        tablet.session, where="Not done", links=(Way(words="Today", href="/"),), stop="/stop"
    )
    return page("error/page.html", tablet, status, refusal=refusal, frame=frame)


def in_told_place(response: Response) -> Response:
    """Put a fragment where refusals are told: the form in which someone types stays as it is."""
    response.headers["HX-Retarget"] = "#told"
    response.headers["HX-Reswap"] = "outerHTML"
    response.headers["HX-Reselect"] = "#told"  # whatever part of a page the form asked for
    return response


def _sign_on_again(request: Request, tablet: Tablet, refusal: Refusal) -> Response:
    back = request.url.path if request.method == "GET" else _page_of(request.url.path)
    given = {
        "refusal": None if request.method == "GET" else refusal,  # the page asks; it need not tell
        "chooser": people_to_choose(the_desk(request).crew(), tablet.session),
        "back": back,
        "frame": frame_of(tablet.session, where="Sign on", stop="/stop"),
    }
    if tablet.wants_fragment:
        return in_told_place(page("sign_on/_again.html", tablet, 401, **given))
    return page("sign_on/again.html", tablet, 401, **given)


def _page_of(path: str) -> str:
    """Return the page from which an act was sent: its own address without the act."""
    return path.rpartition("/")[0] or "/"


async def refuse_at_the_door(  # noqa: PLR0913, PLR0917 - an ASGI call and what to say
    scope: Scope, receive: Receive, send: Send, status: int, code: str, sentence: str
) -> None:
    """Answer a request that does not even reach a page."""
    refusal = Refusal(code=code, sentence=sentence)
    if _wants_json(HTTPConnection(scope)):
        response: Response = json_answer(refusal_json(refusal), status)
    else:
        response = _plain(refusal, status)
    await response(scope, receive, send)


def _plain(refusal: Refusal, status: int) -> Response:
    text = templates().get_template("error/plain.html").render(refusal=refusal)
    return HTMLResponse(text, status_code=status)


def _wants_json(request: HTTPConnection) -> bool:
    return "application/json" in request.headers.get("accept", "")
