"""Suspend at a safe point; resume when the last state was confirmed by looking."""

from __future__ import annotations

from dataclasses import dataclass

from app.desk.seen import Seen
from app.people.sessions import Session
from app.run.crew import Crew
from app.run.pausing import last_state_lines
from app.run.refusal import Refusal
from app.web.submitted import Submitted
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import able, people_to_choose
from app.web.views.run_words import here_words, run_title, what_stands
from app.web.views.seats import Chooser
from app.web.views.stop import ConfirmLine


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspendView:
    """The page on which work is left."""

    frame: Frame
    action: str
    answer: str
    here: str
    safe_points: str
    facts: tuple[str, ...]
    state: str
    chooser: Chooser
    refusal: Refusal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ResumeView:
    """The page on which work is taken up again."""

    frame: Frame
    action: str
    suspended: bool
    answer: str
    left: str
    confirm: tuple[ConfirmLine, ...]
    chooser: Chooser
    back: str
    refusal: Refusal | None


def suspend_view(
    seen: Seen,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> SuspendView:
    """Return the page on which work is left."""
    sent = sent or Submitted()
    points = [str(step.number) for step in seen.procedure.steps if step.safe_point]
    return SuspendView(
        frame=_frame(seen, session, "Suspend"),
        action=f"/runs/{seen.state.run}/suspend",
        answer="How is everything left?",
        here=here_words(seen),
        safe_points=(
            f"Work can be left before the first step, and after step {', '.join(points)}."
            if points
            else "This procedure has no safe point once it is begun."
        ),
        facts=what_stands(seen),
        state=sent.text("state"),
        chooser=people_to_choose(
            crew, session, chosen=sent.text("person"), may=able(crew, "restart")
        ),
        refusal=refusal,
    )


def resume_view(
    seen: Seen,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> ResumeView:
    """Return the page on which work is taken up again."""
    sent = sent or Submitted()
    ticked = frozenset(sent.texts("confirmed"))
    lines = last_state_lines(seen.procedure, seen.state, seen.board)
    suspended = seen.state.status == "suspended"
    return ResumeView(
        frame=_frame(seen, session, "Resume"),
        action=f"/runs/{seen.state.run}/resume",
        suspended=suspended,
        answer="Is everything as it was left?" if suspended else "Work is not suspended",
        left=seen.state.suspended,
        confirm=tuple(ConfirmLine(text=line, ticked=line in ticked) for line in lines),
        chooser=people_to_choose(
            crew, session, chosen=sent.text("person"), may=able(crew, "restart")
        ),
        back=f"/runs/{seen.state.run}",
        refusal=refusal,
    )


def _frame(seen: Seen, session: Session, words: str) -> Frame:
    run = seen.state.run
    return frame_of(
        session,
        where=run_title(seen),
        sub=words,
        links=(Way(words="The run", href=f"/runs/{run}"), Way(words="Today", href="/")),
        stop=f"/runs/{run}/stop",
    )
