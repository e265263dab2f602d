"""Air, wind and dew against libraries, tables and the worked values of the trade."""

from __future__ import annotations

import pytest
from psychrolib import (
    SI,
    GetSatVapPres,
    GetTDewPointFromRelHum,
    SetUnitSystem,
)

from app.calculations.air import (
    air_density,
    beaufort,
    standard_pressure,
    standard_temperature,
    wind_pressure,
)
from app.calculations.humidity import (
    OVER_ICE,
    saturation_pressure,
    settling_point,
    vapour_pressure,
)
from tests.published.sums import values, worked

SetUnitSystem(SI)
DRY_GAS = 287.05287  # J/(kg K), of the standard atmosphere
# ambiance 1.3.1 and fluids 1.3.1, US 1976 / ISO 2533, geometric heights: m, Pa, kg/m3.
STANDARD = ((0, 101_325, 1.2250), (1000, 89_876.3, 1.11166), (2000, 79_501.4, 1.00655))
# CoolProp 8.0.0, real gas: Pa, degC, RH, kg/m3. 0.0005: what separates the good formulas.
MOIST = ((101_325, 20, 0.5, 1.19936), (75_000, 5, 0.2, 0.93892))
# MetPy 1.7.1: degC, RH, dew point over water. 0.03 K: what separates coefficients in use.
DEW_METPY = ((20, 0.5, 9.2561), (15, 0.7, 9.5686), (25, 0.4, 10.4535), (5, 0.6, -2.1280))
# psychrolib 2.5.0, over ice below 0 degC.
DEW_PSYCHROLIB = ((20, 0.5, 9.2724), (15, 0.7, 9.5794), (25, 0.4, 10.4757), (5, 0.6, -1.8672))
# The trade notes, Magnus over water, printed to 0.01 K.
DEW_TRADE = ((11.5, 0.38, -2.35), (11.5, 0.72, 6.62), (19.5, 0.45, 7.24))


@pytest.mark.parametrize(("height", "pressure", "density"), STANDARD)
def test_the_standard_atmosphere(height: int, pressure: float, density: float) -> None:
    found = standard_pressure(height)

    assert found == pytest.approx(pressure, abs=1)
    assert found / (DRY_GAS * standard_temperature(height)) == pytest.approx(density, abs=0.0002)


@pytest.mark.parametrize(("pressure", "celsius", "humidity", "density"), MOIST)
def test_moist_air_against_the_real_gas(
    pressure: float, celsius: float, humidity: float, density: float
) -> None:
    assert air_density(pressure, celsius, humidity) == pytest.approx(density, abs=0.0005)


def test_the_air_at_the_demos_height() -> None:
    # Trade notes: 2380 m, 10 degC: 758 hPa, 0.933 kg/m3; 9 m/s there: 37.8 Pa.
    pressure = standard_pressure(2380)
    density = air_density(pressure, 10, 0)

    assert pressure / 100 == pytest.approx(758, abs=0.5)
    assert density == pytest.approx(0.933, abs=0.0005)
    assert wind_pressure(9, density) == pytest.approx(37.8, abs=0.05)


@pytest.mark.parametrize(
    ("density", "speed", "pressure"), [(1.225, 10, 61.25), (0.957, 12, 68.904)]
)
def test_what_a_wind_presses_with(density: float, speed: float, pressure: float) -> None:
    # Bernoulli, from memory; arithmetic done again.
    assert wind_pressure(speed, density) == pytest.approx(pressure, abs=0.001)


def test_a_gust_of_half_as_much_again_presses_more_than_twice() -> None:
    mean = worked("wind-pressure", speed=8, density=1)
    gust = worked("wind-pressure", speed=8, density=1, gust=1.5)

    assert gust.value == mean.value * 9 / 4
    assert "12 m/s" in gust.working[0]


