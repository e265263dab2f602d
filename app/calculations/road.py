"""On the road: whether a load tips, and how far a train of vehicles runs before it stands."""

from __future__ import annotations

import math

from app.calculations.calculation import Answer, Calculation, Values, amount, output
from app.calculations.constants import STANDARD_GRAVITY
from app.calculations.rounding import short


def tipping_factor(
    lever: float, height: float, acceleration: float, slope_deg: float = 0.0
) -> float:
    """Return how often the load's own weight outweighs what would tip it; above 1 it stands.

    Args:
        lever: From the centre of gravity to the edge over which it would tip, above 0.
        height: Of the centre of gravity over the bed, above 0, in the unit of `lever`.
        acceleration: c, of g: 0.8 forward, 0.5 sideways, 0.6 for a load that tips easily.
        slope_deg: Of the road, across that edge, degrees, 0 to 30.

    Source: EN 12195-1:2010, b / h > c (from memory); a slope adds its tangent to c.
    """
    return lever / (height * (acceleration + math.tan(math.radians(slope_deg))))


def stopping_distance(
    speed_ms: float, reaction_s: float, deceleration: float, slope: float = 0.0
) -> float:
    """Return how far a vehicle runs from the word "stop" until it stands, m.

    Args:
        speed_ms: Speed, m/s, 0 or more.
        reaction_s: Until the brakes bite, s, 0 or more.
        deceleration: On level road, m/s2, above 0.
        slope: Of the road, as rise over run; downhill above 0.

    Raises:
        ValueError: the road falls so steeply that the brakes do not hold.

    Source: v t + v^2 / (2 a), mechanics (from memory).
    """
    left = deceleration - STANDARD_GRAVITY * math.sin(math.atan(slope))
    if left <= 0:
        raise ValueError("On this slope the brakes do not stop it at all.")
    return speed_ms * reaction_s + speed_ms**2 / (2 * left)


def _tipping(given: Values) -> Answer:
    lever, height, c = given["lever"], given["height"], given["acceleration"]
    slope = given.get("slope", 0.0)
    factor = tipping_factor(lever, height, c, slope)
    stands = round(factor, 9) > 1
    working = (
        f"b / h = {lever:g} m / {height:g} m = {short(lever / height)}.",
        f"Pull: {c:g} + tan {slope:g} deg = {short(c + math.tan(math.radians(slope)))}.",
    )
    sentence = "It stands by itself." if stands else "It tips. Lash it against tipping."
    return Answer(values=(factor,), working=working, passes=stands, sentence=sentence, turns=(1.0,))


def _stopping(given: Values) -> Answer:
    speed, slope = given["speed"] / 3.6, given.get("slope", 0.0) / 100
    reaction, brakes = given["reaction"], given["deceleration"]
    distance = stopping_distance(speed, reaction, brakes, slope)
    working = (
        f"{given['speed']:g} km/h = {short(speed)} m/s.",
        f"Until the brakes bite: {short(speed)} m/s x {reaction:g} s = {short(speed * reaction)} m.",
        f"Braking: {short(distance - speed * reaction)} m.",
    )
    return Answer(values=(distance,), working=working)


SUMS = (
    Calculation(
        name="tipping",
        title="Safety against tipping",
        subject="Lashing and road",
        inputs=(
            amount("lever", "Centre of gravity to the tipping edge", "m", above="0"),
            amount("height", "Height of the centre of gravity", "m", above="0"),
            amount(
                "acceleration",
                "Acceleration coefficient c",
                above="0",
                high="1.5",
                hint="0.8 forward, 0.5 sideways, 0.6 for a load that tips easily.",
            ),
            amount("slope", "Slope across the edge", "deg", low="0", high="30", optional=True),
        ),
        outputs=(output("factor", "b over c h", "", "0.01"),),
        work=_tipping,
        formula="b / (h (c + tan slope)) > 1",
        source="EN 12195-1:2010, from memory; the slope by statics.",
        care="For a load that keeps its shape. Jacks and air springs can make it tip sooner.",
    ),
    Calculation(
        name="stopping-distance",
        title="Stopping distance",
        subject="Lashing and road",
        inputs=(
            amount("speed", "Speed", "km/h", low="0", high="120"),
            amount("reaction", "Until the brakes bite", "s", low="0", high="10"),
            amount("deceleration", "Deceleration on level road", "m/s^2", above="0", high="10"),
            amount(
                "slope",
                "Slope, downhill above 0",
                "%",
                low="-30",
                high="30",
                optional=True,
                hint="Left out: 0.",
            ),
        ),
        outputs=(output("distance", "Stopping distance", "m", "0.001"),),
        work=_stopping,
        formula="s = v t + v^2 / (2 (a - g sin slope))",
        source="Mechanics, from memory.",
        care="Brakes that bite this hard may move the load: see the lashing forward.",
    ),
)
