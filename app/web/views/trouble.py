"""Trouble: what is wrong on a step, and what becomes of it."""

from __future__ import annotations

from dataclasses import dataclass

from app.desk.seen import Seen
from app.people.sessions import Session
from app.procedure.entry import Circumstances
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.run.state import Trouble
from app.web.submitted import Submitted
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import people_to_choose
from app.web.views.run_words import run_title
from app.web.views.seats import Chooser
from app.web.views.words import clock, several


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportView:
    """The page on which a trouble is reported."""

    frame: Frame
    action: str
    step: str
    parts: tuple[tuple[str, bool], ...]
    text: str
    by: str
    open_ones: tuple[tuple[str, str], ...]  # sentence, address
    back: str
    refusal: Refusal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choosing:
    """One disposition to choose."""

    value: str
    meaning: str
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposeView:
    """The page on which a trouble is decided."""

    frame: Frame
    action: str
    answer: str
    step: str
    text: str
    reported: str
    decided: str
    ways: tuple[Choosing, ...]
    chooser: Chooser
    reason: str
    who: str
    back: str
    refusal: Refusal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleRow:
    """One trouble in the list."""

    words: str
    step: str
    mark: str
    decided: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TroublesView:
    """The troubles of a run."""

    frame: Frame
    answer: str
    rows: tuple[TroubleRow, ...]


MEANINGS = {
    "use as is": "It stays as it is, and counts as good",
    "redo": "The step is done again from the start",
    "repair": "It is repaired, then the step is done again",
    "reject": "It is taken out, then the step is done again",
}


def report_view(  # noqa: PLR0913 - each is one thing that the page shows
    seen: Seen,
    step: Step,
    at: Circumstances,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> ReportView:
    """Return the page on which a trouble is reported."""
    sent = sent or Submitted()
    base = f"/runs/{seen.state.run}"
    parts = [part for part in kind_of(step).parts(step, at) if part and part not in crew.people]
    return ReportView(
        frame=_frame(seen, step, session, "Report a trouble"),
        action=f"{base}/steps/{step.id}/trouble",
        step=f"Step {step.number}. {step.do}",
        parts=tuple((part, part == sent.text("part")) for part in parts),
        text=sent.text("text"),
        by=session.entering,
        open_ones=tuple(
            (_sentence(trouble), f"{base}/troubles/{trouble.number}")
            for trouble in seen.state.open_troubles(step.id)
        ),
        back=f"{base}/steps/{step.id}",
        refusal=refusal,
    )


def dispose_view(  # noqa: PLR0913 - each is one thing that the page shows
    seen: Seen,
    step: Step,
    number: int,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> DisposeView:
    """Return the page on which a trouble is decided."""
    sent = sent or Submitted()
    trouble = next(each for each in seen.state.troubles if each.number == number)
    part = f" {trouble.part}" if trouble.part else ""
    base = f"/runs/{seen.state.run}"
    return DisposeView(
        frame=_frame(seen, step, session, f"Trouble {number}"),
        action=f"{base}/troubles/{number}",
        answer=_answer(trouble, step.number),
        step=f"Step {step.number}{part}. {step.do}",
        text=trouble.text,
        reported=f"Reported by {trouble.by} at {clock(trouble.at)}.",
        decided=_decided(trouble),
        ways=tuple(
            Choosing(value=value, meaning=meaning, chosen=value == sent.text("disposition"))
            for value, meaning in MEANINGS.items()
        ),
        chooser=people_to_choose(
            crew,
            session,
            chosen=sent.text("person"),
            may=lambda person: person != trouble.by and crew.may(person, "release-hold"),
        ),
        reason=sent.text("reason"),
        who=(
            f"Not {trouble.by}, who reported it. {crew.who_may('release-hold').capitalize()} decides; "
            f"“use as is” needs {crew.who_may('accept-deviation')}."
        ),
        back=f"{base}/steps/{step.id}",
        refusal=refusal,
    )


def troubles_view(seen: Seen, session: Session) -> TroublesView:
    """Return the troubles of a run, the open ones first."""
    run = seen.state.run
    rows = [_row(seen, trouble) for trouble in seen.state.troubles]
    still = len(seen.state.open_troubles())
    return TroublesView(
        frame=frame_of(
            session,
            where=run_title(seen),
            sub="Troubles",
            links=(Way(words="The run", href=f"/runs/{run}"),),
            stop=f"/runs/{run}/stop",
        ),
        answer=f"{several(still, 'trouble')} to decide" if still else "No trouble is open",
        rows=tuple(sorted(rows, key=lambda row: bool(row.decided))),
    )


def _row(seen: Seen, trouble: Trouble) -> TroubleRow:
    step = seen.procedure.step(trouble.step)
    return TroubleRow(
        words=_sentence(trouble),
        step=f"Step {step.number}. {step.do}" if step is not None else trouble.step,
        mark="done" if trouble.disposition else "out",
        decided=_decided(trouble),
        href=f"/runs/{seen.state.run}/troubles/{trouble.number}",
    )


def _answer(trouble: Trouble, step: int) -> str:
    if trouble.disposition:
        return f"Trouble {trouble.number} is decided: {trouble.disposition}"
    return f"Step {step} is shut until someone decides on trouble {trouble.number}"


def _decided(trouble: Trouble) -> str:
    if trouble.disposed_at is None:
        return ""
    at = clock(trouble.disposed_at)
    return f"{trouble.disposed_by} decided “{trouble.disposition}” at {at}: “{trouble.reason}”"


def _sentence(trouble: Trouble) -> str:
    part = f"{trouble.part}: " if trouble.part else ""
    return f"{part}“{trouble.text}” {trouble.by}, {clock(trouble.at)}"


def _frame(seen: Seen, step: Step, session: Session, words: str) -> Frame:
    run = seen.state.run
    return frame_of(
        session,
        where=run_title(seen),
        sub=f"Step {step.number}. {words}",
        links=(Way(words="Back to the step", href=f"/runs/{run}/steps/{step.id}"),),
        stop=f"/runs/{run}/stop",
    )
