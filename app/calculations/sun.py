"""The sun over the site: how high it stands, when it rises and sets, how long until an altitude."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta, timezone

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.rounding import clock
from app.calculations.sun_position import refraction, sun_at

RISE = -0.833  # deg, of the middle: 34' of refraction, 16' to the upper edge; almanac convention
STEP = timedelta(minutes=4)  # the sun turns by one degree
NEAR = timedelta(milliseconds=500)
A_DAY = timedelta(hours=24)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the site is, degrees: north and east above 0."""

    latitude: float
    longitude: float

    def altitude(self, at: datetime) -> float:
        """Return the altitude of the sun's middle, degrees, without refraction."""
        return sun_at(at, self.latitude, self.longitude).altitude


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """A moment at which the sun passes an altitude."""

    at: datetime
    rising: bool


def next_crossing(
    place: Place, altitude: float, since: datetime, within: timedelta = A_DAY
) -> Crossing | None:
    """Return when the sun next passes an altitude, or None if it does not within that time.

    Args:
        place: Where.
        altitude: Of the sun's middle, degrees, -90 to 90, without refraction.
        since: From which moment, aware, 1950 to 2050.
        within: How long to look.

    Returns:
        The crossing, good to some seconds where the sun moves steeply; the altitude itself is good
        to 0.01 degrees. It can miss a pair of crossings less than four minutes apart.

    Source: Bisection of the altitude of `sun_position`.
    """
    before, last = place.altitude(since) - altitude, since
    for n in range(1, -(-within // STEP) + 1):
        now = min(since + n * STEP, since + within)
        here = place.altitude(now) - altitude
        if (before < 0) != (here < 0):
            return Crossing(at=_bisect(place, altitude, last, now), rising=here >= 0)
        before, last = here, now
    return None


def crossings_of_day(place: Place, altitude: float, midnight: datetime) -> tuple[Crossing, ...]:
    """Return every moment of a day at which the sun passes an altitude; arguments as above."""
    found: list[Crossing] = []
    since, end = midnight, midnight + A_DAY
    while since < end:
        crossing = next_crossing(place, altitude, since, end - since)
        if crossing is None:
            break
        found.append(crossing)
        since = crossing.at + NEAR * 2
    return tuple(found)


def _bisect(place: Place, altitude: float, low: datetime, high: datetime) -> datetime:
    below = place.altitude(low) < altitude
    while high - low > NEAR:
        middle = low + (high - low) / 2
        if (place.altitude(middle) < altitude) == below:
            low = middle
        else:
            high = middle
    return high


def _place(given: Values) -> Place:
    return Place(latitude=given["latitude"], longitude=given["longitude"])


def _midnight(given: Values) -> datetime:
    zone = timezone(timedelta(hours=given["utc_offset"]))
    return datetime.combine(given.day("date"), time(), zone)


def _moment(given: Values) -> datetime:
    return _midnight(given) + timedelta(minutes=given["clock"])


def _minutes(at: datetime, midnight: datetime) -> float:
    return (at - midnight) / timedelta(minutes=1)


def _sun_altitude(given: Values) -> Answer:
    at, place = _moment(given), _place(given)
    sun = sun_at(at, place.latitude, place.longitude)
    lifted = refraction(sun.altitude)
    working = (
        f"{at:%Y-%m-%d %H:%M}, UTC {given['utc_offset']:+g} h, at {place.latitude:g}, "
        f"{place.longitude:g} deg (north and east above 0).",
        f"Declination {sun.declination:.2f} deg, equation of time {sun.equation_of_time:+.2f} min.",
        f"Altitude of the sun's middle {sun.altitude:.2f} deg; the air lifts it by {lifted:.2f} deg.",
    )
    values = (
        sun.altitude,
        sun.azimuth,
        sun.altitude + lifted,
        sun.declination,
        sun.equation_of_time,
    )
    return Answer(values=values, working=working)


def _sun_rise_set(given: Values) -> Answer:
    altitude = given.get("altitude", RISE)
    midnight = _midnight(given)
    found = crossings_of_day(_place(given), altitude, midnight)
    rises = [_minutes(each.at, midnight) for each in found if each.rising]
    sets = [_minutes(each.at, midnight) for each in found if not each.rising]
    if not rises or not sets:
        always = "above" if _place(given).altitude(midnight + A_DAY / 2) > altitude else "below"
        raise ValueError(
            f"The sun does not pass {altitude:g} deg twice that day; it is {always} it at noon."
        )
    working = (
        f"Sun's middle at {altitude:g} deg, without refraction.",
        f"Rising {clock(rises[0])}, setting {clock(sets[-1])}, by a clock at UTC {given['utc_offset']:+g} h.",
    )
    return Answer(values=(rises[0] / 60, sets[-1] / 60), working=working)


def _sun_until(given: Values) -> Answer:
    place, at, altitude = _place(given), _moment(given), given["altitude"]
    crossing = next_crossing(place, altitude, at)
    if crossing is None:
        raise ValueError(f"The sun does not pass {altitude:g} deg within 24 hours.")
    minutes = (crossing.at - at) / timedelta(minutes=1)
    way = "rising" if crossing.rising else "setting"
    when = clock(_minutes(crossing.at, _midnight(given)))
    working = (
        f"Now the sun's middle is at {place.altitude(at):.2f} deg.",
        f"It passes {altitude:g} deg at {when}, {way}.",
    )
    return Answer(values=(minutes,), working=working)


_DAY = Input(name="date", title="Date", form="date", hint="As 2027-05-06.")
_CLOCK = Input(name="clock", title="Time of day", form="clock", hint="As 07:30.")
_ZONE = amount("utc_offset", "Clock ahead of UTC", "h", low="-12", high="14", hint="As -2.")
_PLACE = (
    amount("latitude", "Latitude, north above 0", "deg", low="-90", high="90"),
    amount("longitude", "Longitude, east above 0", "deg", low="-180", high="180"),
)
_SOURCE = (
    "Meeus, Astronomical Algorithms, low precision, from memory; within 0.01 deg of NREL SPA as "
    "pvlib prints it."
)
_CARE = (
    "For a level horizon. A hill, a refracting layer or a wrong clock moves it. "
    "Sunlight on an open mirror burns: keep people and things out of the cone until it is covered."
)

SUMS = (
    Calculation(
        name="sun-altitude",
        title="Altitude of the sun",
        subject="Sun",
        inputs=(_DAY, _CLOCK, _ZONE, *_PLACE),
        outputs=(
            output("altitude", "Altitude of its middle, without refraction", "deg", "0.01"),
            output("azimuth", "Azimuth, from north over east", "deg", "0.01"),
            output("seen", "Altitude as seen through the air", "deg", "0.01"),
            output("declination", "Declination", "deg", "0.01"),
            output("equation_of_time", "Equation of time", "min", "0.01"),
        ),
        work=_sun_altitude,
        formula="sin h = sin lat sin dec + cos lat cos dec cos hour angle",
        source=_SOURCE,
        care=_CARE,
    ),
    Calculation(
        name="sun-rise-set",
        title="Rising and setting of the sun",
        subject="Sun",
        inputs=(
            _DAY,
            _ZONE,
            *_PLACE,
            amount(
                "altitude",
                "Altitude to pass",
                "deg",
                low="-30",
                high="60",
                optional=True,
                hint="Left out: -0.833, its upper edge on the horizon.",
            ),
        ),
        outputs=(
            output("rise", "Rising, hours after midnight", "h", "0.01"),
            output("set", "Setting, hours after midnight", "h", "0.01"),
        ),
        work=_sun_rise_set,
        formula="altitude(t) = altitude to pass, by bisection",
        source=_SOURCE,
        care=_CARE,
    ),
    Calculation(
        name="sun-until",
        title="Time until the sun passes an altitude",
        subject="Sun",
        inputs=(
            _DAY,
            _CLOCK,
            _ZONE,
            *_PLACE,
            amount("altitude", "Altitude to pass", "deg", low="-90", high="90"),
        ),
        outputs=(output("until", "Until then", "min", "0.1"),),
        work=_sun_until,
        formula="altitude(t) = altitude to pass, by bisection",
        source=_SOURCE,
        care=_CARE,
    ),
)
