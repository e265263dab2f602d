"""The sun against the full algorithm, an independent ephemeris, and the trade's worked day."""

from __future__ import annotations

from datetime import datetime

import pytest

from app.calculations.sun_position import refraction, sun_at
from tests.published.sums import values, worked

# Altitude and azimuth without refraction: pvlib 0.16.1 (NREL SPA) and ephem 4.2.1, which agree to
# 0.0001; astral 3.2 within 0.004. 0.01 deg: what the low-precision method claims for itself.
SPA = (
    ("2024-06-21T12:00:00+00:00", -24.63, -70.40, 6.164, 60.684),
    ("2025-03-20T15:30:00+00:00", 28.76, -17.89, 47.554, 233.346),
    ("2025-01-15T18:20:00+00:00", 32.70, -109.89, 33.840, 160.488),
    ("2025-09-22T10:15:00+00:00", 19.82, -155.47, -70.050, None),
)
WITHIN = 0.01  # deg
# The worked example of NREL/TP-560-34302: zenith without refraction 50.127954, with it 50.11162.
EXAMPLE = ("2003-10-17T12:30:30-07:00", 39.742476, -105.1786)
DEMO = {"date": "2027-05-06", "utc_offset": "-2", "latitude": "-31.20", "longitude": "-29.40"}


@pytest.mark.parametrize(("at", "latitude", "longitude", "altitude", "azimuth"), SPA)
def test_where_the_sun_stands(
    at: str, latitude: float, longitude: float, altitude: float, azimuth: float | None
) -> None:
    sun = sun_at(datetime.fromisoformat(at), latitude, longitude)

    assert sun.altitude == pytest.approx(altitude, abs=WITHIN)
    if azimuth is not None:
        assert sun.azimuth == pytest.approx(azimuth, abs=WITHIN)


def test_the_algorithms_own_example() -> None:
    at, latitude, longitude = EXAMPLE

    sun = sun_at(datetime.fromisoformat(at), latitude, longitude)

    assert 90 - sun.altitude == pytest.approx(50.127954, abs=WITHIN)
    assert sun.azimuth == pytest.approx(194.34024, abs=WITHIN)
    # 0.04 min of time is 0.01 deg.
    assert sun.equation_of_time == pytest.approx(14.6415, abs=0.04)
    # The example's air: 820 hPa, 11 degC. Bennett's family of formulas is good to 0.1'.
    seen = sun.altitude + refraction(sun.altitude, 820, 11)
    assert 90 - seen == pytest.approx(50.11162, abs=WITHIN + 0.002)


# The trade notes' day of the road, worked with a coarser formula (a Fourier series for the
# declination): it gives the declination 0.2 deg too low, and so the altitude up to 0.25 deg.
TRADE_DAY = (("07:00", 5.04), ("12:00", 42.45), ("17:00", 2.61))


@pytest.mark.parametrize(("clock", "altitude"), TRADE_DAY)
def test_the_day_of_the_road(clock: str, altitude: float) -> None:
    result = worked("sun-altitude", clock=clock, **DEMO)

    assert float(result.value) == pytest.approx(altitude, abs=0.25)


# Same notes, printed to the minute; the coarser declination moves them by up to a minute.
@pytest.mark.parametrize(
    ("altitude", "rise", "sets"), [("-0.833", "06:31", "17:17"), ("-6", "06:05", "17:42")]
)
def test_rising_and_setting_on_the_day_of_the_road(altitude: str, rise: str, sets: str) -> None:
    result = worked("sun-rise-set", altitude=altitude, **DEMO)

    found = [float(result.value) * 60, float(values(result)["set"]) * 60]
    printed = [int(clock[:2]) * 60 + int(clock[3:]) for clock in (rise, sets)]
    assert found == pytest.approx(printed, abs=1.5)


def test_how_long_until_the_shutter_may_open() -> None:
    result = worked("sun-until", clock="17:00", altitude="-6", **DEMO)

    assert float(result.value) == pytest.approx(42, abs=1.5)
    assert "setting" in result.working[1]


def test_beyond_the_circle_the_sun_may_not_rise() -> None:
    winter = {**DEMO, "date": "2027-06-21", "latitude": "-75"}

    with pytest.raises(ValueError, match="does not pass"):
        worked("sun-rise-set", **winter)
    with pytest.raises(ValueError, match="within 24 hours"):
        worked("sun-until", clock="12:00", altitude="0", **winter)
