"""Correcting an entry, reporting a trouble, disposing of it. Nothing is erased; what rests on it falls."""

from __future__ import annotations

from dataclasses import replace

from app.procedure.attached import attached_fields
from app.procedure.entry import Entry, Judged, Unreadable, made_at
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.branching import opened_by
from app.run.commands import Correct, DisposeTrouble, ReportTrouble
from app.run.entering import judged_with_tool, no_part, no_step, unreadable
from app.run.events import (
    EntryMade,
    EntryStruck,
    Event,
    StepDone,
    TroubleDisposed,
    TroubleReported,
)
from app.run.finishing import dependents, finish, reopen, void_signatures, withdraw_release
from app.run.interlocks import run_shut, why_shut
from app.run.refusal import Refusal
from app.run.scene import Scene, Script, needs_signatures
from app.run.seats import known
from app.run.signing import without_secret
from app.run.state import Progress, Trouble


def correct(scene: Scene, command: Correct) -> list[Event] | Refusal:
    """Return the events of a correction, or why it is refused."""
    entry = scene.state.entry(command.entry)
    step = scene.procedure.step(entry.step) if entry is not None else None
    if entry is None or step is None:
        return Refusal(
            code="entry.unknown", sentence=f"There is no entry {command.entry}. Nothing was saved."
        )
    refusal = (
        without_secret(command.by, signed=command.signed)
        or run_shut(scene)
        or known(scene, step, command.by)
        or _may_correct(scene, step, entry, command)
    )
    if refusal is not None:
        return refusal
    judged = _judged_anew(scene, step, entry, command)
    if isinstance(judged, Refusal):
        return judged
    return _corrected(scene, step, entry, command, judged)


def report(scene: Scene, command: ReportTrouble) -> list[Event] | Refusal:
    """Return the event of a trouble report; anyone known to the site may make one."""
    step = scene.procedure.step(command.step)
    if step is None:
        return no_step(command.step)
    if scene.state.status not in ("open", "suspended"):
        return run_shut(scene) or no_step(command.step)
    if not scene.crew.roles(command.by):
        return Refusal(
            code="person.unknown",
            sentence="Sign on first, so that the report has a name. Stop work needs no name.",
            where="sign on",
            step=step.id,
        )
    if not command.text.strip():
        return Refusal(
            code="typed.trouble.text",
            sentence="Say what is wrong, in a few words. Nothing was saved.",
            step=step.id,
        )
    if command.part not in ("", *kind_of(step).parts(step, scene.circumstances(command.by))):
        return no_part(step, command.part)
    number = len(scene.state.troubles) + 1
    return [
        TroubleReported(trouble=number, step=step.id, part=command.part, text=command.text.strip())
    ]


def dispose(scene: Scene, command: DisposeTrouble) -> list[Event] | Refusal:
    """Return the events of a disposition, or why this person may not make it."""
    trouble = next((t for t in scene.state.troubles if t.number == command.trouble), None)
    step = scene.procedure.step(trouble.step) if trouble is not None else None
    if trouble is None or step is None or trouble.disposition:
        return Refusal(
            code="trouble.unknown",
            sentence=f"Trouble {command.trouble} is not open. Nothing was saved.",
        )
    refusal = without_secret(command.by, signed=command.signed) or _may_dispose(
        scene, step, trouble, command
    )
    if refusal is not None:
        return refusal
    script = Script(scene, command.by)
    script.add(
        TroubleDisposed(
            trouble=trouble.number,
            step=step.id,
            part=trouble.part,
            disposition=command.disposition,
            reason=command.reason.strip(),
        )
    )
    if command.disposition == "use as is":
        finish(script, step)
        return _unless_shut(scene, step, script)
    reason = f"Trouble {trouble.number}: {command.disposition}. {command.reason.strip()}"
    for entry in script.scene.state.progress(step.id).live():
        if trouble.part in ("", entry.part):
            script.add(EntryStruck(entry=entry.number, step=step.id, reason=reason))
    void_signatures(script, step, reason)
    reopen(script, step, reason)
    _fell(script, step, reason)
    return script.events


def _deciding(progress: Progress, entry: Entry) -> Entry | None:
    """Return the entry that stands for the same part (and seat): the latest one decides."""
    same = [e for e in progress.live() if (e.part, e.seat) == (entry.part, entry.seat)]
    return same[-1] if same else None


def _may_correct(scene: Scene, step: Step, entry: Entry, command: Correct) -> Refusal | None:
    progress = scene.state.progress(step.id)
    if entry is not _deciding(progress, entry):
        return Refusal(
            code="entry.struck",
            sentence="This entry was already replaced. Correct the one that stands.",
            where=f"step {step.number}",
            step=step.id,
        )
    if step.check == "independent":
        return Refusal(
            code="count.sealed",
            sentence=(
                f"An independent entry is not corrected. Report a trouble on step {step.number}: "
                "everyone does it again."
            ),
            where=f"step {step.number}",
            step=step.id,
        )
    if command.by != entry.by and not scene.crew.may(command.by, "release-hold"):
        who = f"{entry.by} or {scene.crew.who_may('release-hold')}"
        return Refusal(
            code="correct.role",
            sentence=f"This is {entry.by}'s entry. {who} can correct it. Nothing was saved.",
            who=who,
            step=step.id,
        )
    if progress.changed > command.seen:
        return Refusal(
            code="conflict.tablet",
            sentence=(
                f"Step {step.number} was changed while you were typing. Nothing was saved. "
                "Read it again, then correct it."
            ),
            where=f"step {step.number}",
            step=step.id,
        )
    begun = _begun_on(scene, step)
    if begun is not None:
        return Refusal(
            code="choose.begun",
            sentence=(
                f"Step {begun.number} was begun on this choice, so it is not changed. "
                "Report a trouble, and the lead decides. Nothing was saved."
            ),
            who=scene.crew.who_may("release-hold"),
            where=f"step {begun.number}",
            step=step.id,
        )
    if not command.reason.strip():
        return Refusal(
            code="typed.correct.reason",
            sentence="Say why the old value was wrong. Nothing was saved.",
            step=step.id,
        )
    return None


