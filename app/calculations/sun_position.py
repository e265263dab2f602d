"""Where the sun stands, from the date and the place: the low-precision ephemeris of the almanacs.

Written out here, and not taken from a library, because the pure packages know no clock and the sum
is forty lines. Good to 0.01 degrees from 1950 to 2050; the full algorithm of the same kind, with its
tables of hundreds of terms, is good to 0.0003, which nobody in a dome can use.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime

J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)
DAY = 86400.0  # s
CENTURY = 36525.0  # days
TERRESTRIAL_AHEAD = (
    69.2  # s by which terrestrial time leads, 2020s; 10 s more move the sun 0.0001 deg
)
PARALLAX = 8.794 / 3600  # deg, at the horizon
LOWEST_REFRACTED = -1.0  # deg; the formula of refraction is for the air above the horizon


@dataclass(frozen=True, slots=True, kw_only=True)
class Sun:
    """Where the sun stands, degrees; `altitude` of its middle, without refraction."""

    altitude: float
    azimuth: float  # from north over east
    declination: float
    equation_of_time: float  # min; a sundial is ahead of the clock where it is above 0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Apparent:
    right_ascension: float
    declination: float
    sidereal: float  # at Greenwich, apparent, deg
    mean_longitude: float


def sun_at(at: datetime, latitude: float, longitude: float) -> Sun:
    """Return where the sun stands.

    Args:
        at: The moment, aware, 1950 to 2050.
        latitude: Degrees, north above 0, -90 to 90.
        longitude: Degrees, east above 0, -180 to 180.

    Returns:
        The sun; good to 0.01 degrees. Seen from the ground, refraction lifts it further.

    Source: Meeus, Astronomical Algorithms (2nd ed. 1998), chapters 12, 13, 22, 25 and 28, low
        precision (from memory). Agrees with NREL SPA as pvlib prints it, and with ephem.
    """
    seen = _apparent((at - J2000).total_seconds() / DAY)
    hour = math.radians((seen.sidereal + longitude - seen.right_ascension + 180) % 360 - 180)
    lat, dec = math.radians(latitude), math.radians(seen.declination)
    sine = math.sin(lat) * math.sin(dec) + math.cos(lat) * math.cos(dec) * math.cos(hour)
    altitude = math.degrees(math.asin(max(-1.0, min(1.0, sine))))
    east = -math.cos(dec) * math.sin(hour)
    north = math.sin(dec) * math.cos(lat) - math.cos(dec) * math.cos(hour) * math.sin(lat)
    late = (seen.mean_longitude - 0.0057183 - seen.right_ascension + 180) % 360 - 180
    return Sun(
        altitude=altitude - PARALLAX * math.cos(math.radians(altitude)),
        azimuth=math.degrees(math.atan2(east, north)) % 360,
        declination=seen.declination,
        equation_of_time=4 * late,
    )


def refraction(altitude: float, pressure_hpa: float = 1010.0, temperature_c: float = 10.0) -> float:
    """Return how much the air lifts the sun, degrees, from its altitude without refraction.

    Args:
        altitude: Degrees; below -1 the result is 0, for no light comes from there.
        pressure_hpa: At the place, hPa, 0 or more.
        temperature_c: At the place, degC, above -273.

    Source: Saemundsson, Sky and Telescope 72 (1986) 70, as in Meeus, eq. 16.4 (from memory); good
        to 0.1 arc minutes above 15 degrees, worse near the horizon, where the air of the day decides.
    """
    if altitude < LOWEST_REFRACTED:
        return 0.0
    minutes = 1.02 / math.tan(math.radians(altitude + 10.3 / (altitude + 5.11)))
    return minutes / 60 * pressure_hpa / 1010 * 283 / (273 + temperature_c)


def _apparent(days: float) -> _Apparent:
    """Return the apparent place of the sun; `days` since J2000, universal time."""
    t = (days + TERRESTRIAL_AHEAD / DAY) / CENTURY
    mean = 280.46646 + 36000.76983 * t + 0.0003032 * t**2
    anomaly = math.radians(357.52911 + 35999.05029 * t - 0.0001537 * t**2)
    centre = (1.914602 - 0.004817 * t) * math.sin(anomaly)
    centre += 0.019993 * math.sin(2 * anomaly) + 0.000289 * math.sin(3 * anomaly)
    node = math.radians(125.04452 - 1934.136261 * t)
    moon = math.radians(218.3165 + 481267.8813 * t)
    twice = math.radians(2 * mean)
    nutation = -17.20 * math.sin(node) - 1.32 * math.sin(twice) - 0.23 * math.sin(2 * moon)
    nutation = (nutation + 0.21 * math.sin(2 * node)) / 3600
    wobble = 9.20 * math.cos(node) + 0.57 * math.cos(twice) + 0.10 * math.cos(2 * moon)
    tilt = 23.4392911 - 0.0130042 * t + (wobble - 0.09 * math.cos(2 * node)) / 3600
    aberration = 20.4898 / 3600 / (1 - 0.0167 * math.cos(anomaly))
    longitude = math.radians(mean + centre + nutation - aberration)
    obliquity = math.radians(tilt)
    ascension = math.atan2(math.cos(obliquity) * math.sin(longitude), math.cos(longitude))
    sidereal = 280.46061837 + 360.98564736629 * days + 0.000387933 * t**2
    return _Apparent(
        right_ascension=math.degrees(ascension),
        declination=math.degrees(math.asin(math.sin(obliquity) * math.sin(longitude))),
        sidereal=sidereal + nutation * math.cos(obliquity),
        mean_longitude=mean + nutation * math.cos(obliquity),
    )
