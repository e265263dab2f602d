"""Baths against reagent tables and stoichiometry."""

from __future__ import annotations

import pytest

from app.calculations.solutions import MOLAR_MASS, hydrogen_litres, molarity, stock_volume
from tests.published.sums import values, worked

# A reagent table: %, g/ml, mol/l as printed. 1 %: the table rounds the density.
STOCKS = (("HCl", 37.2, 1.18, 12.1), ("KOH", 45, 1.45, 11.7))
# periodictable 2.1.0, printed to 0.001.
MASSES = {"HCl": 36.458, "KOH": 56.105, "HNO3": 63.012, "NaOH": 39.997, "NaHCO3": 84.006}


@pytest.mark.parametrize(("substance", "percent", "density", "printed"), STOCKS)
def test_the_concentration_of_a_stock(
    substance: str, percent: float, density: float, printed: float
) -> None:
    found = molarity(percent, density, MASSES[substance])

    assert found == pytest.approx(printed, rel=0.01)
    there = worked("molarity", substance=substance, percent=percent, density=density)
    assert float(there.value) == pytest.approx(found, abs=0.005)


def test_what_makes_a_litre_of_one_mole() -> None:
    # The same table prints 82.5 ml for HCl; by its own density 83.1.
    result = worked("molarity", substance="HCl", percent="37.2", density="1.18")

    assert float(values(result)["per_litre"]) == pytest.approx(82.5, rel=0.01)
    assert float(values(result)["per_litre"]) == pytest.approx(83.1, abs=0.06)


def test_molar_masses_are_those_of_the_library() -> None:
    assert {name: MOLAR_MASS[name] for name in MASSES} == MASSES


def test_the_demos_strip_bath() -> None:
    # Trade notes: 32 % HCl, 1.159 g/ml is 10.17 mol/l; 90 l at 1.2 mol/l need 10.6 l.
    result = worked(
        "dilution", substance="HCl", percent=32, density="1.159", wanted="1.2", volume=90
    )

    assert molarity(32, 1.159, MOLAR_MASS["HCl"]) == pytest.approx(10.17, abs=0.005)
    assert float(result.value) == pytest.approx(10.6, abs=0.05)
    assert "Start with about 79.4 l of water" in result.working[2]


def test_a_bath_by_mass() -> None:
    # Arithmetic, from memory: 60 kg of 3 % from 37 %.
    result = worked("dilution-mass", mass=60, wanted=3, stock=37)

    assert (str(result.value), str(values(result)["water"])) == ("4.8649", "55.1351")


def test_a_stock_weaker_than_the_bath_is_refused() -> None:
    with pytest.raises(ValueError, match="The stock has only 2 %"):
        worked("dilution-mass", mass=60, wanted=3, stock=2)


def test_stock_and_water_are_the_bath() -> None:
    assert stock_volume(1.2, 90, 1.2) == 90
    assert stock_volume(0, 90, 10) == 0


def test_twelve_grams_of_aluminium() -> None:
    # periodictable 2.1.0 and ideal gas; CoolProp's real gas is 0.06 % above: 0.1 %.
    cold = hydrogen_litres(12, 0, 101_325)
    result = worked("hydrogen", aluminium=12)
    more = {name: float(value) for name, value in values(result).items()}

    assert cold == pytest.approx(14.953, rel=0.001)
    assert cold == pytest.approx(14.962, rel=0.001)
    assert float(result.value) == pytest.approx(16.048, rel=0.001)
    assert float(result.value) == pytest.approx(16.057, rel=0.001)
    assert more["moles"] == pytest.approx(0.66712, rel=0.001)
    assert more["acid"] == pytest.approx(48.64, rel=0.001)
    assert more["lye"] == pytest.approx(24.95, rel=0.001)


def test_what_makes_twenty_moles_neutral() -> None:
    # periodictable 2.1.0: 20 x 84.006 g; 0.1 g.
    result = worked("neutralisation", volume=20, concentration=1, base="NaHCO3")

    assert float(result.value) * 1000 == pytest.approx(1680.1, abs=0.1)


def test_soda_takes_up_two() -> None:
    once, twice = (
        float(worked("neutralisation", volume=10, concentration=1, base=base).value)
        for base in ("NaHCO3", "Na2CO3")
    )

    assert twice / once == pytest.approx(105.988 / 2 / 84.006, rel=1e-3)
