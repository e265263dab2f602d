"""Lashing, tipping and stopping against worked examples and statics."""

from __future__ import annotations

import pytest

from app.calculations.lashing import Load, direct_effect, direct_need, needed_over, over_effect
from app.calculations.road import stopping_distance
from tests.published.sums import values, worked


def test_the_securing_effect_of_one_belt() -> None:
    # An insurers' handbook ("the facts", ch. 2): STF 400 daN, mu 0.3 secures 240 daN as a tie-down.
    assert over_effect(0.3, 90, 400) == pytest.approx(240, abs=1e-9)


def test_three_tonnes_under_two_belts_are_not_secured() -> None:
    # The same insurers, 4.3: two near-vertical belts of 2 kN, mu 0.38, 0.8 forward: "just about
    # 40 %" are wanting; worked again 23.544 kN needed, 14.223 kN held. 1 % of the whole.
    load = Load(mass=3000, acceleration=0.8, friction=0.38)

    held = load.friction * load.weight + 2 * over_effect(load.friction, 90, 2000)

    assert load.acceleration * load.weight == pytest.approx(23_544, abs=1)
    assert held == pytest.approx(14_223, abs=1)
    assert 1 - held / (load.acceleration * load.weight) == pytest.approx(0.40, abs=0.01)


# Statics solved as a linear programme (scipy linprog): printed to 0.001 of a lashing.
OVER = ((0.5, 1.1, 2.793, 3), (0.8, 1.25, 12.695, 13))


@pytest.mark.parametrize(("c", "safety", "needed", "whole"), OVER)
def test_lashings_over_the_top(c: float, safety: float, needed: float, whole: int) -> None:
    load = Load(mass=8000, acceleration=c, friction=0.4)
    result = worked(
        "lashing-over", mass=8000, acceleration=c, friction=0.4, angle=75, tension=4, safety=safety
    )

    assert needed_over(load, 75, 4000, safety) == pytest.approx(needed, abs=0.001)
    assert float(result.value) == pytest.approx(needed, abs=0.001)
    assert values(result)["whole"] == whole


@pytest.mark.parametrize(("placed", "good"), [(2, False), (3, True)])
def test_lashings_that_are_too_few_do_not_pass(placed: int, good: bool) -> None:
    result = worked(
        "lashing-over",
        mass=8000,
        acceleration=0.5,
        friction=0.4,
        angle=75,
        tension=4,
        safety=1.1,
        lashings=placed,
    )

    assert result.passes is good


# The least pull that holds, by scipy linprog (equilibrium, friction at most 0.75 mu N): 0.1 %.
DIRECT = ((0.8, 30, 160_557.7), (0.5, 50, 97_402.2))


@pytest.mark.parametrize(("c", "aside", "pull"), DIRECT)
def test_the_pull_in_direct_lashings(c: float, aside: float, pull: float) -> None:
    need = direct_need(Load(mass=23_000, acceleration=c, friction=0.3))

    assert need / direct_effect(0.3, 40, aside) == pytest.approx(pull, rel=0.001)


# The demo's trailer, from the trade notes (form of EN 12195-1 from memory), printed to 0.1 kN.
CHAINS = ((4, 172.9, True), (3, 129.7, True), (2, 86.5, False))


@pytest.mark.parametrize(("chains", "holds", "good"), CHAINS)
def test_the_chains_of_the_trailer(chains: int, holds: float, good: bool) -> None:
    result = worked(
        "lashing-direct",
        mass=15_407,
        acceleration=0.8,
        friction=0.3,
        angle=40,
        aside=45,
        capacity=63,
        lashings=chains,
    )

    assert float(values(result)["holds"]) == pytest.approx(holds, abs=0.06)
    assert float(values(result)["need"]) == pytest.approx(86.9, abs=0.05)
    assert result.passes is good
    assert (result.value >= 1) is good  # 0.995 does not come out as 1.00


def test_the_pull_to_the_side_of_the_trailer() -> None:
    need = direct_need(Load(mass=15_407, acceleration=0.5, friction=0.3))

    assert need / 1000 == pytest.approx(41.6, abs=0.05)


# c h <= b (EN 12195-1, from memory): b, h, c.
TIPPING = ((1.5, 1.2, 0.5, True), (1.45, 1.75, 0.5, True), (0.6, 1.2, 0.5, False), (0.5, 1.2, 0.5, False))  # fmt: skip


@pytest.mark.parametrize(("lever", "height", "c", "stands"), TIPPING)
def test_whether_a_load_tips(lever: float, height: float, c: float, stands: bool) -> None:
    assert worked("tipping", lever=lever, height=height, acceleration=c).passes is stands


def test_a_slope_makes_it_tip_sooner() -> None:
    level, slope = (
        worked("tipping", lever=1.5, height=1.2, acceleration=0.8, slope=angle).value
        for angle in (0, 10)
    )

    assert slope < level


def test_stopping_from_walking_pace() -> None:
    # Mechanics, from memory; arithmetic done again: 5 km/h, 1 s, 1 m/s2.
    assert stopping_distance(5 / 3.6, 1, 1) == pytest.approx(2.353, abs=0.001)
    assert str(worked("stopping-distance", speed=5, reaction=1, deceleration=1).value) == "2.353"


def test_brakes_that_do_not_hold_give_no_distance() -> None:
    with pytest.raises(ValueError, match="do not stop it at all"):
        stopping_distance(1.0, 1.0, 0.5, 0.09)
