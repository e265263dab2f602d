"""The procedure drawn as a ruler: short full lines done, thin ones to come, a tall block for a hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.run.state import RunState

WIDTH, EDGE = 1140, 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One step on the ruler."""

    form: Literal["done", "todo", "signed", "hold"]
    x: str
    left: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruler:
    """The whole ruler, with the pointer at the step shown."""

    label: str
    strokes: tuple[Stroke, ...]
    pointer: str
    needle: str


def ruler(procedure: Procedure, state: RunState, here: Step) -> Ruler:
    """Return the ruler of a procedure as its run stands."""
    count = len(procedure.steps)
    at = _x(here.number, count)
    holds = [str(step.number) for step in procedure.steps if kind_of(step).is_hold]
    said = f" Holds at steps {', '.join(holds)}." if holds else ""
    return Ruler(
        label=f"Step {here.number} of {count}.{said}",
        strokes=tuple(_stroke(step, state, count) for step in procedure.steps),
        pointer=f"M{at - 11:.1f} 1h22l-11 18z",
        needle=f"M{at:.1f} 16V36",
    )


def _stroke(step: Step, state: RunState, count: int) -> Stroke:
    done = state.progress(step.id).done
    if kind_of(step).is_hold:
        form: Literal["done", "todo", "signed", "hold"] = "signed" if done else "hold"
    else:
        form = "done" if done else "todo"
    x = _x(step.number, count)
    return Stroke(form=form, x=f"{x:.1f}", left=f"{x - 6:.1f}")


def _x(number: int, count: int) -> float:
    return EDGE + (number - 0.5) * (WIDTH - 2 * EDGE) / count
