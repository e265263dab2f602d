"""An area that must be empty: how many people are in it, by their tags and by looking.

Keys: `area` (its tally stands on the board under this name, where `absent` of a later step asks for it).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.entry import Judged, OnBoard, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.typed import read_whole
from app.procedure.usual import UsualKind, latest_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of an area."""

    area: str


class Area(UsualKind):
    """Nobody is in there."""

    name: ClassVar[str] = "area"
    title: ClassVar[str] = "People absent"

    def read(self, table: Table) -> Own:
        """Read the keys of an area."""
        return Own(area=table.text("area", required=True))

    def judge(
        self,
        step: Step,
        part: str,  # noqa: ARG002
        values: Mapping[str, str],
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Keep the number; only none is good."""
        area = cast("Own", step.own).area
        count = read_whole(values.get("count", ""), "people inside")
        if isinstance(count, Unreadable):
            return count
        if count == 0:
            saying = f"Nobody is in: {area}."
        else:
            people = "1 person is" if count == 1 else f"{count} people are"
            saying = f"{people} in: {area}. Ask them out, and look again."
        return Judged(
            verdict="good" if count == 0 else "out",
            saying=saying,
            computed={"count": str(count)},
            readings={area: OnBoard(value=str(count), unit="")},
        )

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask how many are inside."""
        area, last = cast("Own", step.own).area, latest_of(at.of(step.id)).get("")
        return Card(
            kind_line=self.title,
            act=f"Record who is in: {area}",
            part=part,
            fields=(Field(name="count", label=f"People in: {area}", control="whole"),),
            answer=last.saying if last else "",
            answer_mark={"good": "done", "out": "out"}[last.verdict] if last else "",
            own={"area": area},
        )

    def subject(self, step: Step) -> str:
        """Return the area."""
        return cast("Own", step.own).area.capitalize()

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return how many were inside."""
        return f"{entry.computed['count']} people"

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return that nobody may be in."""
        return "must be 0"


KIND = Area()
