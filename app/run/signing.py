"""Signing a seat, and refusing a hold."""

from __future__ import annotations

from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.commands import RefuseHold, Sign
from app.run.events import Event, HoldRefused, SeatSigned
from app.run.finishing import finish, void_signatures
from app.run.interlocks import why_shut
from app.run.refusal import Refusal
from app.run.scene import Scene, Script, needs_signatures
from app.run.seats import seat_for
from app.run.state import Progress

AT_MIRROR = "I stood at the mirror"
FROM_RECORD = "Photos and readings only"


def meaning(step: Step, seat: int) -> str:
    """Return, in words, what a signature in this seat says."""
    said = kind_of(step).signs(step, seat)
    if said:
        return said
    if step.check == "before":
        return f"I agree that this is to be done now: {step.do}"
    if step.check == "independent":
        return f"I made this check myself, without another's result: {step.do}"
    if seat == 0:
        return f"I did this: {step.do}"
    return f"I looked, and it is so: {step.do}"


def sign(scene: Scene, command: Sign) -> list[Event] | Refusal:
    """Return the events of a signature, or why it does not stand."""
    step = scene.procedure.step(command.step)
    if step is None:
        return Refusal(code="step.unknown", sentence=f"There is no step “{command.step}” here.")
    refusal = (
        without_secret(command.by, signed=command.signed)
        or next(iter(why_shut(scene, step, act=_is_act(step))), None)
        or _not_to_sign(scene, step)
        or _changed(scene, step, command.seen)
    )
    if refusal is not None:
        return refusal
    seat = seat_for(scene, step, command.by)
    if isinstance(seat, Refusal):
        return seat
    refusal = _entries_in(scene, step, command.by) or _how(step, seat, scene, command)
    if refusal is not None:
        return refusal
    script = Script(scene, command.by)
    script.add(
        SeatSigned(
            step=step.id,
            seat=seat,
            role=step.seats[seat],
            meaning=meaning(step, seat),
            how=command.how,
        )
    )
    finish(script, step)
    return script.events


def refuse_hold(scene: Scene, command: RefuseHold) -> list[Event] | Refusal:
    """Return the events of a refused hold: the reason, and the signatures that fall with it."""
    step = scene.procedure.step(command.step)
    if step is None or not kind_of(step).is_hold:
        return Refusal(code="hold.unknown", sentence="There is no such hold. Nothing was saved.")
    refusal = (
        without_secret(command.by, signed=command.signed)
        or next(iter(why_shut(scene, step, act=False)), None)
        or _not_to_sign(scene, step)
        or _changed(scene, step, command.seen)
    )
    if refusal is not None:
        return refusal
    if not set(step.seats) & scene.crew.roles(command.by):
        who = " or ".join(dict.fromkeys(step.seats))
        return Refusal(
            code="hold.role",
            sentence=f"Only a {who} can refuse step {step.number}. Anyone can stop work.",
            who=who,
            step=step.id,
        )
    if not command.reason.strip():
        return Refusal(
            code="typed.hold.reason",
            sentence="Say why you refuse: the crew must know what to clear. Nothing was saved.",
            step=step.id,
        )
    script = Script(scene, command.by)
    script.add(HoldRefused(step=step.id, reason=command.reason.strip()))
    void_signatures(script, step, f"{command.by} refused the hold.")
    return script.events


def without_secret(person: str, *, signed: bool) -> Refusal | None:
    """Return the refusal of a signature that came without its own secret, or None."""
    if signed:
        return None
    return Refusal(
        code="signature.secret",
        sentence=f"{person or 'Nobody'} has not given their own secret. Nothing was signed.",
        who=person,
    )


def _is_act(step: Step) -> bool:
    """Say whether the signature is itself the act, or comes before it."""
    return step.check == "before" or kind_of(step).is_hold


def _not_to_sign(scene: Scene, step: Step) -> Refusal | None:
    progress = scene.state.progress(step.id)
    if progress.done:
        return Refusal(
            code="step.done",
            sentence=f"Step {step.number} is already signed by all. Nothing was signed.",
            step=step.id,
        )
    if not needs_signatures(step):
        return Refusal(
            code="step.no_seat",
            sentence=f"Step {step.number} takes no signature: its entry is enough.",
            step=step.id,
        )
    return None


def _changed(scene: Scene, step: Step, seen: int) -> Refusal | None:
    """Refuse a signature on what the signer has not read."""
    if step.check == "independent" and not kind_of(step).is_hold:
        return None  # a blind seat rests on its own entries alone
    for name in (step.id, *kind_of(step).rests_on(step)):
        progress: Progress = scene.state.progress(name)
        changed = scene.procedure.step(name)
        if progress.changed > seen and changed is not None:
            return Refusal(
                code="hold.changed",
                sentence=(
                    f"Step {changed.number} was changed while you were reading. "
                    "Your signature was not saved. Read the new line, then sign."
                ),
                where=f"step {changed.number}",
                step=step.id,
            )
    return None


def _entries_in(scene: Scene, step: Step, person: str) -> Refusal | None:
    if step.check == "before" or kind_of(step).is_hold:
        return None
    entries = scene.state.progress(step.id).live()
    if step.check == "independent":
        entries = tuple(entry for entry in entries if entry.by == person)
    outcome = scene.outcome(step, entries)
    if outcome.complete:
        return None
    return Refusal(
        code="sign.too_early",
        sentence=f"Not yet: {outcome.missing} Nothing was signed.",
        where=f"step {step.number}",
        step=step.id,
    )


def _how(step: Step, seat: int, scene: Scene, command: Sign) -> Refusal | None:
    """A countersigner says how they checked; some holds must be seen at the mirror."""
    if not kind_of(step).is_hold:
        return None
    releasing = "release-hold" in scene.crew.abilities.get(step.seats[seat], frozenset())
    if not releasing:
        return None
    if command.how not in (AT_MIRROR, FROM_RECORD):
        return Refusal(
            code="typed.hold.how",
            sentence="Say how you checked. Nothing was signed.",
            step=step.id,
        )
    if getattr(step.own, "at_mirror", False) and command.how != AT_MIRROR:
        return Refusal(
            code="hold.how",
            sentence=(
                "This hold must be seen at the mirror. Photos are not enough. "
                "Go to the mirror, or refuse it."
            ),
            who=command.by,
            where="the mirror",
            step=step.id,
        )
    return None
