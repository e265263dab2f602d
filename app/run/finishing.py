"""When a step is finished: its entries are all good, its seats are filled, its seats agree."""

from __future__ import annotations

from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.branching import closed_by
from app.run.events import (
    CountsDiffered,
    SignatureVoided,
    StepDone,
    StepReopened,
    StepsPassedOver,
    TroubleReported,
)
from app.run.scene import Script, needs_signatures, standing, steps_of, steps_resting_on
from app.run.seats import free_seats
from app.run.state import Progress

ROUNDS_BEFORE_TROUBLE = 2  # house rule: a second disagreement is looked at by someone else first


def finish(script: Script, step: Step) -> None:
    """Add what follows once a step's last entry or signature is in; nothing, if it is not."""
    progress = script.scene.state.progress(step.id)
    if progress.done or script.scene.state.open_troubles(step.id):
        return
    if step.check == "independent" and not kind_of(step).is_hold:
        _finish_independent(script, step, progress)
        return
    if not script.scene.outcome(step, progress.live()).complete:
        return
    if needs_signatures(step) and free_seats(script.scene, step):
        return
    _done(script, step)


def _done(script: Script, step: Step) -> None:
    script.add(StepDone(step=step.id, sets=dict(step.sets)))
    taken = kind_of(step).taken(step, script.scene.state.progress(step.id).live())
    closed = closed_by(script.scene.procedure, step, taken)
    if closed:
        script.add(StepsPassedOver(step=step.id, taken=taken, steps=closed))


def _finish_independent(script: Script, step: Step, progress: Progress) -> None:
    if free_seats(script.scene, step):
        return
    live = [standing(entry) for entry in progress.live()]
    seats = [[e for e in live if e.seat == seat] for seat in range(len(step.seats))]
    found = kind_of(step).agreement(step, seats)
    if found.agree and found.as_expected:
        _done(script, step)
        return
    script.add(CountsDiffered(step=step.id, round=progress.round, equal=found.agree))
    if found.agree or progress.round >= ROUNDS_BEFORE_TROUBLE:
        # The same words whether they differ or are all wrong: whoever counts again learns nothing.
        text = f"Round {progress.round} did not settle it. Decide at the hardware."
        number = len(script.scene.state.troubles) + 1
        script.add(TroubleReported(trouble=number, step=step.id, part="", text=text))


def void_signatures(script: Script, step: Step, reason: str) -> None:
    """Void every signature that stands on a step."""
    for signature in script.scene.state.progress(step.id).signatures:
        script.add(
            SignatureVoided(step=step.id, seat=signature.seat, person=signature.by, reason=reason)
        )


def withdraw_release(script: Script, step: Step, person: str) -> None:
    """Void the release of the next hold by someone who has now worked on what it releases."""
    scene = script.scene
    holds = steps_of(scene.procedure, lambda kind: kind.is_hold)
    later = (hold for hold in holds if hold.number > step.number)
    hold = min(later, key=lambda each: each.number, default=None)
    if hold is None or kind_of(step).presence or scene.state.progress(hold.id).done:
        return
    for signature in scene.state.progress(hold.id).signatures:
        releasing = "release-hold" in scene.crew.abilities.get(signature.role, frozenset())
        if signature.by == person and releasing:
            reason = f"{person} entered work on step {step.number} after signing."
            script.add(
                SignatureVoided(step=hold.id, seat=signature.seat, person=person, reason=reason)
            )


def reopen(script: Script, step: Step, reason: str) -> None:
    """Open a done step again; its facts are in doubt until it is done anew."""
    if script.scene.state.progress(step.id).done:
        script.add(StepReopened(step=step.id, reason=reason))


def dependents(script: Script, step: Step) -> tuple[Step, ...]:
    """Return the begun steps that rest on a step's entries."""
    return tuple(
        each
        for each in steps_resting_on(script.scene.procedure, step.id)
        if each.id in script.scene.state.steps
    )
