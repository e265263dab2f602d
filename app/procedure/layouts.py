"""Layouts: named places on the hardware, on one ring, on several, or in a list."""

from __future__ import annotations

import re
from collections import Counter
from decimal import Decimal
from typing import TYPE_CHECKING

from app.procedure.model import Layout

if TYPE_CHECKING:
    from app.procedure.reading import Table

MOST_PLACES = 999
_BLANK = re.compile(r"\{(ring|place)?(?::0([1-9])d)?\}")
_FULL_TURN = Decimal(360)


def read_layout(table: Table) -> Layout | None:
    """Return the layout that a table describes, or None with the faults in the table."""
    shapes = ("ring", "rings", "list")
    shape = (
        table.choice("shape", shapes) if table.has("shape") else table.text("shape", required=True)
    )
    match shape:
        case "ring":
            layout = _ring(table)
        case "rings":
            layout = _rings(table)
        case "list":
            names = table.texts("names", required=True)
            layout = Layout(shape="list", names=names) if names else None
        case _:
            return None
    table.finish()
    return layout if layout is None or _names_differ(table, layout.names) else None


def _ring(table: Table) -> Layout | None:
    count = table.whole("count", at_least=1, at_most=MOST_PLACES, required=True)
    label = _label(table, "{}")
    angles = _angles(table, (count or 0,))
    if count is None or label is None:
        return None
    return Layout(
        shape="ring",
        names=tuple(_named(label, 1, place, place) for place in range(1, count + 1)),
        angles=angles,
        rings=(count,),
    )


def _rings(table: Table) -> Layout | None:
    counts = _counts(table)
    label = _label(table, "{ring}-{place:02d}")
    angles = _angles(table, counts)
    if not counts or label is None:
        return None
    names: list[str] = []
    for ring, count in enumerate(counts, start=1):
        names += (_named(label, ring, place, len(names) + place) for place in range(1, count + 1))
    return Layout(shape="rings", names=tuple(names), angles=angles, rings=counts)


def _counts(table: Table) -> tuple[int, ...]:
    written = table.raw("counts")
    if written is None:
        table.fault("counts", "This layout has no counts.", "Write counts = [9, 18, 27].")
        return ()
    listed = written if isinstance(written, list) else []
    counts = tuple(n for n in listed if isinstance(n, int) and not isinstance(n, bool) and n > 0)
    good = len(counts) == len(listed)
    if not good or not 0 < sum(counts) <= MOST_PLACES:
        table.fault("counts", "counts must be whole numbers from 1.", "Write counts = [9, 18, 27].")
        return ()
    return counts


def _angles(table: Table, counts: tuple[int, ...]) -> tuple[float, ...]:
    """Return where each place stands, in degrees clockwise from the datum, seen from above."""
    first = table.quantity("first", "deg")
    start = first.to("deg").value if first is not None else Decimal(0)
    turn = _FULL_TURN if not table.has("clockwise") or table.flag("clockwise") else -_FULL_TURN
    return tuple(
        float(round(start + turn * place / count, 6)) % 360.0  # Decimal % keeps the sign
        for count in counts
        for place in range(count)
    )


def _label(table: Table, usual: str) -> str | None:
    label = table.raw("label")
    if label is None:
        return usual
    if isinstance(label, str) and _BLANK.search(label) and "{" not in _BLANK.sub("", label):
        return label
    table.fault("label", "The label has no place for the number.", 'Write it as label = "B{:02d}".')
    return None


def _named(label: str, ring: int, place: int, running: int) -> str:
    numbers = {"ring": ring, "place": place, None: running}
    return _BLANK.sub(lambda found: str(numbers[found[1]]).zfill(int(found[2] or 1)), label)


def _names_differ(table: Table, names: tuple[str, ...]) -> bool:
    twice = [name for name, times in Counter(names).items() if times > 1]
    if twice:
        key = "names" if table.has("names") else "label"
        table.fault(key, f"{twice[0]} names two places.", "Give every place a name of its own.")
    if "" in names:
        table.fault("names", "A place has no name.", "Give every place a name of its own.")
    return not twice and "" not in names
