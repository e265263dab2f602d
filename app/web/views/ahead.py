"""The steps ahead that a tablet may take entries for without a link, drawn as if those before were done.

It goes from the step that is next to the first that is not keepable, or that something else keeps
shut. Nothing is decided here: what is kept is judged by the recorder when it arrives, in order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from app.desk.seen import Seen
from app.people.sessions import Session
from app.procedure.entry import Circumstances
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.board import post
from app.run.crew import Crew
from app.run.events import Happened, StepDone
from app.run.keepable import is_keepable
from app.run.scene import standing
from app.run.state import evolve
from app.web.views import ways
from app.web.views.bench import BenchView, bench_view
from app.web.views.look import next_step

MOST = 24  # cards: what a tablet reads ahead; more are fetched while there is a link

Around = Callable[[Seen, str], Circumstances]


@dataclass(frozen=True, slots=True, kw_only=True)
class AheadView:
    """The cards, each with the place at which it may be entered."""

    run: str
    seq: int
    cards: tuple[BenchView, ...]


def ahead_view(
    seen: Seen, around: Around, crew: Crew, session: Session, now: datetime
) -> AheadView:
    """Return the cards of the steps ahead, for whoever is entering."""
    cards: list[BenchView] = []
    for card in _cards(seen, around, crew, session, now):
        cards.append(card)
        if len(cards) == MOST:
            break
    return AheadView(run=seen.state.run, seq=seen.state.seq, cards=tuple(cards))


def _cards(
    seen: Seen, around: Around, crew: Crew, session: Session, now: datetime
) -> Iterator[BenchView]:
    while True:
        step = next_step(seen.procedure, seen.state)
        if seen.state.progress(step.id).settled or not is_keepable(seen.procedure, step):
            return
        at = around(seen, session.entering)
        for part in _left(seen, step, at):
            view = bench_view(seen, at, crew, session, now, step.id, asked_part=part)
            if not view.keepable or view.bar.off or view.bar.href:
                return
            yield _bare(view)
        seen = _as_if_done(seen, step, now)


def _left(seen: Seen, step: Step, at: Circumstances) -> list[str]:
    good = {
        entry.part
        for entry in map(standing, seen.state.progress(step.id).live())
        if entry.verdict == "good"
    }
    return [part for part in kind_of(step).parts(step, at) if part not in good or not part]


def _as_if_done(seen: Seen, step: Step, now: datetime) -> Seen:
    """Return the run as it will be: its number stays, since it is what the person has seen."""
    done = Happened(
        seq=seen.state.seq, at=now, by="", event=StepDone(step=step.id, sets=dict(step.sets))
    )
    state, board = evolve(seen.state, done), post(seen.board, seen.state.run, done)
    return replace(seen, state=state, board=board)


def _bare(view: BenchView) -> BenchView:
    """Leave out what is not needed to enter, and lead back to the step that is really next."""
    return replace(view, self=ways.bench_fragment(view.run), sections=(), entries=())
