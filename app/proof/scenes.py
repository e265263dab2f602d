"""A scene of a run in which one person has played one part and comes for another.

The rules of seats are asked as they stand in the run: `may_enter` and `seat_for`. Everybody else is
a stranger with the role that the seat wants, every earlier step is done, and the other seats of the
step are taken as far as they can be before our person comes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from app.procedure.entry import Entry
from app.procedure.model import Procedure, Site, Step
from app.procedure.registry import kind_of
from app.run.board import Board
from app.run.crew import Crew, Person
from app.run.scene import Scene
from app.run.seats import may_enter, seat_for
from app.run.state import Progress, RunState, Signature

SOMEONE = "SOMEONE"  # who plays both parts, if the rules allow it
BEFORE = datetime(2000, 1, 1, tzinfo=UTC)
NOW = BEFORE + timedelta(days=365)  # later than any wait between independent entries


@dataclass(frozen=True, slots=True)
class Part:
    """What one person does on a step: the seat, whether they enter, whether they sign."""

    step: str
    seat: int
    role: str
    enters: bool
    signs: bool


class Scenes:
    """The scenes of one procedure: every step is done but the one that our person comes for."""

    def __init__(self, procedure: Procedure, site: Site) -> None:
        self._procedure = procedure
        self._site = site
        self._done = {step.id: _done(step) for step in procedure.steps}

    def may_play(self, part: Part, *, after: Part | None = None) -> bool:
        """Say whether a person may play a part, after having played another."""
        steps, people = dict(self._done), {SOMEONE: _person(SOMEONE, part.role)}
        steps[part.step] = Progress()
        if after is not None:
            people[SOMEONE] = _person(SOMEONE, part.role, after.role)
            steps[after.step] = _signed(_entered(steps[after.step], after, SOMEONE), after, SOMEONE)
        step = self._step(part)
        taken = after.seat if after is not None and after.step == part.step else None
        for other in _others(step, part, taken):
            stranger = f"S{other.seat}"
            people[stranger] = _person(stranger, other.role)
            entered = _entered(steps[step.id], other, stranger)
            steps[step.id] = _signed(entered, other, stranger)
        scene = Scene(
            procedure=self._procedure,
            state=RunState(run="R", status="open", steps=steps),
            board=Board(asset=self._procedure.asset.id),
            crew=Crew(people=people, abilities=self._site.roles),
            now=NOW,
        )
        return _plays(scene, step, part)

    def _step(self, part: Part) -> Step:
        step = self._procedure.step(part.step)
        if step is None:
            raise LookupError(f"{self._procedure.id} has no step {part.step}")
        return step


def _plays(scene: Scene, step: Step, part: Part) -> bool:
    """Ask the run, act by act: where all agree before the act the signature comes first."""
    signs, enters = part.signs, part.enters
    if step.check == "before" and signs:
        if seat_for(scene, step, SOMEONE) != part.seat:
            return False
        scene, signs = _with(scene, step, _signed(_of(scene, step), part, SOMEONE)), False
    if enters:
        if may_enter(scene, step, SOMEONE) is not None:
            return False
        scene = _with(scene, step, _entered(_of(scene, step), part, SOMEONE))
    return not signs or seat_for(scene, step, SOMEONE) == part.seat


def _others(step: Step, part: Part, taken: int | None) -> tuple[Part, ...]:
    """Return the parts that strangers have played before this one.

    Whoever did the work comes first where the others look at it afterwards; elsewhere our person
    comes last, so that the seat they are offered is the one in question.
    """
    work = kind_of(step)
    looks = step.check == "after" and not work.is_hold and not work.presence
    if looks and part.seat == 0:
        return ()
    return tuple(
        Part(
            step.id,
            seat,
            role,
            enters=(step.check == "independent" and not work.is_hold) or (looks and seat == 0),
            signs=True,
        )
        for seat, role in enumerate(step.seats)
        if seat not in (part.seat, taken)
    )


def _of(scene: Scene, step: Step) -> Progress:
    return scene.state.progress(step.id)


def _with(scene: Scene, step: Step, progress: Progress) -> Scene:
    state = replace(scene.state, steps={**scene.state.steps, step.id: progress})
    return replace(scene, state=state)


def _person(name: str, *roles: str) -> Person:
    return Person(id=name, name=name, roles=frozenset(roles))


def _done(step: Step) -> Progress:
    """Return a step as done; on a briefing our person has given their word like everybody."""
    given = kind_of(step).presence
    return Progress(entries=(_entry(step.id, None, SOMEONE),) if given else (), done_at=BEFORE)


def _entry(step: str, seat: int | None, by: str) -> Entry:
    return Entry(
        number=1,
        step=step,
        part=by,
        seat=seat,
        round=1,
        by=by,
        at=BEFORE,
        values={},
        computed={},
        verdict="good",
        saying="",
        signed=True,
    )


def _entered(progress: Progress, part: Part, by: str) -> Progress:
    if not part.enters:
        return progress
    return replace(progress, entries=(*progress.entries, _entry(part.step, part.seat, by)))


def _signed(progress: Progress, part: Part, by: str) -> Progress:
    if not part.signs:
        return progress
    signature = Signature(
        seat=part.seat, role=part.role, by=by, at=BEFORE, meaning="", how="", seq=1
    )
    return replace(progress, signatures=(*progress.signatures, signature))
