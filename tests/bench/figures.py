"""Quantiles, and ratios taken round by round."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass


def quantile(values: Sequence[float], share: float) -> float:
    """Return the value below which a share of all lies, by the nearest rank."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


@dataclass(frozen=True, slots=True)
class Spread:
    """A ratio as the rounds gave it: its median and its quartiles."""

    low: float
    median: float
    high: float

    @classmethod
    def of(cls, ratios: Sequence[float]) -> Spread:
        """Return the spread of the rounds' ratios."""
        return cls(quantile(ratios, 0.25), statistics.median(ratios), quantile(ratios, 0.75))


def over(above: Sequence[float], below: Sequence[float]) -> Spread:
    """Return above / below, round by round."""
    return Spread.of([a / b for a, b in zip(above, below, strict=True)])
