"""The procedure drawn as a ruler: short full lines done, thin ones to come, a tall block for a hold."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.run.state import RunState

WIDTH, EDGE = 1140, 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A hold on the ruler."""

    signed: bool
    left: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruler:
    """The whole ruler, with the pointer at the step shown; `done` and `todo` draw all their lines."""

    label: str
    done: str
    todo: str
    holds: tuple[Block, ...]
    pointer: str
    needle: str


def ruler(procedure: Procedure, state: RunState, here: Step) -> Ruler:
    """Return the ruler of a procedure as its run stands."""
    count = len(procedure.steps)
    at = _x(here.number, count)
    holds = [s for steps in procedure.by_kind.values() if kind_of(steps[0]).is_hold for s in steps]
    full, thin, done = *_lines(count), _done(procedure, state)
    numbers = {step.number - 1 for step in holds}
    lines = [index for index in range(count) if index not in numbers]
    said = f" Holds at steps {', '.join(str(s.number) for s in holds)}." if holds else ""
    return Ruler(
        label=f"Step {here.number} of {count}.{said}",
        done="".join(full[index] for index in lines if done[index]),
        todo="".join(thin[index] for index in lines if not done[index]),
        holds=tuple(
            Block(signed=done[step.number - 1], left=f"{_x(step.number, count) - 6:.1f}")
            for step in holds
        ),
        pointer=f"M{at - 11:.1f} 1h22l-11 18z",
        needle=f"M{at:.1f} 16V36",
    )


def _done(procedure: Procedure, state: RunState) -> list[bool]:
    begun = state.steps
    return [step.id in begun and begun[step.id].done for step in procedure.steps]


@lru_cache(maxsize=128)
def _lines(count: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    places = [f"{_x(number, count):.1f}" for number in range(1, count + 1)]
    return tuple(f"M{x} 20V34" for x in places), tuple(f"M{x} 26V34" for x in places)


def _x(number: int, count: int) -> float:
    return EDGE + (number - 0.5) * (WIDTH - 2 * EDGE) / count
