"""A tick: the person says that the act is done. It has no keys of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from app.procedure.entry import Judged
from app.procedure.kind import Card
from app.procedure.usual import UsualKind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.entry import Circumstances, Unreadable
    from app.procedure.model import Step
    from app.procedure.reading import Table


class Tick(UsualKind):
    """One act, one person, one time stamp."""

    name: ClassVar[str] = "tick"
    title: ClassVar[str] = "Tick"
    keepable: ClassVar[bool] = True

    def read(self, table: Table) -> object:  # noqa: ARG002
        """Read nothing: a tick has no keys of its own."""
        return None

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],  # noqa: ARG002
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Keep it: whoever ticks says that it is done."""
        return Judged(verdict="good", saying=f"Step {step.number} is done.")

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Show the act alone."""
        done = bool(at.of(step.id))
        return Card(
            kind_line=self.title,
            act=f"Step {step.number} done",
            part=part,
            answer="Done" if done else "",
            answer_mark="done" if done else "",
        )


KIND = Tick()
