"""Stop work, restart, suspend, resume, close: when work may halt and when it may go on."""

from __future__ import annotations

from app.procedure.model import Procedure
from app.run.board import Board
from app.run.commands import Close, Resume, SignRestart, StopWork, Suspend
from app.run.events import (
    Event,
    RestartSigned,
    RunClosed,
    RunResumed,
    RunSuspended,
    WorkRestarted,
    WorkStopped,
)
from app.run.interlocks import fact_sentence, run_shut
from app.run.refusal import Refusal
from app.run.safe_points import at_safe_point, begun_steps, withdrawn_shut
from app.run.scene import Scene, Script
from app.run.signing import without_secret
from app.run.state import RunState

TWO_PEOPLE = 2  # to restart: common practice, no source


def stop(scene: Scene, command: StopWork) -> list[Event] | Refusal:
    """Return the event of a stop. Anyone, any time, while the run is not closed."""
    if scene.state.status in ("none", "closed"):
        return run_shut(scene) or []
    return [WorkStopped(text=command.text.strip())]


def make_safe_lines(procedure: Procedure, state: RunState) -> tuple[str, ...]:
    """Return what must be so while work is stopped: the way back from here, the safe state."""
    here = next((s for s in procedure.steps if not state.progress(s.id).settled), None)
    lines = [here.back_out] if here is not None and here.back_out else []
    return (*lines, procedure.safe_state)


def last_state_lines(procedure: Procedure, state: RunState, board: Board) -> tuple[str, ...]:
    """Return what a person confirms by looking before work is taken up again."""
    done = [s for s in procedure.steps if state.progress(s.id).done]
    last = max(done, key=lambda s: state.progress(s.id).done_seq, default=None)
    lines = [f"Step {last.number} is done: {last.do}"] if last is not None else []
    if state.suspended:
        lines.append(f"It was left so: {state.suspended}")
    facts = (f"{name.replace('_', ' ')}: {now.value}" for name, now in board.facts.items())
    return (*lines, *(fact.capitalize() for fact in facts))


def restart(scene: Scene, command: SignRestart) -> list[Event] | Refusal:
    """Return the events of a restart signature; the second one restarts work."""
    stopped = scene.state.stop
    if stopped is None:
        return Refusal(code="restart.none", sentence="Work is not stopped.")
    refusal = without_secret(command.by, signed=command.signed) or _may_restart(scene, command)
    if refusal is not None:
        return refusal
    signed = [person for person, _ in stopped.restart]
    if command.by in signed:
        return Refusal(
            code="restart.same_person",
            sentence=f"{command.by} has already signed the restart. Another person must.",
            who=scene.crew.who_may("restart"),
        )
    script = Script(scene, command.by)
    role = ", ".join(sorted(scene.crew.roles(command.by)))
    script.add(RestartSigned(role=role, confirmed=command.confirmed))
    people = [*signed, command.by]
    if len(people) >= TWO_PEOPLE and any(scene.crew.may(p, "restart") for p in people):
        script.add(WorkRestarted(reason=command.reason.strip()))
    return script.events


def _may_restart(scene: Scene, command: SignRestart) -> Refusal | None:
    if not scene.crew.roles(command.by):
        return Refusal(
            code="person.unknown", sentence=f"{command.by or 'Nobody'} is not known here."
        )
    lines = make_safe_lines(scene.procedure, scene.state)
    left = [line for line in lines if line not in command.confirmed]
    if left:
        return Refusal(
            code="typed.restart.lines",
            sentence=f"Look first, then confirm every line. Still open: {left[0]}",
            where="the stop page",
        )
    if not command.reason.strip():
        return Refusal(
            code="typed.restart.reason",
            sentence="Say why work may go on. Nothing was signed.",
            where="the stop page",
        )
    return None


def suspend(scene: Scene, command: Suspend) -> list[Event] | Refusal:
    """Return the event of a suspension, at a safe point only."""
    refusal = (
        without_secret(command.by, signed=command.signed)
        or (None if withdrawn_shut(scene) == run_shut(scene) else run_shut(scene))
        or _ability(scene, command.by, "restart", "suspend work")
        or _safe_point(scene)
    )
    if refusal is not None:
        return refusal
    if not command.state.strip():
        return Refusal(
            code="typed.suspend.state",
            sentence="Describe how the mirror and the equipment are left. Nothing was saved.",
        )
    return [RunSuspended(state=command.state.strip())]


