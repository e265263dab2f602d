"""Entering a value, a tick, a count, a photo on a step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from app.procedure.attached import attached_missing
from app.procedure.entry import Circumstances, Entry, Judged, Unreadable
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.procedure.tool import why_not_tool
from app.run.commands import Enter
from app.run.events import EntryMade, Event, SeatSigned
from app.run.finishing import finish, reopen, withdraw_release
from app.run.interlocks import why_shut
from app.run.keepable import why_not_keepable
from app.run.refusal import Refusal
from app.run.scene import Scene, Script, needs_signatures, standing
from app.run.seats import independent_seat, may_enter
from app.run.signing import meaning


def enter(scene: Scene, command: Enter) -> list[Event] | Refusal:
    """Return the events of an entry, or why it is not taken."""
    step = scene.procedure.step(command.step)
    if step is None:
        return no_step(command.step)
    if kind_of(step).presence and not command.part:
        command = replace(command, part=command.by)
    refusal = (
        next(iter(why_shut(scene, step)), None)
        or (why_not_keepable(scene.procedure, step) if command.tablet else None)
        or _already_done(scene, step)
        or may_enter(scene, step, command.by)
        or _stale(scene, step, command)
        or _own_secret(scene, step, command)
        or _part(scene, step, command)
    )
    if refusal is not None:
        return refusal
    judged = _judged(scene, step, command)
    if isinstance(judged, Refusal):
        return judged
    return _written(scene, step, command, judged)


def no_step(name: str) -> Refusal:
    """Return the refusal for a step that the procedure does not have."""
    return Refusal(
        code="step.unknown", sentence=f"This procedure has no step “{name}”. Nothing was saved."
    )


def no_part(step: Step, part: str) -> Refusal:
    """Return the refusal for a part that the step does not have."""
    return Refusal(
        code="part.unknown",
        sentence=f"Step {step.number} has no part “{part}”. Nothing was saved.",
        step=step.id,
    )


def one_part(scene: Scene, step: Step) -> bool:
    """Say whether the step is entered at once, so that one entry is one person's whole work."""
    return tuple(kind_of(step).parts(step, scene.circumstances())) == ("",)


def _written(scene: Scene, step: Step, command: Enter, judged: Judged) -> list[Event] | Refusal:
    script = Script(scene, command.by)
    seat = -1
    if step.check == "independent":
        chosen = independent_seat(scene, step, command.by)
        if isinstance(chosen, Refusal):
            return chosen
        seat = chosen
    script.add(
        EntryMade(
            step=step.id,
            part=command.part,
            seat=seat,
            round=scene.state.progress(step.id).round,
            values=dict(command.values),
            computed=dict(judged.computed),
            readings={k: {"value": r.value, "unit": r.unit} for k, r in judged.readings.items()},
            verdict=judged.verdict,
            saying=judged.saying,
            signed=command.signed,
            replaces=0,
            tablet=dict(command.tablet),
        )
    )
    if step.check == "independent" and command.signed and one_part(scene, step):
        script.add(
            SeatSigned(
                step=step.id, seat=seat, role=step.seats[seat], meaning=meaning(step, seat), how=""
            )
        )
    withdraw_release(script, step, command.by)
    finish(script, step)
    progress = script.scene.state.progress(step.id)
    if progress.done and not script.scene.outcome(step, progress.live()).complete:
        reopen(script, step, f"Read again: {judged.saying}")
    return script.events


def _judged(scene: Scene, step: Step, command: Enter) -> Judged | Refusal:
    at = scene.circumstances(command.by, blind=True)
    judged = judged_with_tool(step, command.part, command.values, at)
    return unreadable(step, judged) if isinstance(judged, Unreadable) else judged


def judged_with_tool(
    step: Step, part: str, values: Mapping[str, str], at: Circumstances
) -> Judged | Unreadable:
    """Return what the kind makes of an entry, if all that is attached to it is there and fit."""
    kind = kind_of(step)
    missing = attached_missing(step, values)
    if missing is not None:
        return missing
    judged = kind.judge(step, part, values, at)
    if isinstance(judged, Unreadable):
        return judged
    amounts = kind.worked_at(step, part, values)
    return why_not_tool(step, values.get("tool", ""), amounts, at.tools, at.now) or judged


def unreadable(step: Step, found: Unreadable) -> Refusal:
    """Return the refusal for what cannot be kept as typed."""
    return Refusal(code=f"typed.{found.code}", sentence=found.sentence, step=step.id)