def _begun_on(scene: Scene, step: Step) -> Step | None:
    """Return a step of the branch chosen here on which work has begun, or None."""
    taken = kind_of(step).taken(step, scene.state.progress(step.id).live())
    for name in opened_by(scene.procedure, step, taken):
        progress = scene.state.progress(name)
        if progress.live() or progress.signatures:
            return scene.procedure.step(name)
    return None


def _judged_anew(scene: Scene, step: Step, entry: Entry, command: Correct) -> Judged | Refusal:
    at = replace(scene.circumstances(entry.by), now=made_at(entry))
    kind = kind_of(step)
    if not kind.card(step, entry.part, at).fields and not attached_fields(step):
        return Refusal(
            code="entry.nothing_typed",
            sentence=(
                "Nothing was typed in this entry, so there is nothing to correct. "
                "Report a trouble to have the step done again."
            ),
            where=f"step {step.number}",
            step=step.id,
        )
    judged = judged_with_tool(step, entry.part, command.values, at)
    return unreadable(step, judged) if isinstance(judged, Unreadable) else judged


def _corrected(
    scene: Scene, step: Step, entry: Entry, command: Correct, judged: Judged
) -> list[Event] | Refusal:
    script = Script(scene, command.by)
    reason = command.reason.strip()
    script.add(
        EntryMade(
            step=step.id,
            part=entry.part,
            seat=-1 if entry.seat is None else entry.seat,
            round=entry.round,
            values=dict(command.values),
            computed=dict(judged.computed),
            readings={k: {"value": r.value, "unit": r.unit} for k, r in judged.readings.items()},
            verdict=judged.verdict,
            saying=judged.saying,
            signed=True,
            replaces=entry.number,
        )
    )
    script.add(EntryStruck(entry=entry.number, step=step.id, reason=reason))
    because = f"An entry of step {step.number} was corrected by {command.by}: {reason}"
    void_signatures(script, step, because)
    complete = script.scene.outcome(step, script.scene.state.progress(step.id).live()).complete
    if needs_signatures(step) or not complete:
        reopen(script, step, because)
    _fell(script, step, because)
    withdraw_release(script, step, command.by)
    finish(script, step)
    return _unless_shut(scene, step, script)


def _unless_shut(scene: Scene, step: Step, script: Script) -> list[Event] | Refusal:
    """Return the events, unless they finish a step that is shut: nothing would ever ask it again."""
    if not any(isinstance(event, StepDone) for event in script.events):
        return script.events
    shut = why_shut(scene, step, act=False)
    return next((r for r in shut if r.code != "trouble.open"), script.events)


def _fell(script: Script, step: Step, reason: str) -> None:
    """Let fall whatever rested on a step: countersignatures, and values computed from it."""
    for each in dependents(script, step):
        for entry in script.scene.state.progress(each.id).live():
            script.add(EntryStruck(entry=entry.number, step=each.id, reason=reason))
        void_signatures(script, each, reason)
        reopen(script, each, reason)


def _entered_out(scene: Scene, step: Step, trouble: Trouble) -> frozenset[str]:
    """Return who made the entries out of limit that "use as is" would let count."""
    live = scene.state.progress(step.id).live()
    return frozenset(e.by for e in live if e.verdict == "out" and e.part == trouble.part)


def _may_dispose(
    scene: Scene, step: Step, trouble: Trouble, command: DisposeTrouble
) -> Refusal | None:
    if command.by == trouble.by:
        return Refusal(
            code="trouble.own",
            sentence=f"{command.by} reported this trouble. Someone else decides on it.",
            who=scene.crew.who_may("release-hold"),
            step=step.id,
        )
    as_it_is = command.disposition == "use as is"
    ability = "accept-deviation" if as_it_is else "release-hold"
    if not scene.crew.may(command.by, ability):
        who = scene.crew.who_may(ability)
        return Refusal(
            code="trouble.role",
            sentence=f"Only {who} can decide “{command.disposition}”. Nothing was saved.",
            who=who,
            step=step.id,
        )
    if as_it_is and command.by in _entered_out(scene, step, trouble):
        return Refusal(
            code="trouble.own_entry",
            sentence=f"{command.by} entered this. Someone else decides whether it is used as it is.",
            who=scene.crew.who_may(ability),
            step=step.id,
        )
    facts = scene.procedure.asset.hazard_facts()
    touched = facts & ({*step.sets} | {test.fact for test in step.confirms})
    if as_it_is and touched:
        name = min(touched).replace("_", " ")
        return Refusal(
            code="trouble.hazard",
            sentence=(
                f"Step {step.number} speaks for {name}, on which the mirror's safety rests. "
                "It cannot be used as it is: redo, repair or reject."
            ),
            who=scene.crew.who_may("release-hold"),
            step=step.id,
        )
    if not command.reason.strip():
        return Refusal(
            code="typed.trouble.reason",
            sentence="Say why, for whoever reads the record. Nothing was saved.",
            step=step.id,
        )
    return None
