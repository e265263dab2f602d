"""Where the lines of the drawings go: laws that hold for every scale, ring and load plan."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.procedure.drawing import LoadPlan, RingMap, Scale
from app.procedure.drawn.drawings import drawn
from app.procedure.drawn.loads import LIMIT_RADIUS, PLAN_MIDDLE, drawn_loads
from app.procedure.drawn.rings import MIDDLE, OUTER, DrawnRings, drawn_rings, on_ring
from app.procedure.drawn.scale import MARGIN, SCALE_WIDTH, drawn_scale

numbers = st.decimals(min_value="-5000", max_value="5000", places=3).map(str)
angles = st.floats(min_value=0, max_value=359.9)


def tip(path: str) -> float:
    """Return where a scale's pointer touches the line."""
    found = re.search(r"L([-\d.]+) 42", path)
    assert found is not None, path
    return float(found.group(1))


def scale(least: str | None, most: str | None, value: str | None) -> Scale:
    return Scale(label="Gap", unit="mm", at_least=least, at_most=most, value=value)


@given(low=numbers, high=numbers, value=numbers)
def test_the_pointer_stays_on_the_line_whatever_is_read(low: str, high: str, value: str) -> None:
    least, most = sorted((low, high), key=Decimal)
    drawing = drawn_scale(scale(least, most, value))

    assert MARGIN <= tip(drawing.pointer) <= SCALE_WIDTH - MARGIN


@given(low=numbers, high=numbers, value=numbers)
def test_the_pointer_stands_between_the_brackets_only_if_the_value_does(
    low: str, high: str, value: str
) -> None:
    least, most = sorted((low, high), key=Decimal)
    drawing = drawn_scale(scale(least, most, value))
    left, right = (float(bracket.x) for bracket in drawing.brackets)
    at = tip(drawing.pointer)

    if Decimal(least) <= Decimal(value) <= Decimal(most):
        assert left - 0.1 <= at <= right + 0.1
        assert not drawing.bad
    else:
        assert at <= left + 0.1 or at >= right - 0.1
        assert drawing.bad


@given(low=numbers, high=numbers)
def test_brackets_stand_at_the_limits_with_room_outside(low: str, high: str) -> None:
    least, most = sorted((low, high), key=Decimal)
    drawing = drawn_scale(scale(least, most, None))
    left, right = drawing.brackets

    assert (left.words, right.words) == (least, most)
    assert MARGIN <= float(left.x) <= float(right.x) < SCALE_WIDTH - MARGIN
    assert drawing.pointer == ""


@given(limit=numbers)
def test_one_limit_has_one_bracket_that_opens_to_the_good_side(limit: str) -> None:
    at_most, at_least = drawn_scale(scale(None, limit, None)), drawn_scale(scale(limit, None, None))

    assert len(at_most.brackets) == len(at_least.brackets) == 1
    assert at_most.brackets[0].path.endswith("h-10")
    assert at_least.brackets[0].path.endswith("h10")


@given(value=numbers)
def test_a_scale_without_limits_can_still_be_drawn(value: str) -> None:
    drawing = drawn_scale(scale(None, None, value))

    assert drawing.brackets == ()
    assert drawing.span is None
    assert MARGIN <= tip(drawing.pointer) <= SCALE_WIDTH - MARGIN


def test_the_text_equal_of_a_scale_says_value_and_limits() -> None:
    drawing = drawn_scale(scale("0.30", "0.50", "0.62"))

    assert drawing.label == "Gap. 0.62 mm. Limits 0.30 to 0.50 mm."
    assert drawing.bad


def test_the_datum_is_up_and_angles_run_clockwise_seen_from_above() -> None:
    # On a page y goes down: up is a smaller y, and clockwise from up goes to the right.
    assert on_ring(0, 100) == pytest.approx((MIDDLE, MIDDLE - 100))
    assert on_ring(90, 100) == pytest.approx((MIDDLE + 100, MIDDLE))
    assert on_ring(180, 100) == pytest.approx((MIDDLE, MIDDLE + 100))
    assert on_ring(270, 100) == pytest.approx((MIDDLE - 100, MIDDLE))


