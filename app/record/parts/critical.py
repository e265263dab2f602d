"""Of each critical step: who did it, who checked it, and how far the two were independent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.procedure.registry import kind_of

if TYPE_CHECKING:
    from app.procedure.model import Procedure, Step
    from app.record.acts import Names
    from app.record.clock import Clock
    from app.run.state import Progress, RunState


@dataclass(frozen=True, slots=True, kw_only=True)
class CriticalShown:
    """One critical step in one line."""

    step: str
    do: str
    did: str
    checked: str
    independent: str


def critical_steps(
    procedure: Procedure, state: RunState, names: Names, clock: Clock
) -> tuple[CriticalShown, ...]:
    """Return one line for each step that is critical, a hold, or has several seats."""
    return tuple(
        _line(step, state.progress(step.id), names, clock)
        for step in procedure.steps
        if step.critical or kind_of(step).is_hold or len(step.seats) > 1
    )


def _line(step: Step, progress: Progress, names: Names, clock: Clock) -> CriticalShown:
    entered = tuple(dict.fromkeys(entry.by for entry in progress.live()))
    signed = [s for s in progress.signatures if s.by not in entered or step.check != "after"]
    return CriticalShown(
        step=f"Step {step.number}",
        do=step.do,
        did=", ".join(entered) or ("signed only" if kind_of(step).is_hold else "nobody"),
        checked=", ".join(f"{s.by}, {s.role}, {clock.when(s.at)}" for s in signed) or "—",
        independent=_independent(step, progress, entered, names),
    )


def _independent(step: Step, progress: Progress, entered: tuple[str, ...], names: Names) -> str:
    signers = {s.by for s in progress.signatures}
    if progress.passed_by:
        return f"Not taken: {names.step(progress.passed_by)} chose another way."
    if not progress.done:
        return "Not done."
    if kind_of(step).is_hold:
        return f"{len(signers)} people; whoever released had entered nothing since the last hold."
    if step.check == "independent":
        return f"{len({e.by for e in progress.live()})} people, each blind to the others."
    if step.check == "before":
        return f"{len(signers)} people agreed before the act."
    others = signers - set(entered)
    return f"{len(others)} looked at another's work." if others else "One person alone."
