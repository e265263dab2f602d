"""The sixteen gates: what is compared with what, and where the limits stand.

A gate of rounds fails only when the lower quartile of its rounds' ratios lies above the limit, so that
a neighbour on the machine cannot fail it; a gate of floors, when the upper quartile lies below.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from tests.bench.cases import Samples
from tests.bench.figures import Spread, over, quantile

Verdict = Literal["good", "must", "FAILS", "not measured"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """One comparison with its two limits; a floor is a least value, else they are most values."""

    number: str
    what: str
    must: float
    good: float | None
    floor: bool = False

    def verdict(self, found: Spread | None) -> Verdict:
        """Return how a measured ratio stands."""
        if found is None:
            return "not measured"
        if self.good is not None and self._holds(found.median, self.good):
            return "good"
        best = found.high if self.floor else found.low
        return "must" if self._holds(best, self.must) else "FAILS"

    def _holds(self, value: float, limit: float) -> bool:
        return value >= limit if self.floor else value <= limit


GATES = (
    Gate(number="1", what="tick / (durable insert D + bare form F)", must=2.0, good=1.4),
    Gate(number="2", what="tick among 2,000 entries / among 20", must=1.25, good=1.1),
    Gate(number="3", what="tick in 300 steps / in 30", must=1.25, good=1.1),
    Gate(number="4", what="tick with many events behind / with 1,000", must=1.3, good=1.1),
    Gate(number="5", what="presses per s, 50 tablets / 1", must=1.2, good=1.6, floor=True),
    Gate(number="6", what="p99 / p50, 50 tablets", must=5.0, good=3.5),
    Gate(
        number="7", what="tick p95 with 4 people proving who they are / without", must=4.0, good=2.0
    ),
    Gate(
        number="8", what="tick p95 with five 300-step pages a second / without", must=5.0, good=2.0
    ),
    Gate(number="9a", what="page of 300 steps / 300 benches of one step", must=1.6, good=0.2),
    Gate(number="9b", what="page of 300 steps, p95 / p50", must=2.5, good=2.0),
    Gate(number="10", what="page of 300 steps / of 30", must=12.0, good=None),
    Gate(number="11", what="page with many events behind / with 1,000", must=1.3, good=1.1),
    Gate(
        number="12",
        what="verified events per s / plainly selected",
        must=0.04,
        good=0.3,
        floor=True,
    ),
    Gate(number="13", what="bytes in the file / canonical bytes, per event", must=2.5, good=1.5),
    Gate(number="14a", what="flushes / acknowledgement, at least", must=1.0, good=1.0, floor=True),
    Gate(number="14b", what="flushes / acknowledgement, at most", must=2.0, good=1.1),
    Gate(number="15", what="acknowledged entries missing after 20 kills", must=0, good=0),
    Gate(number="16", what="start-up / importing fastapi and sqlmodel", must=3.0, good=1.6),
)

Rounds = Mapping[str, Samples]


def from_rounds(found: Rounds) -> dict[str, Spread]:
    """Return the gates that the cases with one client answer."""
    median: Callable[[str], list[float]] = lambda name: found[name].medians()  # noqa: E731
    least = [d + f for d, f in zip(median("D"), median("F"), strict=True)]
    benches = [300 * ms for ms in median("fragment")]
    page = [quantile(each, 0.95) for each in found["page-300"].rounds]
    return {
        "1": over(median("tick"), least),
        "2": over(median("tick-2000"), median("tick")),
        "3": over(median("tick-300"), median("tick-30")),
        "4": over(median("tick-large"), median("tick")),
        "9a": over(median("page-300"), benches),
        "9b": over(page, median("page-300")),
        "10": over(median("page-300"), median("page-30")),
        "11": over(median("page-large"), median("page-300")),
    }


def worst(verdicts: Mapping[str, Verdict]) -> bool:
    """Say whether some gate fails."""
    return "FAILS" in verdicts.values()
