"""Holds: which wait, the most pressing first; and the page on which one is read and countersigned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.desk.seen import Seen
from app.procedure.entry import Circumstances
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.crew import Crew
from app.run.interlocks import why_shut
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.seats import free_seats, seat_for
from app.run.signing import AT_MIRROR, FROM_RECORD
from app.web.views import ways
from app.web.views.evidence import Evidence, evidence
from app.web.views.frame import AtTablet, Frame, Way, frame_of
from app.web.views.look import Look, scene_of
from app.web.views.seats import Chooser, choose, releasing, waits_for
from app.web.views.words import listed, several, span

LOAD, ON_THE_HOOKS = "load_on", "hooks"  # the site's own words for what carries the mirror


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """One hold that waits."""

    title: str
    run: str
    signed: str
    mark: str
    since: str
    load: str
    hooked: bool
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldsView:
    """The holds that wait."""

    frame: Frame
    answer: str
    holds: tuple[Waiting, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class How:
    """One answer to "How did you check?"; none is chosen beforehand."""

    words: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CountersignView:
    """A hold to be read and signed, or refused."""

    frame: Frame
    run: str
    seq: int
    step: Step
    statement: str
    kind_line: str
    mark: str
    signed: tuple[str, ...]
    evidence: tuple[Evidence, ...]
    corrections: str
    hows: tuple[How, ...]
    chooser: Chooser
    off: str
    sign: str
    refuse: str
    back: str
    again: str
    refusal: Refusal | None


def holds_view(runs: Sequence[Seen], crew: Crew, session: AtTablet, now: datetime) -> HoldsView:
    """Return the holds that wait in open runs: a load on the hooks first, then the longest wait."""
    found = [(waits, row) for seen in runs for waits, row in _waiting(scene_of(seen, crew, now))]
    found.sort(key=lambda each: (not each[1].hooked, -each[0]))
    rows = tuple(row for _, row in found)
    return HoldsView(
        frame=frame_of(
            session,
            where="Holds waiting",
            sub=f"{session.entering or 'Nobody'} is looking",
            links=(Way(words="Today", href="/"),),
            stop="/stop",
        ),
        answer=_answer(rows),
        holds=rows,
    )


def _answer(rows: Sequence[Waiting]) -> str:
    if not rows:
        return "No hold waits"
    verb = "waits" if len(rows) == 1 else "wait"
    hooked = sum(row.hooked for row in rows)
    if not hooked:
        return f"{several(len(rows), 'hold')} {verb}"
    which = "It has" if len(rows) == 1 else "One has" if hooked == 1 else f"{hooked} have"
    return f"{several(len(rows), 'hold')} {verb}. {which} the mirror on the hooks"


def _waiting(scene: Scene) -> list[tuple[timedelta, Waiting]]:
    found = []
    for step in scene.procedure.steps:
        if not kind_of(step).is_hold or scene.state.progress(step.id).settled:
            continue
        if why_shut(scene, step) or not free_seats(scene, step):
            continue
        wait = scene.now - _since(scene, step)
        found.append((wait, _row(scene, step, wait)))
    return found


def _since(scene: Scene, step: Step) -> datetime:
    """Return since when a hold waits: the last signature on it, or else the step before it."""
    signed = [signature.at for signature in scene.state.progress(step.id).signatures]
    before = [
        progress.done_at for progress in scene.state.steps.values() if progress.done_at is not None
    ]
    return max(signed or before, default=scene.state.opened_at or scene.now)


def _row(scene: Scene, step: Step, wait: timedelta) -> Waiting:
    signatures = scene.state.progress(step.id).signatures
    load = scene.board.value(LOAD)
    signed = listed([f"{s.by} {s.at:%H:%M}" for s in signatures])
    left = " and ".join(dict.fromkeys(step.seats[s] for s in free_seats(scene, step)))
    return Waiting(
        title=f"Step {step.number}. {step.do}",
        run=f"{scene.procedure.title}, run {scene.state.run}",
        signed=f"Signed by {signed}. Waits for {left}" if signed else f"Waits for {left}",
        mark="half" if signatures else "empty",
        since=span(wait),
        load="" if load is None else f"Load on the {load}",
        hooked=load == ON_THE_HOOKS,
        href=ways.countersign(scene.state.run, step.id),
    )


def countersign_view(  # noqa: PLR0913, PLR0917 - a page rests on all of these
    seen: Seen,
    circumstances: Circumstances,
    crew: Crew,
    session: AtTablet,
    now: datetime,
    step_id: str,
    *,
    refusal: Refusal | None = None,
) -> CountersignView:
    """Return the page of one hold: the sentence, what it rests on, and the form that signs it."""
    step = seen.procedure.step(step_id) or seen.procedure.steps[-1]
    look = Look(
        scene=scene_of(seen, crew, now),
        step=step,
        at=circumstances,
        people=session.people,
        entering=session.entering,
    )
    run = seen.state.run
    chooser = choose(look, tuple(p for p in crew.people if _may_release(look, p)))
    shown = evidence(look)
    return CountersignView(
        frame=_frame(look, session),
        run=run,
        seq=seen.state.seq,
        step=step,
        statement=str(getattr(step.own, "statement", step.do)),
        kind_line=_kind_line(look),
        mark="both" if look.progress.done else "half" if look.progress.signatures else "empty",
        signed=tuple(f"{s.by}, {s.role}, {s.at:%H:%M:%S}" for s in look.progress.signatures),
        evidence=shown,
        corrections=_corrections(shown),
        hows=_hows(step),
        chooser=chooser,
        off=_off(look, chooser),
        sign=ways.sign(run, step.id),
        refuse=ways.refuse(run, step.id),
        back=ways.run_page(run, step.id),
        again=ways.countersign(run, step.id),
        refusal=refusal,
    )


def _may_release(look: Look, person: str) -> bool:
    seat = seat_for(look.scene, look.step, person)
    return isinstance(seat, int) and releasing(look, seat)


def _frame(look: Look, session: AtTablet) -> Frame:
    return frame_of(
        session,
        where=f"Countersign step {look.step.number}",
        sub=f"{look.procedure.title}, run {look.state.run}",
        links=(Way(words="Holds", href="/holds"),),
        stop=ways.stop(look.state.run),
        watch=ways.watch(look.state.run),
        seq=look.state.seq,
    )


def _kind_line(look: Look) -> str:
    if look.progress.done:
        return "Hold. Signed by all"
    left = waits_for(look)
    signed = [s.by for s in look.progress.signatures]
    if not signed:
        return f"Hold. Waits for {left}"
    return f"Hold. {listed(signed)} {'have' if signed[1:] else 'has'} signed. Waits for {left}"


def _off(look: Look, chooser: Chooser) -> str:
    if look.progress.done:
        return "This hold is signed by all"
    shut = look.shut(act=True)
    if shut:
        return shut[0].sentence
    if chooser.people:
        return ""
    seat = seat_for(look.scene, look.step, look.entering)
    return (
        seat.sentence if isinstance(seat, Refusal) else "Whoever performs signs on the run's page"
    )


def _hows(step: Step) -> tuple[How, ...]:
    record_note = "Not enough for this hold" if getattr(step.own, "at_mirror", False) else ""
    return (How(words=AT_MIRROR, note=""), How(words=FROM_RECORD, note=record_note))


def _corrections(shown: Sequence[Evidence]) -> str:
    struck = [line for each in shown for line in each.lines if line.struck]
    if not struck:
        return "None on what this rests on"
    return f"{several(len(struck), 'correction')}. Read before you sign"
