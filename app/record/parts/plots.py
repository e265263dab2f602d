"""The drawings of a step as they stood at the end of the run: those of its card, for print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.procedure.drawing import Scale
from app.procedure.drawn.drawings import drawn
from app.procedure.entry import Circumstances
from app.procedure.registry import kind_of
from app.run.scene import standing

if TYPE_CHECKING:
    from datetime import datetime

    from app.procedure.drawn.drawings import Drawn
    from app.procedure.model import Procedure, Step
    from app.run.crew import Crew
    from app.run.state import RunState

MOST_SCALES = 9  # of one step: more of them say less than the table above them
MOST_STEPS = 300  # a longer procedure is drawn on its critical steps alone: print takes its time


def at_the_end(procedure: Procedure, state: RunState, crew: Crew, now: datetime) -> Circumstances:
    """Return what a card may look at when a run is over: everything that stands."""
    return Circumstances(
        procedure=procedure,
        now=now,
        entries={
            name: tuple(standing(entry) for entry in progress.live())
            for name, progress in state.steps.items()
        },
        roles={person: crew.roles(person) for person in crew.people},
        names={person.id: person.name for person in crew.people.values()},
        done_at={
            name: progress.done_at
            for name, progress in state.steps.items()
            if progress.done_at is not None
        },
        passed=frozenset(name for name, progress in state.steps.items() if progress.passed_by),
    )


def plots(step: Step, at: Circumstances) -> tuple[Drawn, ...]:
    """Return where each line of a step's drawings goes; nothing for a step without entries."""
    if not at.of(step.id) or (len(at.procedure.steps) > MOST_STEPS and not step.critical):
        return ()
    told = kind_of(step).card(step, "", at).drawings
    scales = [each for each in told if isinstance(each, Scale) and each.value is not None]
    maps = [each for each in told if not isinstance(each, Scale)]
    return tuple(drawn(each) for each in (*maps, *(scales if len(scales) <= MOST_SCALES else ())))
