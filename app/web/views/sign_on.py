"""Sign on, change hands: who is entering now?"""

from __future__ import annotations

from dataclasses import dataclass

from app.people.sessions import Session
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import people_to_choose
from app.web.views.seats import Chooser
from app.web.views.words import clock


@dataclass(frozen=True, slots=True, kw_only=True)
class HandsRow:
    """One person at this tablet."""

    id: str
    words: str
    until: str
    entering: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOnView:
    """The sign-on page."""

    frame: Frame
    answer: str
    here: tuple[HandsRow, ...]
    chooser: Chooser
    back: str
    refusal: Refusal | None


def sign_on_view(
    crew: Crew,
    session: Session | None,
    *,
    back: str = "/",
    refusal: Refusal | None = None,
    chosen: str = "",
) -> SignOnView:
    """Return the sign-on page for whoever is at the tablet."""
    links = (Way(words="Today", href="/"),) if session is not None else ()
    return SignOnView(
        frame=frame_of(
            session,
            where="Sign on",
            sub="Change hands at this tablet"
            if session is not None
            else "Nobody is at this tablet",
            links=(*links, Way(words="Display", href=f"/settings?back={back}")),
            stop="/stop",
        ),
        answer=_answer(session),
        here=_rows(crew, session),
        chooser=people_to_choose(crew, session, chosen=chosen),
        back=back,
        refusal=refusal,
    )


def _answer(session: Session | None) -> str:
    if session is None:
        return "Who is entering now?"
    if not session.entering:
        return "Nobody is entering. Who is it?"
    return f"{session.entering} is entering. Who is next?"


def _rows(crew: Crew, session: Session | None) -> tuple[HandsRow, ...]:
    if session is None:
        return ()
    return tuple(
        HandsRow(
            id=person,
            words=crew.people[person].name if person in crew.people else "",
            until=f"Signed on until {clock(end)}",
            entering=person == session.entering,
        )
        for person, end in session.ends
    )
