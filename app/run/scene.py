"""Everything that a decision looks at, in one hand: text, state, board, people, the server's time.

Also the script of a decision: events added one by one, each seen by the next.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Set
from dataclasses import dataclass, field, replace
from datetime import datetime

from app.procedure.entry import Circumstances, Entry, LastRead, Outcome
from app.procedure.kind import Kind
from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.procedure.tool import Tool
from app.run.board import Board, post
from app.run.crew import Crew
from app.run.events import Event, Happened
from app.run.state import RunState, evolve


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What is known at the moment of an act."""

    procedure: Procedure
    state: RunState
    board: Board
    crew: Crew
    now: datetime
    tools: Mapping[str, Tool] = field(default_factory=dict)  # none: tools are only named

    def circumstances(self, who: str = "", *, blind: bool = False) -> Circumstances:
        """Return what a kind may look at.

        Args:
            who: the person entering.
            blind: take other people's entries (and sealed ones) out of every blind step.
        """
        return Circumstances(
            procedure=self.procedure,
            now=self.now,
            entries=_Shown(self.procedure, self.state, who, blind),
            roles=self.crew.roles_of_all,
            names=self.crew.names,
            done_at=_DoneAt(self.state),
            passed=_Passed(self.state),
            who=who,
            readings=_Readings(self.state, self.board, self.procedure),
            tools=self.tools,
        )

    def outcome(self, step: Step, entries: tuple[Entry, ...]) -> Outcome:
        """Return whether these entries complete the step (or one seat of it)."""
        at = self.circumstances()
        return kind_of(step).outcome(step, tuple(standing(e) for e in entries), at)

    def briefed(self) -> frozenset[str]:
        """Return the people who have said on a brief that they were there."""
        return frozenset(
            entry.part
            for step in steps_of(self.procedure, _is_brief)
            for entry in self.state.progress(step.id).live()
        )

    def brief_over(self) -> bool:
        """Say whether a brief is done, so that only briefed people may act."""
        return any(
            self.state.progress(step.id).done for step in steps_of(self.procedure, _is_brief)
        )

    def name(self, person: str) -> str:
        """Return how a person is named in a sentence: their id."""
        return person or "Nobody"


def steps_of(procedure: Procedure, fits: Callable[[Kind], bool]) -> Iterator[Step]:
    """Yield the steps of every kind that fits, kind by kind; the other steps are not looked at."""
    for steps in procedure.by_kind.values():
        if fits(kind_of(steps[0])):
            yield from steps


def _is_brief(kind: Kind) -> bool:
    return kind.presence


class _DoneAt(Mapping[str, datetime]):
    """When each step was done, looked up only for the steps that are asked for."""

    def __init__(self, state: RunState) -> None:
        self._steps = state.steps

    def __getitem__(self, name: str) -> datetime:
        done_at = self._steps[name].done_at
        if done_at is None:
            raise KeyError(name)
        return done_at

    def __iter__(self) -> Iterator[str]:
        return (name for name, progress in self._steps.items() if progress.done_at is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)


class _Passed(Set[str]):
    """The steps of branches that were not taken, looked up like that too."""

    def __init__(self, state: RunState) -> None:
        self._steps = state.steps

    def __contains__(self, name: object) -> bool:
        return isinstance(name, str) and name in self._steps and bool(self._steps[name].passed_by)

    def __iter__(self) -> Iterator[str]:
        return (name for name, progress in self._steps.items() if progress.passed_by)

    def __len__(self) -> int:
        return sum(1 for _ in self)


class _Shown(Mapping[str, tuple[Entry, ...]]):
    """Each step's entries that may be seen, worked out only for the steps that are asked for."""

    def __init__(self, procedure: Procedure, state: RunState, who: str, blind: bool) -> None:
        self._procedure = procedure
        self._state = state
        self._who = who
        self._blind = blind

    def __getitem__(self, name: str) -> tuple[Entry, ...]:
        live = tuple(standing(e) for e in self._state.steps[name].live())
        step = self._procedure.step(name)
        if self._blind and step is not None and is_blind(self._state, step):
            return tuple(e for e in live if e.by == self._who and not e.signed)
        return live

    def __iter__(self) -> Iterator[str]:
        return iter(self._state.steps)

    def __len__(self) -> int:
        return len(self._state.steps)


class _Readings(Mapping[str, LastRead]):
    """The readings on the board that may be seen: none that a blind step of this run has put there."""

    def __init__(self, state: RunState, board: Board, procedure: Procedure) -> None:
        self._state = state
        self._board = board
        self._procedure = procedure

    def __getitem__(self, name: str) -> LastRead:
        now = self._board.readings[name]
        entry = self._state.entry(now.entry) if now.run == self._state.run else None
        step = self._procedure.step(entry.step) if entry is not None else None
        if step is not None and is_blind(self._state, step):
            raise KeyError(name)
        return LastRead(value=now.value, unit=now.unit, at=now.at)

    def __iter__(self) -> Iterator[str]:
        return iter(self._board.readings)

    def __len__(self) -> int:
        return len(self._board.readings)


def standing(entry: Entry) -> Entry:
    """Return the entry as it counts: accepted as it is, it counts as good."""
    return replace(entry, verdict="good") if entry.accepted else entry


def is_blind(state: RunState, step: Step) -> bool:
    """Say whether nobody may yet see what others entered on this step."""
    return step.check == "independent" and not state.progress(step.id).done


def needs_signatures(step: Step) -> bool:
    """Say whether the step is completed by signatures, each with its own secret."""
    return len(step.seats) > 1 or step.critical or kind_of(step).closing == "signature"


@dataclass(slots=True)
class Script:
    """The events of one decision; each is folded in before the next is decided."""

    scene: Scene
    by: str
    events: list[Event] = field(default_factory=list)

    def add(self, event: Event) -> None:
        """Append an event and let the scene see it."""
        happened = Happened(
            seq=self.scene.state.seq + 1, at=self.scene.now, by=self.by, event=event
        )
        self.scene = replace(
            self.scene,
            state=evolve(self.scene.state, happened),
            board=post(self.scene.board, self.scene.state.run, happened),
        )
        self.events.append(event)


def steps_resting_on(procedure: Procedure, changed: str) -> Iterator[Step]:
    """Yield, in written order, every step that rests on a step, directly or through others."""
    reached = {changed}
    for step in procedure.steps:  # a step can rest only on earlier ones: one pass suffices
        if step.id != changed and reached & set(kind_of(step).rests_on(step)):
            reached.add(step.id)
            yield step
