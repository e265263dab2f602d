"""A photo: each required view has a picture of its own.

Keys: `views` (what must be seen, one text for each picture).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.attached import is_photo
from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.usual import UsualKind, latest_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a photo step."""

    views: tuple[str, ...]


class Photo(UsualKind):
    """One picture for each view, kept by its fingerprint."""

    name: ClassVar[str] = "photo"
    title: ClassVar[str] = "Photo"
    keepable: ClassVar[bool] = True

    def read(self, table: Table) -> Own:
        """Read the keys of a photo step."""
        views = table.texts("views", required=True)
        if table.has("views") and not views:
            table.fault("views", "There are no views.", 'Write views = ["the whole pad"].')
        if len(set(views)) != len(views) or "" in views:
            table.fault("views", "Two views are alike, or one is empty.", "Name each once.")
        return Own(views=views)

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the views."""
        return cast("Own", step.own).views

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Keep a picture that no other view has; what is on it, people judge."""
        if part not in cast("Own", step.own).views:
            sentence = f'"{part}" is not one of the views here. Nothing was saved.'
            return Unreadable(code="photo.unknown", sentence=sentence)
        picture = values.get("photo", "")
        if not is_photo(picture):
            sentence = f"{part}: the photo is missing. Take it, then record. Nothing was saved."
            return Unreadable(code="photo.missing", sentence=sentence)
        same = [
            name
            for name, entry in latest_of(at.of(step.id)).items()
            if name != part and entry.values.get("photo") == picture
        ]
        if same:
            sentence = f"That photo already stands for {same[0]}. Take another. Nothing was saved."
            return Unreadable(code="photo.same", sentence=sentence)
        return Judged(verdict="good", saying=f"{part}: a photo is kept.")

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for one view, and show which are taken."""
        views = cast("Own", step.own).views
        latest = latest_of(at.of(step.id))
        here = part if part in views else next((v for v in views if v not in latest), "")
        field = Field(name="photo", label=here or "Photo", control="photo", hint=here)
        return Card(
            kind_line=f"Photo. {len(latest)} taken",
            act=f"Keep this photo: {here}" if here else "Every view is taken",
            part=here,
            fields=(field,) if here and not step.photo else (),
            answer="" if here else "Every view is taken",
            answer_mark="" if here else "done",
            own={
                "here": here,
                "rows": tuple(
                    {
                        "name": view,
                        "mark": "done" if view in latest else "here" if view == here else "todo",
                        "word": "Taken" if view in latest else "To do",
                        "photo": latest[view].values["photo"] if view in latest else "",
                    }
                    for view in views
                ),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return the fingerprint of the picture."""
        return f"SHA-256 {entry.values.get('photo', '')}"


KIND = Photo()
