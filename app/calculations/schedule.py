"""The plan: how long a task takes by three estimates, and which chain of tasks decides the end."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.rounding import short


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A task's duration by three estimates, all in one unit of time."""

    least: float
    likely: float
    most: float

    @property
    def mean(self) -> float:
        """Return the expected duration, (a + 4 m + b) / 6; source: any textbook of planning."""
        return (self.least + 4 * self.likely + self.most) / 6

    @property
    def variance(self) -> float:
        """Return its variance, ((b - a) / 6)^2."""
        return ((self.most - self.least) / 6) ** 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The chain of tasks that decides the end, by their places from 0; each task's float."""

    path: tuple[int, ...]
    mean: float
    variance: float
    floats: tuple[float, ...]


def critical_path(tasks: list[Task], links: list[tuple[int, int]]) -> Plan:
    """Return the longest chain through the tasks, and how long every task can wait.

    Args:
        tasks: The tasks.
        links: Pairs (before, after) of places from 0: the second begins when the first has ended.

    Raises:
        ValueError: a link names no task, or the tasks wait for each other in a circle.

    Source: Forward and backward pass, as in any textbook of planning. That the chain's variance is
        the sum of its tasks', and its end normal, is the textbook's simplification: other chains
        that are nearly as long make the real end later.
    """
    order = _order(len(tasks), links)
    start, through = _forward(tasks, links, order)
    ends = [start[n] + task.mean for n, task in enumerate(tasks)]
    total = max(ends)
    latest = _backward(tasks, links, order, total)
    path: list[int] = []
    at: int | None = ends.index(total)
    while at is not None:
        path.insert(0, at)
        at = through[at]
    return Plan(
        path=tuple(path),
        mean=total,
        variance=math.fsum(tasks[n].variance for n in path),
        floats=tuple(latest[n] - ends[n] for n in range(len(tasks))),
    )


def _forward(
    tasks: list[Task], links: list[tuple[int, int]], order: list[int]
) -> tuple[list[float], list[int | None]]:
    """Return when each task can begin, and the task that it then waited for last."""
    start = [0.0] * len(tasks)
    through: list[int | None] = [None] * len(tasks)
    for place in order:
        for before, after in links:
            end = start[before] + tasks[before].mean
            if after == place and (through[place] is None or end > start[place]):
                start[place], through[place] = end, before
    return start, through


def _backward(
    tasks: list[Task], links: list[tuple[int, int]], order: list[int], total: float
) -> list[float]:
    """Return when each task must have ended, so that the whole ends no later."""
    latest = [total] * len(tasks)
    for place in reversed(order):
        for before, after in links:
            if before == place:
                latest[place] = min(latest[place], latest[after] - tasks[after].mean)
    return latest


def _order(count: int, links: list[tuple[int, int]]) -> list[int]:
    """Return the tasks so that each comes after those it waits for."""
    for link in links:
        if not all(0 <= place < count for place in link):
            raise ValueError(
                f"A link from {link[0] + 1} to {link[1] + 1}: there are {count} tasks."
            )
    waiting = [sum(1 for _, after in links if after == n) for n in range(count)]
    ready = [n for n in range(count) if not waiting[n]]
    for place in ready:
        for before, after in links:
            if before == place:
                waiting[after] -= 1
                if not waiting[after]:
                    ready.append(after)
    if len(ready) < count:
        raise ValueError("The tasks wait for each other in a circle: none can begin.")
    return ready


def chance_by(mean: float, variance: float, by: float) -> float:
    """Return the chance that a plan has ended by a time, 0 to 1.

    Args:
        mean: Of the plan, any unit of time.
        variance: Of the plan, that unit squared, 0 or more.
        by: The time, in that unit.

    Source: Normal distribution, Phi((by - mean) / sqrt(variance)), as in any textbook of planning.
    """
    if not variance:
        return float(by >= mean)
    return NormalDist(mean, math.sqrt(variance)).cdf(by)


