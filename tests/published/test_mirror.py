"""The mirror's mass, shares and slings against worked values."""

from __future__ import annotations

import pytest

from app.calculations.catalogue import CALCULATIONS
from app.calculations.mirror import Meniscus, leg_tension, meniscus_mass, residual_moment, shares
from app.procedure.typed_inputs import read_inputs
from tests.published.sums import values, worked

GLASS_CERAMIC = 2530  # kg/m3, from memory: a maker's data sheet
# Facts of the trade, common practice, no source; arithmetic done again. Thickness along the normal;
# taken on the optical side or in the middle, the two differ by 0.7 kg.
FLAT, CURVED = 22_713.7, 22_829.9
G = 9.80665  # exact


@pytest.mark.parametrize(("radius", "mass"), [(0.0, FLAT), (28.8, CURVED)])
def test_an_eight_metre_mirror(radius: float, mass: float) -> None:
    body = Meniscus(outer=8.2, hole=0, thickness=0.17, radius=radius)

    assert meniscus_mass(body, GLASS_CERAMIC) == pytest.approx(mass, abs=1)


def test_the_weight_of_it_on_three() -> None:
    weight = FLAT * G / 1000

    assert weight == pytest.approx(222.745, abs=0.01)
    assert leg_tension(weight, 3, 90) == pytest.approx(74.248, abs=0.01)


def test_the_demos_mirror() -> None:
    # Trade notes: 4137 kg, 40.57 kN, optical side 14.60 m2, edge sag 157.1 mm.
    result = worked(
        "mirror-mass", outer=4.360, hole=0.720, thickness=0.112, radius=15.20, density=2530
    )

    assert float(result.value) == pytest.approx(4137, abs=0.5)
    more = {name: str(value) for name, value in values(result).items()}
    assert more == {"weight": "40.57", "area": "14.60", "sag": "157.1"}


def test_shares_of_hooks_at_the_ends_of_their_limits() -> None:
    # Trade notes: nominal 6.762 kN, 5 % either way is 6.424 to 7.100 (printed to 1 N).
    nominal = 40.57 / 6

    assert nominal == pytest.approx(6.762, abs=0.0005)
    assert [0.95 * nominal, 1.05 * nominal] == pytest.approx([6.424, 7.100], abs=0.0005)
    assert shares([6.0, 6.0, 9.0, 3.0]) == pytest.approx([1, 1, 1.5, 0.5])


def test_the_hook_that_departs_most_decides() -> None:
    # Trade notes' two sets of six: 6.66 is 1.5 % from their mean, 6.45 is 4.6 %, by hand.
    level = worked("hook-shares", forces="6.81 6.72 6.66 6.71 6.82 6.86")
    askew = worked("hook-shares", forces="7.05; 6.92; 6.60; 6.45; 6.62; 6.93")

    assert [str(level.value), str(askew.value)] == ["1.5", "4.6"]
    assert str(values(askew)["total"]) == "40.57"


def test_three_legs_of_a_sling() -> None:
    # numpy lstsq of the vector equilibrium: W 225 kN, three legs at 60 degrees.
    assert leg_tension(225, 3, 60) == pytest.approx(86.603, abs=0.001)


def test_masses_that_balance_leave_nothing() -> None:
    assert residual_moment([100, 50], [1.0, -2.0]) == 0
    assert residual_moment([2150, -400], [1.2, 3.0]) == pytest.approx(G * (2580 - 1200))


def test_the_demos_crane() -> None:
    # Trade notes: 4137 + 1180 kg on a crane of 10 t: 53 %.
    result = worked("crane-use", load=4137, tackle=1180, rated=10)

    assert (str(result.value), str(values(result)["total"])) == ("53", "5317")


def test_levers_and_masses_come_in_pairs() -> None:
    with pytest.raises(ValueError, match="2 masses stand against 1 levers"):
        residual_moment([1, 2], [1])


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"hole": "5"}, "The hole is as wide as the mirror"),
        ({"radius": "2"}, "A sphere of this radius is narrower"),
    ],
)
def test_what_is_no_mirror_has_no_mass(wrong: dict[str, str], sentence: str) -> None:
    good = {"outer": "4.36", "thickness": "0.112", "density": "2530"}

    with pytest.raises(ValueError, match=sentence):
        worked("mirror-mass", **{**good, **wrong})


def test_a_density_of_no_glass_is_refused_before_the_sum() -> None:
    typed = {"outer": "4.36", "thickness": "0.112", "density": "25"}

    _, untold = read_inputs(CALCULATIONS["mirror-mass"], typed)

    assert untold == {"density": "Density: 25 kg/m^3. This sum is good for 1000 to 9000 kg/m^3."}
