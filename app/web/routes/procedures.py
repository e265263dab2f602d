"""The procedures: the list, a text's check report, and its way to a release."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from app.desk.release_desk import By
from app.proof.releasing import Book, Text
from app.run.refusal import Refusal
from app.web.acting import NOTHING_TOLD, Here, TheHere, Told, signer, who_acts
from app.web.answers import book_json, json_answer, refusal_json, status_of
from app.web.pages import page
from app.web.submitted import Submitted, TheSubmitted
from app.web.turned_away import TurnedAway, not_here, not_readable
from app.web.views.preview import preview_view
from app.web.views.procedures import acknowledge_view, address, may_read, procedures_view
from app.web.views.report import report_view

router = APIRouter()


@router.get("/procedures")
async def procedures(here: TheHere) -> Response:
    """Show every procedure with the texts that count."""
    session = here.tablet.signed_on
    if here.tablet.wants_json:
        books = [book_json(book, session.entering) for book in here.desk.release_desk.books()]
        return json_answer({"procedures": books})
    return _list_page(here)


@router.post("/procedures")
async def bring(here: TheHere, sent: TheSubmitted) -> Response:
    """Take a text as a draft, signed by its author."""
    who_acts(here)
    content = sent.photos.get("toml") or sent.exact("toml").encode()
    if not content:
        raise not_readable("Choose the procedure's file. Nothing was saved.")
    by = await _signed(here, sent)
    if isinstance(by, Refusal):
        return _refused(here, by, lambda told: _list_page(here, told), sent)
    brought = await here.desk.release_desk.bring(content, "procedure.toml", by)
    if brought.refusal is not None:
        return _not_taken(here, brought.refusal, brought.difference, sent)
    book = _book(here, brought.procedure)
    return _done(here, book, address(book.draft or book.texts[-1]))


@router.get("/procedures/{procedure}")
async def report(here: TheHere, procedure: str, text: str = "") -> Response:
    """Show the check report of one text: the one asked for, or the newest that counts."""
    book = _book(here, procedure)
    wanted = _text(here, book, text)
    if here.tablet.wants_json:
        checkup = await here.desk.release_desk.checkup(book, wanted)
        told = {**book_json(book, here.tablet.entering), "sha256": wanted.sha256}
        return json_answer({**told, "check": checkup.checked.as_dict()})
    return await _report_page(here, book, wanted)


@router.post("/procedures/{procedure}/review")
async def review(here: TheHere, sent: TheSubmitted, procedure: str) -> Response:
    """Note that someone has reviewed the draft, signed."""
    who_acts(here)
    book, text = _book(here, procedure), _named(here, sent, procedure)
    by = await _signed(here, sent)
    if isinstance(by, Refusal):
        return await _of_text(here, by, book, text)
    note = sent.text("note")
    answer = await here.desk.release_desk.review(procedure, text.sha256, note, by)
    return await _of_text(here, answer, book, text)


@router.post("/procedures/{procedure}/release")
async def release(here: TheHere, sent: TheSubmitted, procedure: str) -> Response:
    """Release the draft, signed."""
    who_acts(here)
    book, text = _book(here, procedure), _named(here, sent, procedure)
    by = await _signed(here, sent)
    if isinstance(by, Refusal):
        return await _of_text(here, by, book, text)
    answer = await here.desk.release_desk.release(procedure, text.sha256, by)
    return await _of_text(here, answer, book, text)


@router.post("/procedures/{procedure}/withdraw")
async def withdraw(here: TheHere, sent: TheSubmitted, procedure: str) -> Response:
    """Withdraw the release, signed."""
    who_acts(here)
    book = _book(here, procedure)
    by = await _signed(here, sent)
    if isinstance(by, Refusal):
        return await _of_text(here, by, book, book.last or book.texts[-1])
    answer = await here.desk.release_desk.withdraw(procedure, sent.text("reason"), by)
    return await _of_text(here, answer, book, book.last or book.texts[-1])


@router.get("/procedures/{procedure}/acknowledge")
async def show_changes(here: TheHere, procedure: str) -> Response:
    """Show what the release changed, to be signed as read."""
    return _acknowledge_page(here, _book(here, procedure))


@router.post("/procedures/{procedure}/acknowledge")
async def acknowledge(here: TheHere, sent: TheSubmitted, procedure: str) -> Response:
    """Note that a person has read what changed, with their own secret."""
    who_acts(here)
    book = _book(here, procedure)
    by = await _signed(here, sent)
    answer = (
        by if isinstance(by, Refusal) else await here.desk.release_desk.acknowledge(procedure, by)
    )
    if isinstance(answer, Refusal):
        return _refused(here, answer, lambda told: _acknowledge_page(here, book, told), sent)
    return _done(here, answer, "/procedures")


@router.get("/procedures/{procedure}/preview/{step}")
async def preview(here: TheHere, procedure: str, step: str, text: str = "") -> Response:
    """Show one step as the technician will see it; nothing can be done there."""
    book = _book(here, procedure)
    model = here.desk.release_desk.model(_text(here, book, text))
    found = model.step(step) if model is not None else None
    if model is None or found is None:
        raise not_here("step of that name that could be shown")
    crew, session = here.desk.crew(), here.tablet.signed_on
    view = preview_view(model, found, crew, session, here.desk.now())
    return page("procedures/preview.html", here.tablet, view=view, frame=view.frame)


# -- what they share


async def _signed(here: Here, sent: Submitted) -> By | Refusal:
    """Return whose act it is, once their own secret was checked."""
    person, secret = signer(sent)
    refusal = await here.desk.why_not_own(person, secret, here.tablet.device)
    return refusal or By(person=person, device=here.tablet.device, key=sent.key)


def _book(here: Here, procedure: str) -> Book:
    _ = here.tablet.signed_on
    book = here.desk.release_desk.book(procedure)
    if book is None:
        raise not_here("procedure of that name")
    return book


def _text(here: Here, book: Book, sha256: str) -> Text:
    """Return a text of which this person may read everything.

    Raises:
        TurnedAway: there is no such text, or it is not for them.
    """
    newest = book.draft or book.last or book.texts[-1]
    text = book.text(sha256) if sha256 else newest
    if text is None:
        raise not_here("text of that name")
    crew = here.desk.crew()
    if not may_read(crew, here.tablet.signed_on.entering, text):
        who = crew.who_may("release-hold")
        sentence = "A text is read by its author, and by those who review and release it."
        raise TurnedAway(403, "role.report", sentence, who=who, where="Procedures")
    return text


def _named(here: Here, sent: Submitted, procedure: str) -> Text:
    """Return the text that a form names: who signs has seen exactly that one."""
    sha256 = sent.needed("sha256", "The page did not say which text. Load it again. Not saved.")
    text = _book(here, procedure).text(sha256)
    if text is None:
        raise not_here("text of that name")
    return text


async def _of_text(here: Here, answer: Book | Refusal, book: Book, text: Text) -> Response:
    if isinstance(answer, Book):
        return _done(here, answer, address(text))
    refusal, status = answer, status_of(answer)
    if here.tablet.wants_json:
        return json_answer(refusal_json(refusal), status)
    if not may_read(here.desk.crew(), here.tablet.entering, text):
        raise TurnedAway(status, refusal.code, refusal.sentence, who=refusal.who)
    return await _report_page(here, book, text, Told(refusal=refusal, status=status))


def _done(here: Here, book: Book, then: str) -> Response:
    if here.tablet.wants_json:
        return json_answer(book_json(book, here.tablet.entering))
    if here.tablet.wants_fragment:
        return Response(headers={"HX-Redirect": then})
    return RedirectResponse(then, status_code=303)


def _refused(
    here: Here, refusal: Refusal, again: Callable[[Told], Response], sent: Submitted
) -> Response:
    status = status_of(refusal)
    if here.tablet.wants_json:
        return json_answer(refusal_json(refusal), status)
    return again(Told(refusal=refusal, status=status, sent=sent))


def _not_taken(
    here: Here, refusal: Refusal, difference: tuple[str, ...], sent: Submitted
) -> Response:
    """Refuse a text; where another one of its revision is released, with the difference."""
    status = status_of(refusal)
    if here.tablet.wants_json:
        told: dict[str, object] = {**refusal_json(refusal)}
        more = {"difference": list(difference)} if difference else {}
        return json_answer({**told, **more}, status)
    return _list_page(here, Told(refusal=refusal, status=status, sent=sent), difference=difference)


def _list_page(
    here: Here, told: Told = NOTHING_TOLD, *, difference: tuple[str, ...] = ()
) -> Response:
    view = procedures_view(
        here.desk.release_desk.books(),
        here.desk.crew(),
        here.tablet.signed_on,
        refusal=told.refusal,
        difference=difference,
        sent=told.sent,
    )
    return page("procedures/page.html", here.tablet, told.status, view=view, frame=view.frame)


async def _report_page(here: Here, book: Book, text: Text, told: Told = NOTHING_TOLD) -> Response:
    desk = here.desk.release_desk
    view = report_view(
        book,
        text,
        await desk.checkup(book, text),
        desk.changes(book, text),
        desk.words(text),
        here.desk.crew(),
        here.tablet.signed_on,
        refusal=told.refusal,
    )
    return page("procedures/report.html", here.tablet, told.status, view=view, frame=view.frame)


def _acknowledge_page(here: Here, book: Book, told: Told = NOTHING_TOLD) -> Response:
    text = book.current
    changes = here.desk.release_desk.changes(book, text) if text is not None else None
    view = acknowledge_view(
        book, changes, here.desk.crew(), here.tablet.signed_on, refusal=told.refusal
    )
    return page(
        "procedures/acknowledge.html", here.tablet, told.status, view=view, frame=view.frame
    )
