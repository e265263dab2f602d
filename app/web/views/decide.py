"""The two pages on which the lead and another person decide about a run: change it, or end it."""

from __future__ import annotations

from dataclasses import dataclass

from app.desk.seen import Seen
from app.people.sessions import Session
from app.procedure.model import Procedure, Step
from app.run.changing import moves_a_hazard
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.web.submitted import Submitted
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import able, people_to_choose
from app.web.views.run_words import here_words, run_title, what_stands
from app.web.views.seats import Chooser


@dataclass(frozen=True, slots=True, kw_only=True)
class AbandonView:
    """The page on which a run is ended unfinished."""

    frame: Frame
    action: str
    answer: str
    ended: bool
    here: str
    facts: tuple[str, ...]
    reason: str
    state: str
    chooser: Chooser
    second: Chooser
    record: str
    refusal: Refusal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeView:
    """The page on which a run gets another text."""

    frame: Frame
    action: str
    answer: str
    here: str
    withdrawn: str
    steps: tuple[tuple[str, str, bool], ...]  # words, address, whether it is the one shown
    step: str
    lines: str
    ends: tuple[tuple[str, str], ...]  # steps with which the change can end
    until: str
    until_step: str
    reason: str
    chooser: Chooser
    second: Chooser
    refusal: Refusal | None


def abandon_view(
    seen: Seen,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> AbandonView:
    """Return the page on which a run is ended unfinished."""
    sent = sent or Submitted()
    run, ended = seen.state.run, seen.state.status == "closed"
    return AbandonView(
        frame=_frame(seen, session, "Abandon the run"),
        action=f"/runs/{run}/abandon",
        answer=f"Run {run} is over" if ended else f"End run {run} unfinished?",
        ended=ended,
        here=here_words(seen),
        facts=what_stands(seen),
        reason=sent.text("reason"),
        state=sent.text("state"),
        chooser=_lead(crew, session, sent),
        second=_second(crew, session, sent),
        record=f"/records/{run}",
        refusal=refusal,
    )


def change_view(  # noqa: PLR0913 - each is one thing that the page shows
    seen: Seen,
    released: Procedure,
    crew: Crew,
    session: Session,
    *,
    step: str = "",
    lines: str = "",
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> ChangeView:
    """Return the page on which a run gets another text."""
    sent = sent or Submitted()
    run = seen.state.run
    left = [s for s in released.steps if not seen.state.progress(s.id).settled]
    may = [s for s in left if _may_change(seen, released, s)]
    chosen = next((s for s in may if s.id == step), None)
    gone = seen.state.withdrawn
    typed = sent.several("lines")
    return ChangeView(
        frame=_frame(seen, session, "Change this run"),
        action=f"/runs/{run}/change",
        answer=f"Change step {chosen.number} for this run" if chosen else "Which step is changed?",
        here=here_words(seen),
        withdrawn=f"{gone.by} withdrew this procedure: “{gone.reason}”" if gone else "",
        steps=tuple(
            (f"{s.number}. {s.do}", f"/runs/{run}/change?step={s.id}", s is chosen) for s in may
        ),
        step=chosen.id if chosen else "",
        lines=(typed[0] if typed else lines) if chosen else "",
        ends=tuple((s.id, f"{s.number}. {s.do}") for s in left),
        until=sent.text("until"),
        until_step=sent.text("until_step"),
        reason=sent.text("reason"),
        chooser=_lead(crew, session, sent),
        second=_second(crew, session, sent),
        refusal=refusal,
    )


def _may_change(seen: Seen, released: Procedure, step: Step) -> bool:
    """Say whether a step is offered: not begun, and nothing in its lines that must not be read."""
    progress = seen.state.progress(step.id)
    begun = bool(progress.live() or progress.signatures)
    return not begun and step.check != "independent" and not moves_a_hazard(released, step)


def _lead(crew: Crew, session: Session, sent: Submitted) -> Chooser:
    may = able(crew, "accept-deviation")
    return people_to_choose(crew, session, chosen=sent.text("person"), may=may)


def _second(crew: Crew, session: Session, sent: Submitted) -> Chooser:
    may = able(crew, "perform")
    return people_to_choose(crew, session, chosen=sent.text("second"), may=may)


def _frame(seen: Seen, session: Session, words: str) -> Frame:
    run = seen.state.run
    return frame_of(
        session,
        where=run_title(seen),
        sub=words,
        links=(Way(words="The run", href=f"/runs/{run}"), Way(words="Today", href="/")),
        stop="" if seen.state.status == "closed" else f"/runs/{run}/stop",
    )
