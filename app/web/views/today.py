"""Today: what do we do next?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.desk.seen import Released, Seen
from app.people.sessions import Session
from app.run.crew import Crew
from app.run.interlocks import why_shut
from app.run.refusal import Refusal
from app.web.submitted import Submitted
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.look import scene_of
from app.web.views.people import able, people_to_choose
from app.web.views.run_words import here_words, run_title, step_here
from app.web.views.seats import Chooser
from app.web.views.words import day_and_clock, listed


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRow:
    """One run that is not closed."""

    run: str
    title: str
    name: str
    here: str
    mark: str
    state: str
    answer: str
    waits: str  # whose signatures are still missing, once one is there
    blocked: tuple[Refusal, ...]
    progress: str
    href: str
    act: str
    suspend: str  # where work can be left; "" where it cannot be, or not by this person
    decide: tuple[Way, ...]  # where the lead changes or ends the run


@dataclass(frozen=True, slots=True, kw_only=True)
class ToOpen:
    """One released procedure."""

    id: str
    title: str
    release: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayView:
    """The page of the day."""

    frame: Frame
    answer: str
    mark: str
    first: RunRow | None
    others: tuple[RunRow, ...]
    to_open: tuple[ToOpen, ...]
    chooser: Chooser
    may_open: str  # why this person cannot open a run, or ""
    reads_only: bool
    refusal: Refusal | None


def today_view(  # noqa: PLR0913 - each is one thing that the page shows
    runs: Sequence[Seen],
    released: Sequence[Released],
    crew: Crew,
    session: Session,
    now: datetime,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> TodayView:
    """Return the page of the day for whoever is entering."""
    sent = sent or Submitted()
    going = [seen for seen in runs if seen.state.status in ("open", "suspended")]
    rows = [_row(seen, crew, session.entering, now) for seen in reversed(going)]
    first = rows[0] if rows else None
    reads_only = not crew.may(session.entering, "perform")
    return TodayView(
        frame=_frame(crew, session),
        answer=_answer(first, len(released), reads_only=reads_only),
        mark=first.mark if first is not None else "todo",
        first=first,
        others=tuple(rows[1:]),
        to_open=tuple(_to_open(each) for each in released) if not reads_only else (),
        chooser=people_to_choose(
            crew, session, chosen=sent.text("person"), may=able(crew, "release-hold")
        ),
        may_open=f"A run is opened by a {crew.who_may('release-hold')}, with their own secret.",
        reads_only=reads_only,
        refusal=refusal,
    )


def _row(seen: Seen, crew: Crew, person: str, now: datetime) -> RunRow:
    state = seen.state
    run = state.run
    base = f"/runs/{run}"
    mark, words, href, act = "here", "Open", base, f"Go on with {seen.procedure.id}"
    if state.stop is not None:
        mark, words, href, act = "stop", "Work is stopped", f"{base}/stopped", "See what to do now"
    elif state.status == "suspended":
        mark, words, href, act = "wait", "Work is suspended", f"{base}/resume", "Look, then resume"
    elif step_here(seen) is None:
        mark, words, href, act = "both", "All steps are done", f"{base}/close", "Close the run"
    return RunRow(
        run=run,
        title=run_title(seen),
        name=seen.procedure.title,
        here=here_words(seen),
        mark=mark,
        state=words,
        answer=_run_answer(seen, words),
        waits=_waits(seen),
        blocked=_blocked(seen, crew, now),
        progress=_progress(seen),
        href=href,
        act=act,
        suspend=f"{base}/suspend" if words == "Open" and crew.may(person, "restart") else "",
        decide=(
            Way(words="Change this run", href=f"{base}/change"),
            Way(words="End it unfinished", href=f"{base}/abandon"),
        )
        if crew.may(person, "accept-deviation")
        else (),
    )


def _run_answer(seen: Seen, words: str) -> str:
    step = step_here(seen)
    if words != "Open" or step is None:
        return words
    return f"Go on at step {step.number} of {len(seen.procedure.steps)}"


def _waits(seen: Seen) -> str:
    step = step_here(seen)
    signatures = seen.state.progress(step.id).signatures if step is not None else ()
    if step is None or not signatures:
        return ""
    taken = {signature.seat for signature in signatures}
    left = [role for seat, role in enumerate(step.seats) if seat not in taken]
    signed = listed([signature.by for signature in signatures])
    return f"Signed by {signed}. Waits for {listed(left)}."


def _progress(seen: Seen) -> str:
    done = sum(seen.state.progress(step.id).done for step in seen.procedure.steps)
    opened = seen.state.opened_at
    since = f" Opened {day_and_clock(opened)} by {seen.state.opened_by}." if opened else ""
    return f"{done} of {len(seen.procedure.steps)} steps done.{since}"


def _blocked(seen: Seen, crew: Crew, now: datetime) -> tuple[Refusal, ...]:
    step = step_here(seen)
    if step is None:
        return ()
    return why_shut(scene_of(seen, crew, now), step)


def _to_open(released: Released) -> ToOpen:
    return ToOpen(
        id=released.id,
        title=released.title,
        release=(
            f"Release {released.revision}, reviewed by {released.reviewed_by}, "
            f"released by {released.released_by} on {day_and_clock(released.at)}"
        ),
    )


def _answer(first: RunRow | None, released: int, *, reads_only: bool) -> str:
    if reads_only:
        return "You read records. Nothing here waits for you."
    if first is not None:
        return first.answer
    return "No run is open. Open one" if released else "No procedure is released yet"


def _frame(crew: Crew, session: Session) -> Frame:
    links = [
        Way(words="Sums", href="/sums"),
        Way(words="Tools", href="/tools"),
        Way(words="Records", href="/records"),
        Way(words="Hands", href="/sign-on"),
    ]
    if crew.may(session.entering, "perform"):
        links.insert(0, Way(words="Procedures", href="/procedures"))
    if crew.may(session.entering, "release-hold"):
        links.insert(0, Way(words="Holds", href="/holds"))
    return frame_of(
        session,
        where="Today",
        sub="What do we do next?",
        links=(*links, Way(words="Display", href="/settings?back=/")),
        stop="/stop",
    )
