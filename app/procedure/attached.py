"""What a step can ask for beside its own values, whatever its kind: the tool used, and photos.

The frame of a step calls these for every kind: `attached_fields` for the page, `attached_missing`
before the kind judges. A photo stands in an entry as the SHA-256 of the stored file.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from app.procedure.entry import Unreadable
from app.procedure.kind import Field
from app.procedure.tool import of_kind

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from app.procedure.entry import Entry
    from app.procedure.model import Step
    from app.procedure.tool import Tool

_SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)
_PHOTO = re.compile(r"photo(?:[2-9]|[1-9][0-9])?", re.ASCII)
LONGEST_SERIAL = 40
MOST_OFFERED = 6  # more serials than this are typed, not chosen


def photo_names(count: int) -> tuple[str, ...]:
    """Return the names under which photos stand in an entry: photo, photo2, photo3."""
    return tuple("photo" if n == 1 else f"photo{n}" for n in range(1, count + 1))


def is_photo(value: str) -> bool:
    """Say whether a value names a stored photo."""
    return _SHA256.fullmatch(value) is not None


def is_attached(name: str) -> bool:
    """Say whether a name in an entry is that of a thing attached, so that no kind may use it."""
    return name in ("tool", "sure") or _PHOTO.fullmatch(name) is not None


def attached_fields(step: Step, tools: Mapping[str, Tool] | None = None) -> tuple[Field, ...]:
    """Return the fields for the tool and the photos that the step asks for.

    Args:
        step: the step.
        tools: the site's register: a few tools of the kind are offered to choose from.
    """
    return (*_tool_field(step, tools or {}), *_photo_fields(step))


def attached_missing(step: Step, values: Mapping[str, str]) -> Unreadable | None:
    """Return why the entry cannot be kept: no tool is named, or photos are missing; else None."""
    if step.tool and not _is_serial(values.get("tool", "")):
        return Unreadable(
            code="tool.missing",
            sentence=f"The {step.tool} is not named. Type or scan its serial. Nothing was saved.",
        )
    names = photo_names(step.photo)
    taken = [values[name] for name in names if is_photo(values.get(name, ""))]
    if len(set(taken)) < len(names):
        return Unreadable(code="photo.missing", sentence=_too_few(len(names), len(set(taken))))
    return None


def attached_words(entry: Entry) -> Iterator[str]:
    """Yield what is attached to an entry, for the record."""
    if entry.values.get("tool"):
        yield f"with {entry.values['tool']}"
    photos = [name for name in entry.values if _PHOTO.fullmatch(name)]
    if photos:
        yield "1 photo" if len(photos) == 1 else f"{len(photos)} photos"


def _tool_field(step: Step, tools: Mapping[str, Tool]) -> tuple[Field, ...]:
    if not step.tool:
        return ()
    label = f"Serial of the {step.tool}"
    serials = tuple(tool.serial for tool in of_kind(tools, step.tool))
    if 0 < len(serials) <= MOST_OFFERED:
        hint = "The one in your hands."
        return (Field(name="tool", label=label, control="choice", choices=serials, hint=hint),)
    return (Field(name="tool", label=label, control="text", hint="Type or scan it."),)


def _photo_fields(step: Step) -> tuple[Field, ...]:
    names = photo_names(step.photo)
    if len(names) == 1:
        return (Field(name="photo", label="Photo", control="photo"),)
    return tuple(
        Field(name=name, label=f"Photo {n} of {len(names)}", control="photo")
        for n, name in enumerate(names, start=1)
    )


def _is_serial(value: str) -> bool:
    return bool(value.strip()) and len(value) <= LONGEST_SERIAL and value.isprintable()


def _too_few(wanted: int, taken: int) -> str:
    if wanted == 1:
        return "The photo is missing. Take it, then record. Nothing was saved."
    return (
        f"{wanted} different photos are asked for, and there are {taken}. "
        "Take the others, then record. Nothing was saved."
    )