@given(count=st.integers(min_value=2, max_value=48), first=st.floats(min_value=0, max_value=30))
def test_places_follow_each_other_clockwise_on_one_ring(count: int, first: float) -> None:
    names = tuple(f"B{n:02d}" for n in range(1, count + 1))
    spread = tuple(first + n * 360 / count for n in range(count))
    ring = drawn_rings(
        RingMap(label="Ring", names=names, angles=spread, rings=(count,), here=names[0])
    )
    points = [(float(p.x) - MIDDLE, float(p.y) - MIDDLE) for p in ring.places]

    for x, y in points:
        assert math.hypot(x, y) == pytest.approx(OUTER, abs=0.2)
    for (x1, y1), (x2, y2) in pairwise(points):
        turn = math.degrees(math.atan2(x1 * y2 - y1 * x2, x1 * x2 + y1 * y2)) % 360
        assert turn == pytest.approx(360 / count, abs=0.2)


@given(angle=angles)
def test_the_pointer_of_a_ring_points_at_the_place_at_hand_from_inside(angle: float) -> None:
    ring = drawn_rings(RingMap(label="Ring", names=("A",), angles=(angle,), rings=(1,), here="A"))
    corners = [float(each) for each in re.findall(r"-?\d+\.?\d*", ring.pointer)]
    tip_x, tip_y = corners[-2] - MIDDLE, corners[-1] - MIDDLE
    place = ring.places[0]
    x, y = float(place.x) - MIDDLE, float(place.y) - MIDDLE

    assert math.hypot(tip_x, tip_y) < math.hypot(x, y)
    assert tip_x * y == pytest.approx(tip_y * x, abs=60)  # on the same ray
    assert tip_x * x + tip_y * y > 0
    assert place.mark == "here"


def test_every_place_has_its_mark_and_no_place_twice() -> None:
    ring = drawn_rings(
        RingMap(
            label="Ring",
            names=("B01", "B02", "B03"),
            angles=(0.0, 120.0, 240.0),
            rings=(3,),
            marks={"B01": "done", "B03": "out"},
            here="B02",
        )
    )

    assert [(p.name, p.mark) for p in ring.places] == [
        ("B01", "done"),
        ("B02", "here"),
        ("B03", "out"),
    ]


@given(counts=st.lists(st.integers(min_value=1, max_value=27), min_size=2, max_size=3))
def test_inner_rings_come_first_and_stand_inside(counts: list[int]) -> None:
    total = sum(counts)
    names = tuple(f"S{n}" for n in range(total))
    spread = tuple(n * 360 / count for count in counts for n in range(count))
    ring = drawn(RingMap(label="Rings", names=names, angles=spread, rings=tuple(counts)))
    assert isinstance(ring, DrawnRings)
    radii = [math.hypot(float(p.x) - MIDDLE, float(p.y) - MIDDLE) for p in ring.places]

    assert all(inner <= outer + 0.2 for inner, outer in pairwise(radii))
    assert radii[0] < radii[-1]


@given(
    x=st.integers(min_value=-400, max_value=400),
    y=st.integers(min_value=-400, max_value=400),
    limit=st.integers(min_value=1, max_value=100),
)
def test_the_load_centre_lies_in_its_circle_only_if_it_is_in_limit(
    x: int, y: int, limit: int
) -> None:
    offset = math.hypot(x, y)
    plan = drawn_loads(
        LoadPlan(
            label="Plan",
            names=("H1", "H2", "H3"),
            angles=(0.0, 120.0, 240.0),
            limit_mm=str(limit),
            centre_mm=(str(x), str(y)),
            offset_mm=f"{offset:.3f}",
        )
    )
    assert plan.centre is not None
    found = re.search(r"L([-\d.]+) ([-\d.]+)$", plan.centre.line)
    assert found is not None
    right, down = float(found.group(1)) - PLAN_MIDDLE, float(found.group(2)) - PLAN_MIDDLE

    assert plan.centre.bad == (Decimal(f"{offset:.3f}") > limit)
    if offset > limit * 1.01:
        assert math.hypot(right, down) > LIMIT_RADIUS
    if offset < limit * 0.99:
        assert math.hypot(right, down) < LIMIT_RADIUS
    assert right * x >= -0.1 * abs(x)  # to the right is to the right
    assert down * y <= 0.1 * abs(y)  # towards the datum is up


def test_cells_out_of_limit_are_drawn_as_such() -> None:
    plan = drawn_loads(LoadPlan(label="Plan", names=("H1", "H2"), angles=(0.0, 180.0), out=("H2",)))

    assert [(cell.name, cell.out) for cell in plan.cells] == [("H1", False), ("H2", True)]
    assert plan.centre is None
    assert plan.limit is None
