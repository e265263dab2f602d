"""What the proof of a procedure comes to, as plain data: the terminal, the page and JSON share it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Literal

from app.procedure.faults import Fault
from app.proof.drawn import Drawn

NOT_SHOWN = (
    "Readings, tools, photos, times and who is there: each is taken as able to pass or to fail.",
    "Acts that nobody enters, as a bracket refastened without a record.",
    "Two people who agree to be wrong: they are counted, not prevented.",
    "A wrong text that is followed rightly.",
    "What was signed wrongly in an earlier procedure: each is proved from a board that is true.",
    "Anything that is not a fact in site.toml.",
    "Corrections and troubles: they only close what was open, until it is done again.",
    "Which roles one person holds: anybody is taken to hold all of them, so the figures are the least.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One step of an order, as it is taken on the way to a hazard."""

    number: int
    id: str
    do: str
    wrong: bool
    how: str  # in words: "signed, not done"; "done: load on hooks"
    changes: tuple[str, ...] = ()  # what becomes true of the hazard's facts


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """One seat of one step, filled by somebody who is wrong there."""

    number: int
    id: str
    seat: int
    role: str
    enters: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSet:
    """Entries that must all be wrong, the fewest people who can make them, and the way from there."""

    steps: tuple[str, ...]
    people: tuple[tuple[Played, ...], ...]
    way: tuple[Taken, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One hazard, and what stands before it."""

    id: str
    harm: str
    wanted: int
    people: int | None  # the least number who must be wrong; None: no entries lead there
    weakest: tuple[CutSet, ...] = ()  # every cut set with that number
    stronger: int = 0  # further minimal cut sets, which need more people
    opens: int = 0  # the step by which the weakest path comes to it, 0 if none

    @property
    def enough(self) -> bool:
        """Say whether as many people must be wrong as the site asks for."""
        return self.people is None or self.people >= self.wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something that need not be wrong, and that the author should have an answer to."""

    file: str
    line: int
    key: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Searched:
    """What was looked at."""

    orders: int  # states of the graph of allowed orders
    states: int  # all states, those of the hazards with them
    bound: int
    whole: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What was shown of one procedure."""

    id: str
    revision: int
    title: str
    file: str
    hazards: tuple[Shown, ...]
    faults: tuple[Fault, ...]
    questions: tuple[Question, ...]
    searched: Searched
    drawn: Drawn

    def as_dict(self) -> dict[str, object]:
        """Return the proof as plain data, for JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """What was shown of several procedures, and of their following one another."""

    proofs: tuple[Proof, ...]
    chain: tuple[Fault, ...] = ()

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Return all faults, by file and line."""
        return tuple(sorted((*(f for proof in self.proofs for f in proof.faults), *self.chain)))

    @property
    def questions(self) -> tuple[Question, ...]:
        """Return all questions."""
        return tuple(question for proof in self.proofs for question in proof.questions)

    @property
    def exit_code(self) -> Literal[0, 1]:
        """Return 0 if nothing stands against a release, else 1."""
        return 1 if self.faults else 0
