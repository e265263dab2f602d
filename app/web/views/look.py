"""What a view may look at: the run with its people and its clock, and what is blind in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from app.desk.seen import Seen
from app.procedure.entry import Circumstances, Entry
from app.procedure.kind import Kind
from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.run.crew import Crew
from app.run.interlocks import why_shut
from app.run.refusal import Refusal
from app.run.scene import Scene, is_blind
from app.run.state import Progress, RunState


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One step of a run, as one person at one tablet may see it."""

    scene: Scene
    step: Step
    at: Circumstances  # blind-safe, for whoever is entering
    people: tuple[str, ...]  # at this tablet
    entering: str

    @property
    def state(self) -> RunState:
        """The run's state. Never hand its entries to a page without asking `blind`."""
        return self.scene.state

    @property
    def procedure(self) -> Procedure:
        """The run's procedure."""
        return self.scene.procedure

    @property
    def progress(self) -> Progress:
        """What has happened on the step."""
        return self.scene.state.progress(self.step.id)

    @property
    def kind(self) -> Kind:
        """The step's kind."""
        return kind_of(self.step)

    @property
    def blind(self) -> bool:
        """Say whether nobody may yet see what others entered on the step."""
        return is_blind(self.scene.state, self.step)

    def seen_entries(self) -> tuple[Entry, ...]:
        """Return the step's entries that this person may see, struck ones too."""
        if not self.blind:
            return self.progress.entries
        now = self.progress.round
        return tuple(
            e
            for e in self.progress.entries
            if e.by == self.entering and e.round == now and not e.signed and not self.sealed(e.by)
        )

    def sealed(self, person: str) -> bool:
        """Say whether a person has signed the step."""
        return any(signature.by == person for signature in self.progress.signatures)

    def shut(self, *, act: bool) -> tuple[Refusal, ...]:
        """Return what keeps the step shut now."""
        return why_shut(self.scene, self.step, act=act)


def scene_of(seen: Seen, crew: Crew, now: datetime) -> Scene:
    """Return all that a decision about this run would look at now."""
    return Scene(
        procedure=seen.procedure,
        state=seen.state,
        board=seen.board,
        crew=crew,
        now=now,
        tools=seen.tools,
    )


def next_step(procedure: Procedure, state: RunState) -> Step:
    """Return the step that is next: the first that is not done, or else the last."""
    begun = state.steps
    for step in procedure.steps:
        if step.id not in begun or not begun[step.id].settled:
            return step
    return procedure.steps[-1]


NOTHING_TYPED: Mapping[str, str] = {}