# Beaufort table as printed (class 5: 8.0 to 10.7, 6: 10.8 to 13.8 m/s).
@pytest.mark.parametrize(("speed", "number"), [(0, 0), (8.0, 5), (10.7, 5), (10.8, 6), (80, 12)])
def test_the_beaufort_number(speed: float, number: int) -> None:
    assert beaufort(speed) == number


def test_the_wind_on_the_mast() -> None:
    # Trade notes: 9.0 m/s at 3 m is 10.65 m/s at 10 m, exponent 0.14.
    assert str(worked("wind-height", speed=9, height=3, other_height=10).value) == "10.65"


@pytest.mark.parametrize(("celsius", "humidity", "dew"), DEW_METPY)
def test_the_dew_point_over_water(celsius: float, humidity: float, dew: float) -> None:
    assert settling_point(vapour_pressure(celsius, humidity)) == pytest.approx(dew, abs=0.03)


@pytest.mark.parametrize(("celsius", "humidity", "dew"), DEW_TRADE)
def test_the_dew_points_of_the_trade(celsius: float, humidity: float, dew: float) -> None:
    assert settling_point(vapour_pressure(celsius, humidity)) == pytest.approx(dew, abs=0.005)


@pytest.mark.parametrize(("celsius", "humidity", "printed"), DEW_PSYCHROLIB)
def test_the_settling_point_as_the_library_prints_it(
    celsius: float, humidity: float, printed: float
) -> None:
    result = worked("dew-point", temperature=celsius, humidity=humidity * 100)

    assert GetTDewPointFromRelHum(celsius, humidity) == pytest.approx(printed, abs=1e-4)
    assert float(values(result)["frost_point"]) == pytest.approx(printed, abs=0.03)


@pytest.mark.parametrize("celsius", range(-15, 36, 5))
@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.8, 0.95])
def test_the_settling_point_against_the_library(celsius: int, humidity: float) -> None:
    # The library takes relative humidity over ice below 0 degC, hygrometers over water: give it the
    # same vapour. 0.1 K: Magnus over water is off by 0.05 K in the cold.
    vapour = vapour_pressure(celsius, humidity)
    theirs = GetTDewPointFromRelHum(celsius, min(1.0, 100 * vapour / GetSatVapPres(celsius)))
    ours = settling_point(vapour) if theirs >= 0 else settling_point(vapour, OVER_ICE)

    if 100 * vapour < GetSatVapPres(celsius):
        assert ours == pytest.approx(theirs, abs=0.1)


def test_the_saturation_pressure() -> None:
    # psychrolib 2338.80 Pa, MetPy 2334.75 Pa at 20 degC: 0.3 % is what separates them.
    assert saturation_pressure(20) * 100 == pytest.approx(2338.80, rel=0.003)
    assert saturation_pressure(20) * 100 == pytest.approx(2334.75, rel=0.003)


@pytest.mark.parametrize(
    ("glass", "margin", "permits"), [("12.0", 2.42, False), ("12.6", 3.02, True)]
)
def test_the_margin_over_glass(glass: str, margin: float, permits: bool) -> None:
    # psychrolib, air of 15 degC and 70 %; the trade's rule is 3 K.
    result = worked("dew-margin", temperature=15, humidity=70, glass=glass)

    assert float(result.value) == pytest.approx(margin, abs=0.03)
    assert (result.value >= 3) is permits


def test_on_glass_below_freezing_the_frost_point_counts() -> None:
    cold = worked("dew-margin", temperature=5, humidity=60, glass="-0.1")
    warm = worked("dew-margin", temperature=5, humidity=60, glass="0")

    # psychrolib's frost point -1.8672, MetPy's dew point -2.1280; 0.03 K as above.
    assert float(cold.value) == pytest.approx(-0.1 + 1.8672, abs=0.03)
    assert float(warm.value) == pytest.approx(2.1280, abs=0.03)
    assert "over ice" in cold.working[1]
    assert "over water" in warm.working[1]