def _checked(least: float, likely: float, most: float) -> Task:
    if not least <= likely <= most:
        raise ValueError(f"Of {least:g}, {likely:g} and {most:g} h the first must be the least.")
    return Task(least=least, likely=likely, most=most)


def _three_point(given: Values) -> Answer:
    task = _checked(given["least"], given["likely"], given["most"])
    spread = math.sqrt(task.variance)
    working = (
        f"({task.least:g} + 4 x {task.likely:g} + {task.most:g}) / 6 = {short(task.mean)} h.",
        f"Standard deviation ({task.most:g} - {task.least:g}) / 6 = {short(spread)} h, "
        f"variance {short(task.variance)} h2.",
    )
    return Answer(values=(task.mean, spread), working=working)


def _critical_path(given: Values) -> Answer:
    rows = [given.row(each) for each in ("least", "likely", "most")]
    if len({len(row) for row in rows}) != 1:
        raise ValueError("Each task has a least, a likely and a greatest duration.")
    tasks = [_checked(*three) for three in zip(*rows, strict=True)]
    before, after = given.row("before"), given.row("after")
    if len(before) != len(after):
        raise ValueError("Each link has a task before and a task after.")
    links = [(int(b) - 1, int(a) - 1) for b, a in zip(before, after, strict=True)]
    plan = critical_path(tasks, links)
    spread = math.sqrt(plan.variance)
    late = NormalDist(plan.mean, spread).inv_cdf(0.9) if spread else plan.mean
    by = given.get("by", plan.mean)
    chance = 100 * chance_by(plan.mean, plan.variance, by)
    floats = ", ".join(f"{n}: {short(wait, 3)}" for n, wait in enumerate(plan.floats, start=1))
    working = (
        f"The chain that decides: {' - '.join(str(n + 1) for n in plan.path)}.",
        f"Its means sum to {short(plan.mean)} h, its variances to {short(plan.variance)} h2.",
        f"Each task can wait, h: {floats}.",
        f"Chance that it has ended by {by:g} h: {short(chance, 3)} %.",
    )
    return Answer(values=(plan.mean, spread, late, chance), working=working)


_HOURS = "h"

SUMS = (
    Calculation(
        name="three-point",
        title="Duration by three estimates",
        subject="Plan",
        inputs=(
            amount("least", "If all goes well", _HOURS, low="0"),
            amount("likely", "Most likely", _HOURS, low="0"),
            amount("most", "If much goes wrong", _HOURS, low="0"),
        ),
        outputs=(
            output("mean", "Expected duration", _HOURS, "0.01"),
            output("deviation", "Standard deviation", _HOURS, "0.01"),
        ),
        work=_three_point,
        formula="t = (a + 4 m + b) / 6, s = (b - a) / 6",
        source="Textbook three-point estimate.",
    ),
    Calculation(
        name="critical-path",
        title="The chain that decides the end",
        subject="Plan",
        inputs=(
            Input(name="least", title="Least duration of task 1, 2, 3 ...", unit=_HOURS, row=True),
            Input(name="likely", title="Most likely durations", unit=_HOURS, row=True),
            Input(name="most", title="Greatest durations", unit=_HOURS, row=True),
            Input(
                name="before",
                title="Links: number of the task before",
                form="whole",
                row=True,
                optional=True,
            ),
            Input(
                name="after",
                title="Links: number of the task after",
                form="whole",
                row=True,
                optional=True,
                hint="Each link is a number here and one in the row above, in the same place.",
            ),
            amount("by", "Chance that it has ended by", _HOURS, low="0", optional=True),
        ),
        outputs=(
            output("mean", "Expected duration", _HOURS, "0.1"),
            output("deviation", "Standard deviation", _HOURS, "0.01"),
            output("late", "Nine times of ten it has ended by", _HOURS, "0.1"),
            output("chance", "Chance that it has ended by the time asked", "%", "0.1"),
        ),
        work=_critical_path,
        formula="longest sum of means; variances of that chain add; the end is normal",
        source="Textbook critical path.",
        care="Other chains that are nearly as long make the real end later than this.",
    ),
)
