"""What every kind of step must offer. One module in `kinds/` and one template make a kind.

The core never asks which kind a step is: it asks these questions. A kind is pure: it reads its
keys, judges what was typed, says when it is complete, and describes itself as plain data.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar, Literal, Protocol

if TYPE_CHECKING:
    from app.calculations.quantity import Quantity
    from app.procedure.drawing import Drawing
    from app.procedure.entry import Agreement, Circumstances, Entry, Judged, Outcome, Unreadable
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

Control = Literal["number", "whole", "text", "choice", "photo", "yes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One thing to type. Never prefilled; `unit` is fixed by the procedure."""

    name: str
    label: str
    control: Control
    unit: str = ""
    choices: tuple[str, ...] = ()
    hint: str = ""
    required: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What the page shows of a step, as plain data: the kind's template and the frame share it."""

    kind_line: str  # "Reading", "Count, blind. Second of three counts"
    act: str  # the bar: the act and the thing, "Bracket B14 off"
    part: str = ""  # the part that the next entry is about
    fields: tuple[Field, ...] = ()
    answer: str = ""  # a sentence in the heading: the answer to the screen's one question
    answer_mark: str = ""  # a mark's name: here, done, out, wait
    off: str = ""  # why the bar is off, or "" when it acts
    on: str = ""  # what a number is recorded on, behind it on the bar: "bolt 10"
    heading: str = ""  # in place of the instruction, where a part says it better
    drawings: tuple[Drawing, ...] = ()
    own: Mapping[str, object] = field(default_factory=dict)  # for the kind's own template alone


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the record: what, its value with unit, the limits in force, the verdict in words."""

    what: str
    value: str
    limits: str = ""
    verdict: str = ""


class Kind(Protocol):
    """The questions that the house asks of a kind of step."""

    name: ClassVar[str]  # as in the TOML; also the template's name
    title: ClassVar[str]  # for people: "Reading"
    closing: ClassVar[Literal["entry", "signature"]]  # what completes a one-seat step
    keepable: ClassVar[bool]  # may be entered on a tablet that has no link
    presence: ClassVar[bool]  # its entries say who is present and briefed (parts are people)
    again: ClassVar[bool]  # once done, may be entered again when a later step wants it fresh
    free_parts: ClassVar[bool]  # its parts are listed to choose from, however few they are
    is_hold: ClassVar[
        bool
    ]  # no entries: seats sign a statement, and whoever releases did not perform

    def read(self, table: Table) -> object:
        """Read the kind's own keys; faults go to the table, which gathers them."""
        ...

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Yield faults against the rules of the trade (the file's name and line come from `step`)."""
        ...

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:
        """Return the parts that each need an entry; `("",)` for a step entered at once."""
        ...

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge what was typed for one part. Out of limit is kept and said; unreadable is not kept."""
        ...

    def outcome(self, step: Step, entries: Sequence[Entry], at: Circumstances) -> Outcome:
        """Say whether these live entries (of the step, or of one independent seat) complete it."""
        ...

    def agreement(self, step: Step, seats: Sequence[Sequence[Entry]]) -> Agreement:
        """Compare the entries of independent seats with each other and with what must be."""
        ...

    def rests_on(self, step: Step) -> tuple[str, ...]:
        """Return the steps whose entries this one used: a correction there reopens this one."""
        ...

    def stands(self, step: Step, entry: Entry, at: Circumstances) -> bool:
        """Say whether a good entry still counts, so that its part is not entered again."""
        ...

    def worked_at(self, step: Step, part: str, values: Mapping[str, str]) -> tuple[Quantity, ...]:
        """Return the amounts at which the step's tool is used, so that its range can be asked."""
        ...

    def branches(self, step: Step, procedure: Procedure) -> Mapping[str, tuple[str, ...]]:
        """Return the steps of each branch of which this step opens one; of most steps, none."""
        ...

    def taken(self, step: Step, entries: Sequence[Entry]) -> str:
        """Return the branch that these entries choose; "" if the step chooses none."""
        ...

    def signs(self, step: Step, seat: int) -> str:
        """Return what a signature in this seat says, where the usual words do not; else ""."""
        ...

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Describe the step for the page; `part` is the one asked for, or ""."""
        ...

    def lines(self, step: Step, entries: Sequence[Entry]) -> tuple[Line, ...]:
        """Describe entries (struck ones too) for the record and for a countersigner."""
        ...
