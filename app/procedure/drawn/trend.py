"""A reading over time: its points joined, brackets at the limits."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from app.procedure.drawing import Trend

WIDTH, HEIGHT = 520, 260
LEFT, RIGHT, TOP, BOTTOM = 86.0, 500.0, 24.0, 220.0
LONGEST = Decimal(1)  # minute, where there is only one point


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A limit: a line across, its bracket, its words."""

    y: str
    text_y: str
    bracket: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One reading."""

    x: str
    y: str
    out: bool
    diamond: str  # the mark of one that is out: never colour alone


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnTrend:
    """The points of a trend between its limits."""

    form: str = "trend"
    label: str
    width: int = WIDTH
    height: int = HEIGHT
    axis: str
    line: str
    levels: tuple[Level, ...]
    points: tuple[Point, ...]
    latest: str  # the value of the last point
    latest_x: str
    latest_y: str
    until: str  # how long it has gone on


def drawn_trend(trend: Trend) -> DrawnTrend:
    """Return where each point stands; the limits lie well inside, so that "too much" has a place."""
    ends = [Decimal(end) for end in (trend.at_least, trend.at_most) if end is not None]
    values = [Decimal(point.value) for point in trend.points]
    low, high = _span([*ends, *values])
    longest = max([Decimal(point.minutes) for point in trend.points], default=LONGEST) or LONGEST

    def y(value: Decimal) -> float:
        return BOTTOM - float((value - low) / (high - low)) * (BOTTOM - TOP)

    def x(minutes: str) -> float:
        return LEFT + float(Decimal(minutes) / longest) * (RIGHT - LEFT - 20)

    points = tuple(
        _point(x(p.minutes), y(v), out=p.out) for p, v in zip(trend.points, values, strict=True)
    )
    return DrawnTrend(
        label=trend.label,
        axis=f"M{LEFT:.0f} {BOTTOM:.0f}H{RIGHT:.0f}",
        line="M" + "L".join(f"{p.x} {p.y}" for p in points) if len(points) > 1 else "",
        levels=tuple(
            _level(y(Decimal(end)), end, opens_up=lower)
            for end, lower in ((trend.at_least, True), (trend.at_most, False))
            if end is not None
        ),
        points=points,
        latest=f"{trend.points[-1].value} {trend.unit}" if points else "",
        latest_x=f"{min(float(points[-1].x), RIGHT - 55):.1f}" if points else "",
        latest_y=f"{float(points[-1].y) - 16:.1f}" if points else "",
        until=f"{trend.points[-1].minutes} min" if points else "no reading yet",
    )


def _span(values: list[Decimal]) -> tuple[Decimal, Decimal]:
    low, high = min(values, default=Decimal(0)), max(values, default=Decimal(1))
    room = (high - low) * 2 / 5 or abs(high) / 2 or Decimal(1)
    return low - room, high + room


def _level(y: float, words: str, *, opens_up: bool) -> Level:
    arm = -10 if opens_up else 10
    return Level(
        y=f"{y:.1f}",
        text_y=f"{y + 6:.1f}",
        bracket=f"M{LEFT:.0f} {y + arm:.1f}V{y:.1f}H{RIGHT:.0f}v{arm}",
        words=words,
    )


def _point(x: float, y: float, *, out: bool) -> Point:
    diamond = f"M{x:.1f} {y - 11:.1f}l11 11-11 11-11-11z" if out else ""
    return Point(x=f"{x:.1f}", y=f"{y:.1f}", out=out, diamond=diamond)
