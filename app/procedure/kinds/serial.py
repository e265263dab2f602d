"""Serials: what stands at each place is the very thing that the list names.

Keys: `expect` (the serials), `names` (the places, one for each serial; without it: item 1, item 2).

The card does not show the serials of the list: a serial that is copied from the screen proves nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.usual import UsualKind, latest_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

LONGEST = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a serial match: place and serial, in order."""

    expect: Mapping[str, str]


class Serial(UsualKind):
    """A serial typed or scanned at each place equals the list; case does not count."""

    name: ClassVar[str] = "serial"
    title: ClassVar[str] = "Serial"

    def read(self, table: Table) -> Own:
        """Read the keys of a serial match."""
        serials = table.texts("expect", required=True)
        names = table.texts("names") or tuple(f"item {n}" for n in range(1, len(serials) + 1))
        if table.has("expect") and not serials:
            table.fault("expect", "There are no serials.", 'Write expect = ["LC-1", "LC-2"].')
        if len(names) != len(serials):
            what = f"There are {len(names)} names for {len(serials)} serials."
            table.fault("names", what, "Write one name for each serial.")
        for key, texts in (("expect", [_same(s) for s in serials]), ("names", list(names))):
            if len(set(texts)) != len(texts) or "" in texts:
                table.fault(key, "Two are alike, or one is empty.", "Name each once.")
        return Own(expect=dict(zip(names, serials, strict=False)))

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the places."""
        return tuple(cast("Own", step.own).expect)

    def judge(
        self,
        step: Step,
        part: str,
        values: Mapping[str, str],
        at: Circumstances,  # noqa: ARG002
    ) -> Judged | Unreadable:
        """Compare what stands at the place with the list."""
        expect = cast("Own", step.own).expect
        if part not in expect:
            sentence = f'"{part}" is not one of the places here. Nothing was saved.'
            return Unreadable(code="serial.unknown", sentence=sentence)
        found = values.get("serial", "").strip()
        if not found or len(found) > LONGEST or not found.isprintable():
            sentence = f"{part}: type or scan the serial that stands on it. Nothing was saved."
            return Unreadable(code="serial.empty", sentence=sentence)
        if _same(found) == _same(expect[part]):
            return Judged(verdict="good", saying=f"{part}: {found}, as listed.")
        return Judged(verdict="out", saying=_differs(part, found, expect))

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for the serial at one place, and show which are read."""
        places = tuple(cast("Own", step.own).expect)
        latest = latest_of(at.of(step.id))
        here = part if part in places else _next(places, latest)
        out = [entry for entry in latest.values() if _is_out(entry)]
        label = f"Serial at {here}"
        field = Field(name="serial", label=label, control="text", hint="Type or scan it.")
        return Card(
            kind_line=f"Serial. {len(latest) - len(out)} match",
            act=f"Record the serial at {here}" if here else "Every serial is read",
            part=here,
            fields=(field,) if here else (),
            answer=out[0].saying if out else "" if here else "Every serial is as listed",
            answer_mark="out" if out else "" if here else "done",
            own={
                "here": here,
                "rows": tuple(_row(name, latest.get(name), here) for name in places),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return the serial as it was typed."""
        return entry.values.get("serial", "")

    def limits_words(self, step: Step, part: str) -> str:
        """Return the serial of the list."""
        expected = cast("Own", step.own).expect.get(part, "")
        return f"must be {expected}" if expected else ""


def _same(serial: str) -> str:
    return serial.strip().casefold()


def _differs(part: str, found: str, expect: Mapping[str, str]) -> str:
    other = next((name for name, s in expect.items() if _same(s) == _same(found)), "")
    belongs = f" {found} belongs at {other}." if other else ""
    change = "Change it and read again, or report it."
    return f"{part}: {found} was found, {expect[part]} is listed.{belongs} {change}"


def _is_out(entry: Entry) -> bool:
    return entry.verdict == "out" and not entry.accepted


def _next(places: Sequence[str], latest: Mapping[str, Entry]) -> str:
    new = [name for name in places if name not in latest]
    out = [name for name in places if name in latest and _is_out(latest[name])]
    return next(iter(new + out), "")


def _row(name: str, entry: Entry | None, here: str) -> Mapping[str, str]:
    if entry is None:
        return {"name": name, "mark": "here" if name == here else "todo", "word": "To do"}
    mark = "out" if _is_out(entry) else "done"
    return {"name": name, "mark": mark, "word": entry.values.get("serial", "")}


KIND = Serial()
