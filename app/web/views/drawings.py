"""Where each line of a drawing goes. All arithmetic of the drawings is here; templates only print.

Angles are degrees clockwise from the datum, which is up: the map is what one sees from above, and it
is never mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from app.procedure.drawing import Drawing, LoadPlan, Mark, RingMap, Scale

SCALE_WIDTH, SCALE_HEIGHT, MARGIN = 520, 96, 34
TICKS = 20
MIDDLE, OUTER = 280.0, 214.0  # of a ring map, 560 units square
PLAN_MIDDLE, PLAN_RADIUS, LIMIT_RADIUS = 210.0, 160.0, 50.0
FURTHEST = 138.0  # a load centre far outside is drawn at the edge of the plan, not beyond it
DATUM_ABOVE = "M280 16l-10-15h20z"  # where there is no room inside the rings
ROOM_FOR_DATUM = 110.0
LABELLED = 60  # with more places than this only the one at hand is named


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket:
    """A limit on a scale."""

    x: str
    path: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """What lies between the limits."""

    x: str
    width: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnScale:
    """A graduated line, brackets at the limits, a pointer at the value."""

    form: str = "scale"
    label: str
    width: int = SCALE_WIDTH
    height: int = SCALE_HEIGHT
    line: str
    span: Span | None
    brackets: tuple[Bracket, ...]
    target: str
    pointer: str
    bad: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One named place on a ring map."""

    name: str
    mark: Mark
    x: str
    y: str
    left: str
    top: str
    label: str
    label_x: str
    label_y: str
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnRings:
    """Places on rings, seen from above, datum up."""

    form: str = "rings"
    label: str
    circles: tuple[str, ...]
    places: tuple[Place, ...]
    scale: str
    here_radius: str
    pointer: str
    datum: str
    datum_y: str
    middle: str


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


Drawn = DrawnScale | DrawnRings | DrawnLoads


def drawn(drawing: Drawing) -> Drawn:
    """Return where each line of a drawing goes."""
    match drawing:
        case Scale():
            return drawn_scale(drawing)
        case RingMap():
            return drawn_rings(drawing)
        case LoadPlan():
            return drawn_loads(drawing)


# --- scale


