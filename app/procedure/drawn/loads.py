"""Load cells on a circle, and the load centre inside its limit circle, seen from above."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from app.procedure.drawing import LoadPlan
from app.procedure.drawn.rings import on_ring

PLAN_MIDDLE, PLAN_RADIUS, LIMIT_RADIUS = 210.0, 160.0, 50.0
FURTHEST = 138.0  # a load centre far outside is drawn at the edge of the plan, not beyond it


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One load cell on the plan."""

    name: str
    x: str
    left: str
    top: str
    text_y: str
    out: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitCircle:
    """The circle inside which the load centre must lie."""

    radius: str
    y: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Centre:
    """The load centre, with the line that leads to it from the middle."""

    line: str
    mark: str
    words: str
    bad: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLoads:
    """Load cells on a circle, the load centre in its limit circle."""

    form: str = "loads"
    label: str
    cells: tuple[Cell, ...]
    limit: LimitCircle | None
    centre: Centre | None


def drawn_loads(plan: LoadPlan) -> DrawnLoads:
    """Return the cells on their circle and the load centre to the scale of its limit circle."""
    return DrawnLoads(
        label=plan.label,
        cells=tuple(
            _cell(name, angle, out=name in plan.out)
            for name, angle in zip(plan.names, plan.angles, strict=True)
        ),
        limit=None
        if plan.limit_mm is None
        else LimitCircle(
            radius=f"{LIMIT_RADIUS:.0f}",
            y=f"{PLAN_MIDDLE - LIMIT_RADIUS - 10:.0f}",
            words=f"limit {plan.limit_mm} mm",
        ),
        centre=_centre(plan),
    )


def _cell(name: str, angle: float, *, out: bool) -> Cell:
    x, y = on_ring(angle, PLAN_RADIUS, PLAN_MIDDLE)
    return Cell(
        name=name,
        x=f"{x:.1f}",
        left=f"{x - 28:.1f}",
        top=f"{y - 19:.1f}",
        text_y=f"{y + 7:.1f}",
        out=out,
    )


def _centre(plan: LoadPlan) -> Centre | None:
    if plan.centre_mm is None:
        return None
    right, up = (float(Decimal(each)) for each in plan.centre_mm)
    limit = float(Decimal(plan.limit_mm)) if plan.limit_mm is not None else 25.0
    offset = math.hypot(right, up)
    drawn_at = min(offset / limit * LIMIT_RADIUS if limit else 0.0, FURTHEST)
    scale = drawn_at / offset if offset else 0.0
    x, y = PLAN_MIDDLE + right * scale, PLAN_MIDDLE - up * scale
    says = plan.offset_mm if plan.offset_mm is not None else f"{offset:.0f}"
    bad = plan.limit_mm is not None and Decimal(says) > Decimal(plan.limit_mm)
    return Centre(
        line=f"M{PLAN_MIDDLE:.0f} {PLAN_MIDDLE:.0f}L{x:.1f} {y:.1f}",
        mark=f"M{x:.1f} {y - 13:.1f}l13 13-13 13-13-13z",
        words=f"Centre {says} mm, out" if bad else f"Centre {says} mm",
        bad=bad,
    )
