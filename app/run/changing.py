"""A change for one run: another text of some steps, approved by two people, for a stated time.

Rules, all of them here:
- a changed text is the released one but for what some steps say or ask for: their words, their
  limits, their deadlines. Ids, order, kinds, seats, facts and interlocks stay, so the proof of
  the released text speaks of the changed one too (and it is proved anew all the same);
- a step that sets, confirms or needs a fact of some hazard keeps its limits, and a hold its
  sentence: the proof takes their entries at their word;
- a step on which something was entered or signed keeps its text;
- the newest change alone is in force, until its moment, or until its last step is done;
- a step that is done keeps the text by which it was done, whatever comes later.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import datetime, timedelta

from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.run.abandoning import why_not_both
from app.run.commands import ChangeSteps
from app.run.events import Event, FieldChangeApproved
from app.run.interlocks import run_shut
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.signing import without_secret
from app.run.state import FieldChange, RunState

MAY_CHANGE = frozenset(
    {"do", "why", "danger", "warning", "caution", "notice", "mirror", "back_out", "picture"}
    | {"picture_text", "own", "fresh", "within", "line"}
)
FOLLOWS = frozenset({"line", "number", "section"})  # of a text's lines, not of a step
LONGEST = timedelta(days=14)  # a change that must last longer is a revision: common practice


def in_force(state: RunState, step: str, now: datetime) -> FieldChange | None:
    """Return the change by which a step is done, or was; None for the released text."""
    progress = state.progress(step)
    at, seq = progress.done_at or now, progress.done_seq or state.seq + 1
    last = next((c for c in reversed(state.changes) if c.seq < seq), None)
    if last is None or step not in last.steps or (last.until is not None and at >= last.until):
        return None
    ended = state.progress(last.until_step).done_seq if last.until_step else 0
    return None if ended and ended < seq else last


def followed(
    released: Procedure, texts: Mapping[str, Procedure], state: RunState, now: datetime
) -> Procedure:
    """Return the procedure as this run follows it now; `texts` has every changed text by SHA-256."""
    if not state.changes:
        return released
    found = {step.id: in_force(state, step.id, now) for step in released.steps}
    instead = {
        name: texts[change.sha256].step(name)
        for name, change in found.items()
        if change is not None
    }
    return replace(
        released,
        sections=tuple(
            replace(section, steps=tuple(instead.get(s.id) or s for s in section.steps))
            for section in released.sections
        ),
    )


def changed_steps(released: Procedure, changed: Procedure) -> tuple[str, ...] | Refusal:
    """Return which steps another text changes, or why it is none for a single run."""
    whole = [
        each.name
        for each in fields(released)
        if each.name not in ("sections", "file", "sha256")
        and getattr(released, each.name) != getattr(changed, each.name)
    ]
    if whole or _shape(released) != _shape(changed):
        what = ", ".join(whole) or "which steps there are, or their order"
        return _no("change.shape", f"It changes {what}. That takes a new revision.")
    steps: list[str] = []
    for old, new in zip(released.steps, changed.steps, strict=True):
        keys = [f.name for f in fields(old) if getattr(old, f.name) != getattr(new, f.name)]
        keys = [key for key in keys if key not in FOLLOWS]
        other = [key for key in keys if key not in MAY_CHANGE]
        if other:
            what = f"Step {old.number} changes {', '.join(other)}. That takes a new revision."
            return _no("change.keys", what, step=old.id)
        if moves_a_hazard(released, old) and {"own", "fresh", "within"} & set(keys):
            what = f"Step {old.number} sets or confirms a fact of a hazard: its limits stay."
            return _no("change.hazard", what, step=old.id)
        steps += [old.id] if keys else []
    return tuple(steps) or _no("change.none", "Nothing in the text is changed.")


def change_steps(
    scene: Scene, command: ChangeSteps, released: Procedure, changed: Procedure
) -> list[Event] | Refusal:
    """Return the event of a change, or why it is not to be; the proof is the caller's to ask for."""
    if scene.state.status in ("none", "closed"):
        return run_shut(scene) or []
    steps = changed_steps(released, changed)
    if isinstance(steps, Refusal):
        return steps
    refusal = (
        without_secret(command.by, signed=command.signed)
        or why_not_both(scene, (command.by, command.second), "change a run")
        or _begun(scene, steps, changed)
        or _ends(scene, command)
    )
    if refusal is not None:
        return refusal
    return [
        FieldChangeApproved(
            change=len(scene.state.changes) + 1,
            second=command.second,
            reason=command.reason.strip(),
            sha256=changed.sha256,
            steps=steps,
            until=command.until,
            until_step=command.until_step,
        )
    ]


def _begun(scene: Scene, steps: tuple[str, ...], changed: Procedure) -> Refusal | None:
    for name in steps:
        step, progress = scene.procedure.step(name), scene.state.progress(name)
        same = _says(step) == _says(changed.step(name))
        if (
            step is not None
            and not same
            and (progress.settled or progress.live() or progress.signatures)
        ):
            what = f"Step {step.number} is begun or done. Its text stays."
            return _no("change.begun", what, step=name)
    return None


def _ends(scene: Scene, command: ChangeSteps) -> Refusal | None:
    if not command.reason.strip():
        return _no("typed.change.reason", "Say why this run needs another text.")
    if bool(command.until) == bool(command.until_step):
        return _no("typed.change.until", "Say when the change ends: a moment, or a step.")
    if command.until_step:
        step = scene.procedure.step(command.until_step)
        if step is None or scene.state.progress(step.id).settled:
            return _no("typed.change.until", "The change must end with a step that is still to do.")
        return None
    try:
        until = datetime.fromisoformat(command.until)
    except ValueError:
        return _no("typed.change.until", "The end of the change is no moment.")
    if until.tzinfo is None or not scene.now < until <= scene.now + LONGEST:
        days = f"{LONGEST.days} days"
        return _no("typed.change.until", f"The change must end within {days} from now, in UTC.")
    return None


def moves_a_hazard(procedure: Procedure, step: Step) -> bool:
    """Say whether a step's limits stay as they are released: the proof rests on them."""
    touched = {*step.sets, *(test.fact for test in (*step.confirms, *step.needs))}
    kind = kind_of(step)
    moves = bool(touched & procedure.asset.hazard_facts())
    return moves or kind.is_hold or bool(kind.branches(step, procedure))


def _shape(procedure: Procedure) -> list[tuple[str, list[str]]]:
    return [(section.order, [step.id for step in section.steps]) for section in procedure.sections]


def _says(step: Step | None) -> Step | None:
    return None if step is None else replace(step, line=0)


def _no(code: str, sentence: str, *, step: str = "") -> Refusal:
    said = f"{sentence} Nothing was saved."
    return Refusal(code=code, sentence=said, where="the change page of the run", step=step)