def may_be_read_again(scene: Scene, step: Step) -> bool:
    """Say whether a done step may be entered once more, since a later one wants its reading fresh.

    The newest reading counts; what was countersigned rests on the one that was read before it.
    """
    name = getattr(step.own, "reading", "")
    wanted = any(need.reading == name for each in scene.procedure.steps for need in each.fresh)
    alone = step.check == "after" and not needs_signatures(step)
    return wanted and alone and kind_of(step).again and scene.state.progress(step.id).done


def _already_done(scene: Scene, step: Step) -> Refusal | None:
    progress = scene.state.progress(step.id)
    if not progress.done or kind_of(step).presence or may_be_read_again(scene, step):
        return None
    return Refusal(
        code="step.done",
        sentence=(
            f"Step {step.number} is done since {progress.done_at:%H:%M:%S} UTC. "
            "Nothing was saved. If an entry is wrong, correct it."
        ),
        where=f"step {step.number}",
        step=step.id,
    )


def _stale(scene: Scene, step: Step, command: Enter) -> Refusal | None:
    """Refuse when what the page showed of this part is no longer so."""
    progress = scene.state.progress(step.id)
    newer = [e for e in progress.entries if e.number > command.seen and e.part == command.part]
    if step.check == "independent":
        newer = [e for e in newer if e.by == command.by]
        if any(d.seq > command.seen for d in progress.differed):
            return Refusal(
                code="conflict.round",
                sentence="Everyone counts again: the page you entered on was of the last round.",
                step=step.id,
            )
    # A tablet's own last entry, made on the same page before it had an answer, is no news to it.
    if not newer or newer[-1].number in command.own:
        return None
    last = newer[-1]
    thing = command.part or f"step {step.number}"
    return Refusal(
        code="conflict.tablet",
        sentence=(
            f"{last.by} recorded {thing} at {last.at:%H:%M:%S} UTC. Yours was not saved. "
            f"If {last.by}'s is wrong, correct it."
        ),
        who=last.by,
        where=f"step {step.number}",
        step=step.id,
    )


def _own_secret(scene: Scene, step: Step, command: Enter) -> Refusal | None:
    """Entries that are themselves a signature are made with the person's own secret."""
    kind = kind_of(step)
    sealed = step.check == "independent" and not kind.is_hold and one_part(scene, step)
    if not (sealed or kind.presence) or command.signed:
        return None
    return Refusal(
        code="signature.secret",
        sentence=f"{command.by} enters this with their own secret. Nothing was saved.",
        who=command.by,
        step=step.id,
    )


def _part(scene: Scene, step: Step, command: Enter) -> Refusal | None:
    kind = kind_of(step)
    if kind.is_hold:
        return Refusal(
            code="entry.hold",
            sentence=f"Step {step.number} is a hold: it is signed, nothing is entered.",
            step=step.id,
        )
    at = scene.circumstances(command.by)
    if kind.presence:
        return _presence(scene, step, command)
    if command.part not in kind.parts(step, at):
        return no_part(step, command.part)
    good = _good(scene, step, command, at)
    if good is None or may_be_read_again(scene, step):
        return None
    thing = command.part or f"Step {step.number}"
    return Refusal(
        code="part.done",
        sentence=(
            f"{thing} was entered at {good.at:%H:%M:%S} UTC by {good.by}. Nothing was saved. "
            "If that is wrong, correct it."
        ),
        who=good.by,
        where=f"step {step.number}",
        step=step.id,
    )


def _good(scene: Scene, step: Step, command: Enter, at: Circumstances) -> Entry | None:
    """Return the entry that decides on this part (this person's, where it is blind), if it is good."""
    for entry in reversed(scene.state.progress(step.id).live()):
        mine = step.check != "independent" or entry.by == command.by
        if entry.part == command.part and mine:
            good = standing(entry).verdict == "good"
            return entry if good and kind_of(step).stands(step, entry, at) else None
    return None


def _presence(scene: Scene, step: Step, command: Enter) -> Refusal | None:
    if command.part != command.by or command.by in scene.briefed():
        return Refusal(
            code="part.done" if command.by in scene.briefed() else "part.unknown",
            sentence=(
                f"{command.by} has already said so."
                if command.by in scene.briefed()
                else "Each person speaks for themselves. Nothing was saved."
            ),
            who=command.part,
            step=step.id,
        )
    return None