def drawn_scale(scale: Scale) -> DrawnScale:
    """Return a scale whose ends leave room outside both limits, so that "too much" has a place."""
    low, high = _ends(scale)
    at = _Line(low=low, high=high)
    ends = [
        (v, left) for v, left in ((scale.at_least, True), (scale.at_most, False)) if v is not None
    ]
    value, target = _number(scale.value), _number(scale.target)
    return DrawnScale(
        label=_scale_words(scale),
        line=f"M{MARGIN} 50H{SCALE_WIDTH - MARGIN}"
        + "".join(_tick(each) for each in range(TICKS + 1)),
        span=_span(at, scale),
        brackets=tuple(_bracket(at, text, opens_right=left) for text, left in ends),
        target="" if target is None else f"M{at.x(target):.1f} 40V60",
        pointer="" if value is None else _pointer(at.x(value)),
        bad=_outside(scale, value),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    low: Decimal
    high: Decimal

    def x(self, value: Decimal) -> float:
        """Return where a value stands; one beyond the ends stands at the end."""
        held = min(max(value, self.low), self.high)
        return MARGIN + float((held - self.low) / (self.high - self.low)) * (
            SCALE_WIDTH - 2 * MARGIN
        )


def _ends(scale: Scale) -> tuple[Decimal, Decimal]:
    least, most = _number(scale.at_least), _number(scale.at_most)
    known = [v for v in (least, most, _number(scale.target)) if v is not None]
    if not known:
        known = [v for v in (_number(scale.value),) if v is not None] or [Decimal(0)]
    low, high = min(known), max(known)
    room = (high - low) * 2 / 3 or abs(high) / 2 or Decimal(1)
    below = max(low - room, Decimal(0)) if low >= 0 else low - room
    return (Decimal(0) if low >= 0 and least is None else below), high + room


def _tick(number: int) -> str:
    x = MARGIN + number * (SCALE_WIDTH - 2 * MARGIN) / TICKS
    return f"M{x:.1f} 50v{10 if number % 5 == 0 else 5}"


def _bracket(at: _Line, text: str, *, opens_right: bool) -> Bracket:
    x = at.x(Decimal(text))
    arm = 10 if opens_right else -10
    path = f"M{x + arm:.1f} 34H{x:.1f}V66h{arm}"
    return Bracket(x=f"{x:.1f}", path=path, words=text)


def _span(at: _Line, scale: Scale) -> Span | None:
    if scale.at_least is None and scale.at_most is None:
        return None
    left = at.x(at.low if scale.at_least is None else Decimal(scale.at_least))
    right = at.x(at.high if scale.at_most is None else Decimal(scale.at_most))
    return Span(x=f"{left:.1f}", width=f"{right - left:.1f}")


def _pointer(x: float) -> str:
    return f"M{x - 14:.1f} 10h28L{x:.1f} 42z"


def _outside(scale: Scale, value: Decimal | None) -> bool:
    if value is None:
        return False
    least, most = _number(scale.at_least), _number(scale.at_most)
    outside = (least is not None and value < least) or (most is not None and value > most)
    return outside or scale.verdict in ("high", "low")


def _scale_words(scale: Scale) -> str:
    value = "No value yet" if scale.value is None else f"{scale.value} {scale.unit}"
    least, most, unit = scale.at_least, scale.at_most, scale.unit
    if least is None and most is None:
        limits = "No limits"
    elif most is None:
        limits = f"Limit: at least {least} {unit}"
    elif least is None:
        limits = f"Limit: at most {most} {unit}"
    else:
        limits = f"Limits {least} to {most} {unit}"
    return f"{scale.label}. {value}. {limits}."


# --- rings


def drawn_rings(ring_map: RingMap) -> DrawnRings:
    """Return places on their rings, clockwise from the datum."""
    radii = _radii(ring_map.rings)
    spread = [
        radius for radius, count in zip(radii, ring_map.rings, strict=True) for _ in range(count)
    ]
    crowded = len(ring_map.names) > 24
    scale = 0.8 if len(ring_map.names) > LABELLED else 1.0 if crowded else 1.3
    places = tuple(
        _place(ring_map, name, angle, radius, scale)
        for name, angle, radius in zip(ring_map.names, ring_map.angles, spread, strict=True)
    )
    inner = radii[0] - 40
    roomy = inner > ROOM_FOR_DATUM
    return DrawnRings(
        label=ring_map.label,
        circles=(*(f"{radius - 34:.1f}" for radius in radii[-1:]), f"{min(46.0, inner / 2):.1f}"),
        places=places,
        scale=f"{scale}",
        here_radius="20",
        pointer=_inward(ring_map, spread),
        datum=f"M{MIDDLE:.0f} {MIDDLE - inner + 6:.1f}l-11 20h22z" if roomy else DATUM_ABOVE,
        datum_y=f"{MIDDLE - inner + 46:.1f}" if roomy else "",
        middle="hole",
    )


def on_ring(angle: float, radius: float, middle: float = MIDDLE) -> tuple[float, float]:
    """Return the point at an angle clockwise from the datum (up) on a page whose y goes down."""
    turn = math.radians(angle)
    return middle + radius * math.sin(turn), middle - radius * math.cos(turn)


def _radii(rings: Sequence[int]) -> tuple[float, ...]:
    return tuple(OUTER - 54.0 * (len(rings) - 1 - index) for index in range(len(rings)))


def _place(ring_map: RingMap, name: str, angle: float, radius: float, scale: float) -> Place:
    here = name == ring_map.here
    x, y = on_ring(angle, radius)
    label_x, label_y = on_ring(angle, radius + (46 if here else 40))
    inner = radius < OUTER
    named = here or (not inner and len(ring_map.names) <= LABELLED)
    return Place(
        name=name,
        mark="here" if here else ring_map.marks.get(name, "todo"),
        x=f"{x:.1f}",
        y=f"{y:.1f}",
        left=f"{x - 12 * scale:.1f}",
        top=f"{y - 12 * scale:.1f}",
        label=name if named and not (here and inner) else "",
        label_x=f"{label_x:.1f}",
        label_y=f"{label_y + 6:.1f}",
        size=26 if here else 17,
    )


def _inward(ring_map: RingMap, radii: Sequence[float]) -> str:
    if ring_map.here not in ring_map.names:
        return ""
    index = ring_map.names.index(ring_map.here)
    angle, radius = ring_map.angles[index], radii[index]
    tip = on_ring(angle, radius - 26)
    turn = math.radians(angle)
    back_x, back_y = on_ring(angle, radius - 52)
    side_x, side_y = 14 * math.cos(turn), 14 * math.sin(turn)
    one, two = (back_x - side_x, back_y - side_y), (back_x + side_x, back_y + side_y)
    return f"M{one[0]:.1f} {one[1]:.1f}L{two[0]:.1f} {two[1]:.1f}L{tip[0]:.1f} {tip[1]:.1f}z"


# --- loads


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


def _number(text: str | None) -> Decimal | None:
    if text is None:
        return None
    try:
        return Decimal(text)
    except InvalidOperation:
        return None
