"""Film mass and thickness, quartz crystals and rings of filaments against worked values."""

from __future__ import annotations

import pytest

from app.calculations.film import crystal_thickness, film_mass, film_thickness
from tests.published.sums import values, worked

ALUMINIUM = 2700.0  # kg/m3, from memory
# Density from memory, arithmetic done again; a fact of the trade: common practice, no source.
THICKNESSES = ((12.0, 50.0, 88.889, 0.001), (10.8, 50.0, 80.0, 1e-9))
RINGS = {
    "radii": "0.6 1.4 2.4",
    "counts": "12 24 48",
    "charges": "0.193 0.244 0.353",
    "distance": "1.2",
    "outer": "4.360",
    "hole": "0.720",
    "curvature": "15.20",
}


@pytest.mark.parametrize(("grams", "area", "nm", "within"), THICKNESSES)
def test_thickness_from_mass(grams: float, area: float, nm: float, within: float) -> None:
    assert film_thickness(grams / 1000, area, ALUMINIUM) * 1e9 == pytest.approx(nm, abs=within)


def test_mass_for_eighty_nanometres() -> None:
    assert film_mass(80e-9, 52.0248, ALUMINIUM) * 1000 == pytest.approx(11.237, abs=0.001)


def test_the_demos_film() -> None:
    # Trade notes: 98 nm on 14.60 m2 is 3.86 g.
    assert str(worked("film-mass", thickness=98, area="14.60").value) == "3.863"


def test_the_uncertainty_of_a_thickness() -> None:
    # uncertainties 3.2.3: m 12 +- 0.1 g, A 50 +- 0.4 m2, rho 2.70 +- 0.02 g/cm3: 88.9 +- 1.2 nm.
    result = worked(
        "film-thickness",
        mass=12,
        area=50,
        mass_uncertainty="0.1",
        area_uncertainty="0.4",
        density_uncertainty=20,
    )

    assert (str(result.value), str(values(result)["uncertainty"])) == ("88.9", "1.2")


def test_thirty_two_passes() -> None:
    # From memory: 80 nm at 2.5 nm for each turn.
    result = worked("film-time", thickness=80, rate="2.5", pace=4)

    assert values(result)["passes"] == 32
    assert result.value == 8


def test_the_sensitivity_of_a_crystal() -> None:
    # 17.67 ng/cm2 for each Hz at 5 MHz is printed as 17.7: 0.3 %.
    area_mass = crystal_thickness(1, 5e6, 1.0)  # kg/m2 for a density of 1

    assert area_mass * 1e8 == pytest.approx(17.67, rel=0.003)  # ng/cm2
    assert 1 / (area_mass * 1e5) == pytest.approx(56.6, rel=0.003)  # Hz for each ug/cm2


def test_a_thousand_hertz_on_six_megahertz() -> None:
    # Constants from memory, arithmetic done again; 0.2 % covers the two printed quartz densities.
    assert crystal_thickness(1000, 6e6, 1.0) == pytest.approx(1.2269e-4, rel=0.002)
    result = worked("crystal-thickness", crystal=6, shift=1000)
    assert float(result.value) == pytest.approx(45.44, rel=0.002)
    assert float(values(result)["area_mass"]) == pytest.approx(12.269, rel=0.002)  # ug/cm2


def test_a_crystal_that_is_full_gives_no_thickness() -> None:
    with pytest.raises(ValueError, match="by more than 2 %"):
        worked("crystal-thickness", crystal=6, shift=120_001)


def test_the_demos_rings_of_filaments() -> None:
    # Trade notes, ideal chamber: 98.0 to 98.1 nm along a radius, 25.1 g loaded, use 15 %. Between
    # two filaments of the outer ring the rim is 0.1 nm off, so 0.2 nm.
    result = worked("ring-evaporation", **RINGS)
    more = {name: float(value) for name, value in values(result).items()}

    assert float(result.value) == pytest.approx(98.05, abs=0.1)
    assert more["least"] == pytest.approx(98.0, abs=0.2)
    assert more["greatest"] == pytest.approx(98.1, abs=0.2)
    assert more["use"] == pytest.approx(15, abs=0.5)
    assert "25.12 g" in result.working[0]


def test_one_charge_over_the_middle_is_the_textbook_point_source() -> None:
    # t = m / (4 pi rho h^2) right under it: 1 g at 1 m, by hand 29.473 nm.
    result = worked(
        "ring-evaporation", radii="0", counts="1", charges="1", distance="1", outer="0.0001"
    )

    assert float(result.value) == pytest.approx(29.473, abs=0.05)


def test_a_missing_filament_makes_it_thinner() -> None:
    full = worked("ring-evaporation", **RINGS)
    missing = worked("ring-evaporation", **{**RINGS, "counts": "12 24 47"})

    assert missing.value < full.value


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"counts": "12 24"}, "3 radii, 2 counts and 3 charges"),
        ({"counts": "12 24 4.5"}, "1 to 400 filaments"),
        ({"distance": "0.1"}, "The rim of the mirror reaches the rings"),
    ],
)
def test_rings_that_cannot_be(wrong: dict[str, str], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        worked("ring-evaporation", **{**RINGS, **wrong})


def test_two_monitors_that_differ() -> None:
    # By hand: |103 - 97| / 100 = 6 %.
    result = worked("thickness-difference", one=103, other=97)

    assert (str(result.value), result.unit) == ("6.00", "%")
    assert {name: str(value) for name, value in values(result).items()} == {"mean": "100.0"}
    assert worked("thickness-difference", one=97, other=103).value == result.value
