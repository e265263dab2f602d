"""Durations and the critical path against textbook networks, a graph library and the trade's plan."""

from __future__ import annotations

import math

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calculations.schedule import Task, chance_by, critical_path
from tests.published.sums import values, worked

# A management-science textbook's network in series: 24 days, variance 5.0, P(<= 28) 0.9633 printed
# (a table of the normal rounds; scipy says 0.9632): 0.001.
SERIES = ((5, 8, 17), (3, 5, 7), (4, 6, 8), (3, 4, 5))
# Course notes: A; B and C after A; D after B and C; E after C; F after D and E. Path and P by
# networkx 3.6.1 and scipy: 22 days, variance 2.7778, P(<= 21) 0.27425; printed digits.
NETWORK = ((3, 5, 7), (3, 4, 5), (2, 3, 4), (3, 4, 11), (1, 3, 5), (6, 8, 10))
LINKS = [(0, 1), (0, 2), (1, 3), (2, 3), (2, 4), (3, 5), (4, 5)]
# The demo campaign of the trade notes, hours, least, likely, most: 121.0 h, sd 4.9, 9 of 10 by 127.3.
# Upper optics come out beside the instrument; the chamber's preparation begins at once and can wait
# 31.7 h; the cell's overhaul begins after the lift and can wait 8.3 h.
CHAIN = (
    (3, 4, 6), (6, 8, 12), (6, 8, 12), (4, 6, 12), (5, 6, 9), (4, 6, 9), (6, 8, 12), (8, 12, 20),
    (3, 4, 6), (3, 4, 6), (6, 8, 12), (8, 10, 16), (6, 8, 14), (8, 10, 16), (8, 12, 24),
)  # fmt: skip
HANDOVER, CELL_DOWN, LIFT, PUMP, MOUNTED = 0, 2, 5, 7, 10
BESIDE = ((3, 4, 6), (12, 16, 24), (16, 20, 30))
OPTICS, CHAMBER, OVERHAUL = 15, 16, 17


def tasks_of(rows: tuple[tuple[float, float, float], ...]) -> list[Task]:
    return [Task(least=a, likely=m, most=b) for a, m, b in rows]


def test_one_task() -> None:
    # Arithmetic, from memory: mean 11, variance 9.
    task = Task(least=4, likely=10, most=22)

    assert (task.mean, task.variance) == (11, 9)


def test_tasks_in_series() -> None:
    plan = critical_path(tasks_of(SERIES), [(0, 1), (1, 2), (2, 3)])

    assert plan.path == (0, 1, 2, 3)
    assert plan.mean == pytest.approx(24, abs=1e-9)
    assert plan.variance == pytest.approx(5.0, abs=1e-9)
    assert chance_by(plan.mean, plan.variance, 28) == pytest.approx(0.9633, abs=0.001)


def test_a_network() -> None:
    plan = critical_path(tasks_of(NETWORK), LINKS)

    assert "".join("ABCDEF"[n] for n in plan.path) == "ABDF"
    assert plan.mean == pytest.approx(22, abs=1e-9)
    assert plan.variance == pytest.approx(2.7778, abs=1e-4)
    assert chance_by(plan.mean, plan.variance, 21) == pytest.approx(0.27425, abs=1e-5)


def test_the_demos_campaign() -> None:
    chain = [(n, n + 1) for n in range(14)]
    optics = [(HANDOVER, OPTICS), (OPTICS, CELL_DOWN)]
    beside = [(CHAMBER, PUMP), (LIFT, OVERHAUL), (OVERHAUL, MOUNTED)]

    plan = critical_path(tasks_of(CHAIN + BESIDE), chain + optics + beside)

    assert plan.path == tuple(range(15))
    assert plan.mean == pytest.approx(121.0, abs=0.05)
    assert math.sqrt(plan.variance) == pytest.approx(4.9, abs=0.05)
    assert plan.floats[CHAMBER] == pytest.approx(31.7, abs=0.05)
    assert plan.floats[OVERHAUL] == pytest.approx(8.3, abs=0.05)


def test_nine_times_of_ten_as_people_type_it() -> None:
    rows = [" ".join(str(row[n]) for row in CHAIN) for n in range(3)]
    result = worked(
        "critical-path",
        least=rows[0],
        likely=rows[1],
        most=rows[2],
        before=" ".join(str(n) for n in range(1, 15)),
        after=" ".join(str(n) for n in range(2, 16)),
    )

    assert str(result.value) == "121.0"
    assert float(values(result)["late"]) == pytest.approx(127.3, abs=0.06)


durations = st.floats(min_value=0.1, max_value=100)


@given(st.data())
def test_any_network_is_as_long_as_the_graph_library_says(data: st.DataObject) -> None:
    count = data.draw(st.integers(min_value=1, max_value=8))
    tasks = [Task(least=d, likely=d, most=d) for d in (data.draw(durations) for _ in range(count))]
    pairs = [(a, b) for a in range(count) for b in range(a + 1, count)]
    links = data.draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    graph = nx.DiGraph()
    for n, task in enumerate(tasks):
        graph.add_edge((n, "begin"), (n, "end"), weight=task.mean)
    graph.add_edges_from((((a, "end"), (b, "begin")) for a, b in links), weight=0)

    plan = critical_path(tasks, links)

    assert plan.mean == pytest.approx(nx.dag_longest_path_length(graph))
    assert all(wait >= -1e-9 for wait in plan.floats)
    assert all(abs(plan.floats[n]) < 1e-9 for n in plan.path)


@pytest.mark.parametrize(
    ("links", "sentence"),
    [([(0, 1), (1, 0)], "in a circle"), ([(0, 6)], "from 1 to 7: there are 6 tasks")],
)
def test_links_that_cannot_be(links: list[tuple[int, int]], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        critical_path(tasks_of(NETWORK), links)


def test_estimates_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(ValueError, match="the first must be the least"):
        worked("three-point", least=5, likely=4, most=6)
