"""Drawings as plain data: what stands where, in what state. The page and the PDF draw them alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Mark = Literal["todo", "here", "done", "fixed", "out", "stale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The one drawing for everything that has limits: a graduated line, brackets, a pointer.

    Values are decimal strings in `unit`; an end without a limit is None.
    """

    label: str
    unit: str
    at_least: str | None = None
    at_most: str | None = None
    value: str | None = None
    target: str | None = None
    verdict: Literal["", "good", "high", "low"] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RingMap:
    """Places on one or more rings, seen from above, datum up, clockwise degrees."""

    label: str  # the text equal of the drawing: says the answer
    names: tuple[str, ...]
    angles: tuple[float, ...]
    rings: tuple[int, ...]  # how many on each ring, inner first; one ring: (n,)
    marks: Mapping[str, Mark] = field(default_factory=dict)
    here: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPlan:
    """Load cells on a circle and the load centre inside its limit circle; lengths in mm."""

    label: str
    names: tuple[str, ...]
    angles: tuple[float, ...]
    out: tuple[str, ...] = ()
    limit_mm: str | None = None
    centre_mm: tuple[str, str] | None = None  # x to the right, y to the datum
    offset_mm: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StarMap:
    """Bolts on one ring and the way from one to the next; seen from above, datum up."""

    label: str  # the text equal of the drawing
    names: tuple[str, ...]
    angles: tuple[float, ...]
    order: tuple[str, ...]  # of this pass
    way: tuple[str, ...]  # the bolts of this pass so far, in order, up to the one at hand
    done: tuple[str, ...]
    here: str
    then: str  # the one after; "" at the end
    middle: str  # "2 of 3"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendPoint:
    """One value of a trend: minutes from the first one, and whether it is out of limit."""

    minutes: str
    value: str
    out: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """A reading over time between its limits; values are decimal strings in `unit`."""

    label: str
    unit: str
    points: tuple[TrendPoint, ...]
    at_least: str | None = None
    at_most: str | None = None


Drawing = Scale | RingMap | LoadPlan | StarMap | Trend