def _safe_point(scene: Scene) -> Refusal | None:
    if at_safe_point(scene):
        return None
    begun = begun_steps(scene)
    done = [s for s in scene.procedure.steps if scene.state.progress(s.id).done]
    last = max(done, key=lambda s: s.number, default=None)
    points = [s.number for s in scene.procedure.steps if s.safe_point]
    here = begun[0].number if begun else (last.number if last is not None else 0)
    ahead = next((n for n in points if n >= here), None)
    way = f"The next safe point is after step {ahead}." if ahead else "Finish the procedure."
    return Refusal(
        code="suspend.unsafe",
        sentence=f"Work cannot be left here. {way} In danger, stop work.",
        where=f"step {ahead}" if ahead else "",
    )


def resume(scene: Scene, command: Resume) -> list[Event] | Refusal:
    """Return the event of a resumption, after every line of the last state was confirmed."""
    if scene.state.status != "suspended":
        return Refusal(code="resume.none", sentence="Work is not suspended.")
    if scene.state.stop is not None:
        return run_shut(scene) or []
    refusal = (
        without_secret(command.by, signed=command.signed)
        or _ability(scene, command.by, "restart", "resume work")
        or withdrawn_shut(scene)
    )
    if refusal is not None:
        return refusal
    lines = last_state_lines(scene.procedure, scene.state, scene.board)
    left = [line for line in lines if line not in command.confirmed]
    if left:
        return Refusal(
            code="typed.resume.lines",
            sentence=f"Look, then confirm every line. Still open: {left[0]}",
            where="the resume page",
        )
    return [RunResumed(confirmed=command.confirmed)]


def close(scene: Scene, command: Close) -> list[Event] | Refusal:
    """Return the event that closes a run, or what still stands against it."""
    refusal = (
        without_secret(command.by, signed=command.signed)
        or run_shut(scene)
        or _ability(scene, command.by, "release-hold", "close a run")
        or _left_open(scene)
        or _left_on_tablets(scene, command)
    )
    if refusal is not None:
        return refusal
    over = (
        f" Closed over this: {' '.join(command.unsent)} {command.reason}" if command.unsent else ""
    )
    procedure = scene.procedure
    leaves = ", ".join(test.words() for test in procedure.leaves)
    passed = [s for s in procedure.steps if not scene.state.progress(s.id).done]
    taken = f" that were taken ({len(passed)} were not)" if passed else ""
    return [
        RunClosed(
            statement=(
                f"All {len(procedure.steps) - len(passed)} steps{taken} of {procedure.id} revision "
                f"{procedure.revision} are done, and the hardware is left as promised: {leaves}."
                f"{over.rstrip()}"
            )
        )
    ]


def _left_on_tablets(scene: Scene, command: Close) -> Refusal | None:
    """Refuse while a tablet holds entries back, unless whoever closes says why it is right."""
    if not command.unsent or command.reason.strip():
        return None
    return Refusal(
        code="close.unsent",
        sentence=(
            f"{' '.join(command.unsent)} Nothing was closed. Bring the tablet into the link, "
            "or say why the run is closed without them."
        ),
        who=scene.crew.who_may("release-hold"),
        where="the tablet",
    )


def _left_open(scene: Scene) -> Refusal | None:
    for trouble in scene.state.open_troubles():
        return Refusal(
            code="close.trouble",
            sentence=f"Trouble {trouble.number} is still open: “{trouble.text}”",
            who=scene.crew.who_may("release-hold"),
            where=f"trouble {trouble.number}",
        )
    for step in scene.procedure.steps:
        if not scene.state.progress(step.id).settled:
            return Refusal(
                code="close.step",
                sentence=f"Step {step.number} is not done: {step.do} The run stays open.",
                where=f"step {step.number}",
                step=step.id,
            )
    for test in scene.procedure.leaves:
        if not test.holds(scene.board.value(test.fact)):
            return Refusal(
                code="close.leaves",
                sentence=f"The run cannot be closed. {fact_sentence(scene.board, test)}",
                where="the board",
            )
    return None


def _ability(scene: Scene, person: str, ability: str, act: str) -> Refusal | None:
    if scene.crew.may(person, ability):
        return None
    who = scene.crew.who_may(ability)
    return Refusal(code="ability", sentence=f"Only {who} can {act}. Nothing was saved.", who=who)
