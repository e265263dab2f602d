"""What load cells on a ring say together: their sum, each one's share, the load centre, what is out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from app.calculations.load_centre import load_centre
from app.calculations.quantity import Limits
from app.calculations.rounding import level, rounded
from app.procedure.wording import against, said, side

if TYPE_CHECKING:
    from app.procedure.model import Layout

PERCENT_STEP = Decimal("0.1")
MM_STEP = Decimal("0.1")  # finer than any jack can be set
_WORKING_STEP = Decimal("1e-12")  # of a percent: exact enough to judge, short enough to store


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What the cells must keep: the sum, each cell, its share of the mean, the load centre."""

    cells: Layout
    unit: str
    total: Limits
    each: Limits
    radius_mm: Decimal | None
    share: Decimal | None  # percent of the mean, to either side
    centre: Limits  # in mm, from the middle


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell: what it carries, how far that is from the mean, and what is wrong with it."""

    name: str
    force: Decimal
    share: Decimal | None  # percent above the mean (below: negative); None where nothing is carried
    wrong: str = ""
    word: str = ""  # "High", "Low"


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """All cells together. Lengths in mm: x to the right of the datum line, y towards the datum."""

    total: Decimal
    cells: tuple[Cell, ...]
    x: Decimal | None
    y: Decimal | None
    offset: Decimal | None
    wrong: tuple[str, ...]  # a sentence for each thing out of its limit; the cells' first


def weigh(bounds: Bounds, forces: tuple[Decimal, ...]) -> Weighed:
    """Return what the cells say together.

    Args:
        bounds: What they must keep.
        forces: One for each cell, in the order of the layout, in the unit of `bounds`.
    """
    total = sum(forces, Decimal(0))
    cells = tuple(
        _cell(bounds, name, force, total)
        for name, force in zip(bounds.cells.names, forces, strict=True)
    )
    x, y, offset = _centre(bounds, forces, total)
    wrong = [cell.wrong for cell in cells if cell.wrong]
    if not bounds.total.holds(total):
        wrong.append(f"The total, {against(total, bounds.total)}.")
    if offset is not None and not bounds.centre.holds(offset):
        wrong.append(f"The load centre is {_off(offset, bounds)}.")
    if total <= 0 and (bounds.share is not None or bounds.centre.at_most is not None):
        wrong.append("The cells carry nothing, so there is no share and no load centre.")
    return Weighed(total=total, cells=cells, x=x, y=y, offset=offset, wrong=tuple(wrong))


def good_words(bounds: Bounds, weighed: Weighed) -> str:
    """Return the sentence for cells that are all as they must be."""
    parts = [f"Total {said(f'{weighed.total:f}', bounds.unit)}."]
    if bounds.share is not None:
        parts.append(f"Every cell is within {bounds.share:f} % of the mean.")
    if weighed.offset is not None and bounds.centre.at_most is not None:
        parts.append(f"Load centre {_off(weighed.offset, bounds)}.")
    return " ".join(parts)


def _off(offset: Decimal, bounds: Bounds) -> str:
    limit = bounds.centre.at_most
    shown, *edge = level(offset, *([limit] if limit is not None else []))
    return f"{shown} mm from the middle" + (f", limit {edge[0]} mm" if edge else "")


def _cell(bounds: Bounds, name: str, force: Decimal, total: Decimal) -> Cell:
    share = None
    if total > 0:
        times = force * len(bounds.cells.names)
        share = ((times - total) * 100 / total).quantize(_WORKING_STEP)
    where = side(force, bounds.each)
    if where != "good":
        wrong = f"{name}: {against(force, bounds.each)}."
        return Cell(name=name, force=force, share=share, wrong=wrong, word=where.capitalize())
    if share is not None and bounds.share is not None and abs(share) > bounds.share:
        high = share > 0
        wrong = f"{name} carries {said(f'{force:f}', bounds.unit)}, {_beyond(share, bounds.share)}."
        return Cell(
            name=name, force=force, share=share, wrong=wrong, word="High" if high else "Low"
        )
    return Cell(name=name, force=force, share=share)


def _beyond(share: Decimal, limit: Decimal) -> str:
    shown, edge = level(rounded(abs(share), PERCENT_STEP, at_most=limit), limit)
    return f"{shown} % {'above' if share > 0 else 'below'} the mean, limit {edge} %"


def _centre(
    bounds: Bounds, forces: tuple[Decimal, ...], total: Decimal
) -> tuple[Decimal | None, Decimal | None, Decimal | None]:
    angles, radius = bounds.cells.angles, bounds.radius_mm
    if total <= 0 or radius is None or len(angles) != len(forces):
        return None, None, None
    centre = load_centre([float(f) for f in forces], angles, float(radius))
    offset = rounded(centre.offset, MM_STEP, at_most=bounds.centre.at_most)
    return rounded(centre.across, MM_STEP), rounded(centre.along, MM_STEP), offset
