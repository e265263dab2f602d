"""A choice: one of several ways on is opened, with the reason; the others are closed.

Keys: `branches`, a list of tables with `name`, `steps` (ids of later steps) and `sections` (titles of
later sections). A branch may open nothing.

It is always signed. The steps of the branches not taken count as passed over and print "not taken".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, cast

from app.procedure.entry import Judged, Unreadable
from app.procedure.faults import Fault
from app.procedure.kind import Card, Field
from app.procedure.typed import read_words
from app.procedure.usual import UsualKind, latest_of, once_faults

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Procedure, Step
    from app.procedure.reading import Table

FEWEST = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """One way on: what it is called, and what it opens."""

    name: str
    steps: tuple[str, ...]
    sections: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a choice."""

    branches: tuple[Branch, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Return what can be chosen."""
        return tuple(branch.name for branch in self.branches)


class Choose(UsualKind):
    """One way is taken, the others are not."""

    name: ClassVar[str] = "choose"
    title: ClassVar[str] = "Choice"
    closing: ClassVar[Literal["entry", "signature"]] = "signature"

    def read(self, table: Table) -> Own:
        """Read the keys of a choice."""
        branches = tuple(_branch(each) for each in table.tables("branches", required=True))
        names = [branch.name for branch in branches]
        if table.has("branches") and len(branches) < FEWEST:
            table.fault("branches", "There is nothing to choose from.", "Write two branches.")
        if len(set(names)) != len(names):
            table.fault("branches", "Two branches are alike.", "Give each a name of its own.")
        return Own(branches=branches)

    def rules(self, step: Step, procedure: Procedure) -> Iterable[Fault]:
        """Ask for steps that surely come later, each in one branch alone."""
        yield from once_faults(step, procedure)
        for key, what, mend in _wrong(step, procedure):
            yield Fault(procedure.file, step.line, f"branches.{key}", what, mend)

    def branches(self, step: Step, procedure: Procedure) -> Mapping[str, tuple[str, ...]]:
        """Return the steps that each branch opens, those of its sections too."""
        return {
            branch.name: (*branch.steps, *_steps_in(procedure, branch.sections))
            for branch in cast("Own", step.own).branches
        }

    def taken(self, step: Step, entries: Sequence[Entry]) -> str:  # noqa: ARG002
        """Return the branch chosen."""
        entry = latest_of(entries).get("")
        return entry.computed.get("branch", "") if entry is not None else ""

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Keep the way chosen and the reason for it."""
        names = cast("Own", step.own).names
        branch = values.get("branch", "")
        if branch not in names:
            sentence = f"Choose one: {', '.join(names)}. Nothing was saved."
            return Unreadable(code="choose.branch", sentence=sentence)
        why = read_words(values.get("why", ""), "the reason for this choice")
        if isinstance(why, Unreadable):
            return why
        saying = f"{branch} was chosen: {why.rstrip('.')}."
        return Judged(verdict="good", saying=saying, computed={"branch": branch, "why": why})

    def signs(self, step: Step, seat: int) -> str:
        """Return what a signature under a choice says."""
        said = "I choose the way entered here" if seat == 0 else "I agree to the way chosen here"
        return f"{said}: {step.do}"

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show the ways, and the steps that each would open."""
        own, entry = cast("Own", step.own), latest_of(at.of(step.id)).get("")
        chosen = self.taken(step, at.of(step.id))
        return Card(
            kind_line=self.title,
            act="Record the choice",
            part=part,
            fields=(
                Field(name="branch", label="The way on", control="choice", choices=own.names),
                Field(name="why", label="The reason", control="text"),
            ),
            answer=entry.saying if entry else "",
            answer_mark="done" if entry else "",
            own={
                "rows": tuple(
                    {
                        "name": name,
                        "mark": "done" if name == chosen else "todo",
                        "word": "Chosen" if name == chosen else "Not taken" if chosen else "",
                        "steps": _opened(at.procedure, steps),
                    }
                    for name, steps in self.branches(step, at.procedure).items()
                )
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return the way chosen and the reason."""
        return f"{entry.computed['branch']}: {entry.computed['why']}"

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return what there was to choose from."""
        return f"one of: {', '.join(cast('Own', step.own).names)}"


def _branch(table: Table) -> Branch:
    branch = Branch(
        name=table.text("name", required=True),
        steps=table.texts("steps"),
        sections=table.texts("sections"),
    )
    table.finish()
    return branch


def _steps_in(procedure: Procedure, titles: Sequence[str]) -> Iterator[str]:
    for section in procedure.sections:
        if section.title in titles:
            yield from (step.id for step in section.steps)


def _wrong(step: Step, procedure: Procedure) -> Iterator[tuple[str, str, str]]:
    known = {section.title for section in procedure.sections}
    opened: list[str] = []
    for branch in cast("Own", step.own).branches:
        for title in branch.sections:
            if title not in known:
                yield "sections", f'There is no section "{title}".', "Name a section by its title."
        mine = (*branch.steps, *_steps_in(procedure, branch.sections))
        for name in mine:
            yield from _not_after(step, procedure, name)
        if set(mine) & set(opened) or len(set(mine)) != len(mine):
            yield "steps", "A step stands in two branches.", "Name each step in one branch."
        opened += mine


def _not_after(step: Step, procedure: Procedure, name: str) -> Iterator[tuple[str, str, str]]:
    other = procedure.step(name)
    if other is None:
        yield "steps", f"There is no step {name}.", "Name later steps by their ids."
    elif other.number <= step.number:
        yield "steps", f"{name} comes before the choice.", "A branch opens later steps."
    elif other.section == step.section and procedure.sections[step.section].order == "any":
        what = f"{name} may be done before the choice: its section has no order."
        yield "steps", what, "Put the choice into a section before it."


def _opened(procedure: Procedure, names: Sequence[str]) -> str:
    steps = [step for name in names if (step := procedure.step(name)) is not None]
    if not steps:
        return "opens no step of its own"
    numbers = ", ".join(str(step.number) for step in steps)
    return f"opens step{'s' if len(steps) > 1 else ''} {numbers}"


KIND = Choose()
