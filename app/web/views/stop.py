"""The stop page: what to do this second, then who can restart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.desk.seen import Seen
from app.run.crew import Crew
from app.run.pausing import make_safe_lines
from app.run.refusal import Refusal
from app.run.state import Stop
from app.web.submitted import Submitted
from app.web.views.frame import AtTablet, Frame, Way, frame_of
from app.web.views.people import able, people_to_choose
from app.web.views.run_words import here_words, what_stands
from app.web.views.seats import Chooser
from app.web.views.words import clock, sentences

NOBODY = "someone who was not signed on"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmLine:
    """One make-safe line to be looked at and ticked."""

    text: str
    ticked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Halted:
    """One run in which work is stopped."""

    run: str
    title: str
    who: str  # who stopped it, when, where, as sentences
    why: str
    now: tuple[str, ...]  # what to do this second
    source: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoppedView:
    """The stop page of one run."""

    frame: Frame
    halted: Halted | None  # None once work goes on
    run: str
    rule: str
    signed: tuple[str, ...]
    confirm: tuple[ConfirmLine, ...]
    chooser: Chooser
    can_sign: bool  # whether anyone is signed on at this tablet
    reason: str
    facts: tuple[str, ...]
    refusal: Refusal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AllStoppedView:
    """Every run in which work is stopped."""

    frame: Frame
    answer: str
    halted: tuple[Halted, ...]


def halted(seen: Seen, stop: Stop) -> Halted:
    """Return one stopped run as a page shows it."""
    by = stop.by or NOBODY
    lines = make_safe_lines(seen.procedure, seen.state)
    where = here_words(seen)
    return Halted(
        run=seen.state.run,
        title=f"{seen.procedure.id}, run {seen.state.run}",
        who=f"By {by} at {clock(stop.at)}. {where} Saved in the record.",
        why=stop.text,
        now=tuple(sentence for line in lines for sentence in sentences(line)),
        source=f"These lines come from the procedure {seen.procedure.id}.",
        href=f"/runs/{seen.state.run}/stopped",
    )


def stopped_view(
    seen: Seen,
    session: AtTablet | None,
    crew: Crew,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> StoppedView:
    """Return the stop page of a run."""
    sent = sent or Submitted()
    stop = seen.state.stop
    ticked = frozenset(sent.texts("confirmed"))
    lines = make_safe_lines(seen.procedure, seen.state)
    return StoppedView(
        frame=_frame(session, seen),
        halted=halted(seen, stop) if stop is not None else None,
        run=seen.state.run,
        rule=(
            f"Two people, one of them {crew.who_may('restart')}. "
            "Each looks at every line, then signs with their own secret."
        ),
        signed=tuple(f"{person} has signed, {role}" for person, role in stop.restart)
        if stop
        else (),
        confirm=tuple(ConfirmLine(text=line, ticked=line in ticked) for line in lines),
        chooser=people_to_choose(
            crew, session, chosen=sent.text("person"), may=able(crew, "perform")
        ),
        can_sign=session is not None,
        reason=sent.text("reason"),
        facts=what_stands(seen),
        refusal=refusal,
    )


def all_stopped_view(stopped: Sequence[Seen], session: AtTablet | None) -> AllStoppedView:
    """Return the page of all stopped runs."""
    found = tuple(halted(seen, seen.state.stop) for seen in stopped if seen.state.stop is not None)
    return AllStoppedView(
        frame=frame_of(session, where="Stop work", links=(Way(words="Today", href="/"),)),
        answer="WORK IS STOPPED" if found else "No work is stopped",
        halted=found,
    )


def _frame(session: AtTablet | None, seen: Seen) -> Frame:
    run = seen.state.run
    return frame_of(
        session,
        where=f"Run {run}",
        sub="Work is stopped" if seen.state.stop else "Work goes on",
        watch=f"/runs/{run}/watch",
        seq=seen.state.seq,
        links=(Way(words="The run", href=f"/runs/{run}"),),
    )
