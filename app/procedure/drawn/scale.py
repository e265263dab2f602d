"""A scale: a graduated line, brackets at the limits, a pointer at the value."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from app.procedure.drawing import Scale

SCALE_WIDTH, SCALE_HEIGHT, MARGIN = 520, 96, 34
TICKS = 20


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


def _number(text: str | None) -> Decimal | None:
    if text is None:
        return None
    try:
        return Decimal(text)
    except InvalidOperation:
        return None
