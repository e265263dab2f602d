"""The cases with one client, measured in turns: a few calls of each, then round again.

So the disk's bad minutes and the neighbours on this machine meet every case alike.
"""

from __future__ import annotations

import itertools
import statistics
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from tests.bench.figures import quantile
from tests.bench.seeding import Seeded
from tests.bench.talk import Line
from tests.bench.texts import LONG, ROWS, SHORT, Measured

CALLS = 16
WARM_UP = 10  # calls of each case before the first round: less than the shortest procedure has

Call = Callable[[], object]


@dataclass(slots=True)
class Samples:
    """What one case took, round by round, in ms."""

    rounds: list[list[float]] = field(default_factory=list)

    def medians(self) -> list[float]:
        """Return the median of each round."""
        return [statistics.median(each) for each in self.rounds]

    def all(self) -> list[float]:
        """Return every sample."""
        return [ms for each in self.rounds for ms in each]

    def p(self, share: float) -> float:
        """Return a quantile of all samples."""
        return quantile(self.all(), share)


def ticks(line: Line, runs: Iterator[str], measured: Measured) -> Iterator[Call]:
    """Yield presses on one tick after the other; a run that has had its share gives way to the next."""
    keys = itertools.count()
    share = 2 * CALLS if measured.ticks > 2 * CALLS else CALLS
    for run in runs:
        for number in range(share):
            path = f"/runs/{run}/steps/{measured.step(number)}/enter"
            key = f"{measured.id}-{run}-{next(keys)}"
            yield lambda path=path, key=key: line.post(path, key=key, seen="999999", part="")  # type: ignore[misc]


def cases(
    line: Line, seeded: Seeded, large: Line, in_large: Seeded
) -> Mapping[str, Iterator[Call]]:
    """Return the cases of a server with little behind it, and of one with much."""
    short, long = seeded.short[-1], seeded.long[-1]  # these two are only looked at
    return {
        "F": itertools.repeat(lambda: line.post("/bare/form", key="k", seen="1", part="")),
        "tick": ticks(line, iter(seeded.few), ROWS),
        "tick-2000": ticks(line, iter(seeded.many), ROWS),
        "tick-30": ticks(line, iter(seeded.short[:-1]), SHORT),
        "tick-300": ticks(line, iter(seeded.long[:-1]), LONG),
        "tick-large": ticks(large, iter(in_large.few), ROWS),
        "fragment": itertools.repeat(lambda: line.get(f"/runs/{short}/_bench")),
        "page-30": itertools.repeat(lambda: line.get(f"/runs/{short}")),
        "page-300": itertools.repeat(lambda: line.get(f"/runs/{long}")),
        "page-large": itertools.repeat(lambda: large.get(f"/runs/{in_large.long[-1]}")),
    }


def measure(given: Mapping[str, Iterator[Call]], rounds: int) -> dict[str, Samples]:
    """Measure every case in turns."""
    found = {name: Samples() for name in given}
    for name in given:
        _timed(given[name], WARM_UP)
    for _ in range(rounds):
        for name, calls in given.items():
            found[name].rounds.append(_timed(calls, CALLS))
    return found


def _timed(calls: Iterator[Call], count: int) -> list[float]:
    took = []
    for _ in range(count):
        call = next(calls)
        started = time.perf_counter()
        call()
        took.append((time.perf_counter() - started) * 1e3)
    return took
