"""What a torque step asks for: which bolt when, to what torque, and what the tool must show for it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from functools import cached_property
from typing import TYPE_CHECKING

from app.calculations.quantity import Limits, plain
from app.calculations.torque_tool import set_torque

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.model import Layout

QUAD = 4  # bolts a quarter turn apart are tightened one after another
SMALL = 3  # up to so many starts, neighbours follow each other: 1, 2, 3
DIGITS = 4  # of the torque to set, where an adapter makes it a long number
DEGREES = "deg"


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapter:
    """What stands between the tool's square and the bolt; lengths in mm, the angle in degrees."""

    length: Decimal
    adapter: Decimal
    angle: Decimal

    @property
    def share(self) -> Decimal:
        """Return the torque to set over the torque on the bolt, T L / (L + E cos a)."""
        lengths = (float(self.length), float(self.adapter), float(self.angle))
        return Decimal(repr(set_torque(1.0, *lengths)))

    def words(self) -> str:
        """Return the adapter as a person says it."""
        angle = f" at {plain(self.angle)} deg" if self.angle else " in line"
        return f"adapter {plain(self.adapter)} mm{angle} on a grip of {plain(self.length)} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One round over all bolts; `limits` are for what the tool shows."""

    name: str  # "pass 2", "check"
    target: Decimal | None  # on the bolt; None: the bolt is only tried
    set_to: Decimal | None  # on the tool
    limits: Limits
    order: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)  # no slots: it keeps what it has worked out
class Tightening:
    """The keys of a torque step, worked out."""

    bolts: Layout
    pattern: str
    unit: str
    passes: tuple[Pass, ...]
    adapter: Adapter | None = None

    @cached_property
    def places(self) -> Mapping[str, tuple[str, Pass]]:
        """Return, by part and in order, which bolt and which pass it is."""
        return {f"{bolt}, {each.name}": (bolt, each) for each in self.passes for bolt in each.order}

    @property
    def rounds(self) -> int:
        """Return how many passes tighten."""
        return sum(each.target is not None for each in self.passes)


def cross(count: int) -> tuple[int, ...]:
    """Return the places of a ring in star order, from 0: 1 7 4 10, 2 8 5 11, 3 9 6 12.

    Opposite bolts follow each other, a quarter turn on come the next two, then the next start. With
    an odd number of bolts each step goes nearly half way round.

    Source: the cross pattern of ASME PCC-1 (from memory).
    """
    half = count // 2
    if count % 2:
        return tuple(place * half % count for place in range(count)) if count > 2 else (0,)
    if count % QUAD:
        return tuple(place for start in _starts(half) for place in (start, start + half))
    quarter = count // QUAD
    turns = (0, half, quarter, half + quarter)
    return tuple(start + turn for start in _starts(quarter) for turn in turns)


def _starts(count: int) -> Sequence[int]:
    if count <= SMALL:
        return range(count)
    return [*range(0, count, 2), *range(1, count, 2)]


def tool_limits(target: Decimal, tolerance: Decimal, share: Decimal, unit: str) -> Limits:
    """Return what the tool may show; with an adapter cut inwards, so that what is shown is kept."""
    low, high = (target - tolerance) * share, (target + tolerance) * share
    if share == 1:
        return Limits(_short(low), _short(high), unit)
    return Limits(_cut(low, ROUND_CEILING), _cut(high, ROUND_FLOOR), unit)


def tool_setting(target: Decimal, share: Decimal) -> Decimal:
    """Return what the tool is set to."""
    return target if share == 1 else _cut(target * share, ROUND_HALF_EVEN)


def _cut(value: Decimal, rounding: str) -> Decimal:
    step = Decimal(1).scaleb(value.adjusted() - DIGITS + 1)
    return value.quantize(step, rounding=rounding)


def _short(value: Decimal) -> Decimal:
    """Return a value without the zeros that a per cent brings with it."""
    cut = value.normalize()
    return cut.quantize(Decimal(1)) if cut == cut.to_integral_value() else cut
