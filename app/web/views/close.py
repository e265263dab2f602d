"""Close a run: is everything done, and is the hardware as promised?"""

from __future__ import annotations

from dataclasses import dataclass

from app.desk.seen import Seen
from app.people.sessions import Session
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import able, people_to_choose
from app.web.views.run_words import run_title
from app.web.views.seats import Chooser
from app.web.views.words import fact_words, several


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """One fact that the procedure promised to leave so."""

    words: str
    found: str
    kept: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseView:
    """The page on which a run is closed."""

    frame: Frame
    action: str
    answer: str
    ready: bool
    closed: bool
    left: tuple[tuple[str, str], ...]  # what stands against it, and where
    promises: tuple[Promise, ...]
    chooser: Chooser
    seen: int
    record: str
    refusal: Refusal | None
    unsent: tuple[str, ...] = ()  # what tablets hold back; then a reason is asked for


def close_view(  # noqa: PLR0913 - a page rests on all of these
    seen: Seen,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    chosen: str = "",
    unsent: tuple[str, ...] = (),
) -> CloseView:
    """Return the page on which a run is closed."""
    run = seen.state.run
    left = _left(seen)
    promises = tuple(
        Promise(
            words=test.words(),
            found=fact_words(test.fact, seen.board.value(test.fact)),
            kept=test.holds(seen.board.value(test.fact)),
        )
        for test in seen.procedure.leaves
    )
    ready = not left and all(promise.kept for promise in promises)
    closed = seen.state.status == "closed"
    return CloseView(
        frame=frame_of(
            session,
            where=run_title(seen),
            sub="Close the run",
            links=(Way(words="The run", href=f"/runs/{run}"), Way(words="Today", href="/")),
            stop="" if closed else f"/runs/{run}/stop",
        ),
        action=f"/runs/{run}/close",
        answer=_answer(run, len(left), ready=ready, closed=closed),
        ready=ready,
        closed=closed,
        left=left,
        promises=promises,
        chooser=people_to_choose(crew, session, chosen=chosen, may=able(crew, "release-hold")),
        seen=seen.state.seq,
        record=f"/records/{run}",
        refusal=refusal,
        unsent=unsent,
    )


def _left(seen: Seen) -> tuple[tuple[str, str], ...]:
    base = f"/runs/{seen.state.run}"
    troubles = [
        (f"Trouble {t.number} is open: “{t.text}”", f"{base}/troubles/{t.number}")
        for t in seen.state.open_troubles()
    ]
    steps = [
        (f"Step {s.number} is not done: {s.do}", f"{base}/steps/{s.id}")
        for s in seen.procedure.steps
        if not seen.state.progress(s.id).settled
    ]
    return (*troubles, *steps)


def _answer(run: str, left: int, *, ready: bool, closed: bool) -> str:
    if closed:
        return f"Run {run} is closed"
    if ready:
        return f"Run {run} can be closed"
    if left:
        return f"Run {run} stays open: {several(left, 'thing')} to do"
    return f"Run {run} stays open: the hardware is not as promised"
