"""Lashing a load for the road: how many lashings hold it, and with what margin.

The standard reckons with g = 9.81 m/s2; so does this module.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.rounding import short

G_ROAD = 9.81  # m/s2, as EN 12195-1 uses it
DIRECT_FRICTION = 0.75  # f_u: of the friction factor, where the load may move a little first
FORWARD, OTHERWISE = 0.8, 0.5  # c: braking; backwards and sideways

CARE = (
    "For level road, lashings alike, and a load that bears itself. The friction factor comes from "
    "the table, for clean dry surfaces. A competent person secures the load; the law of the place "
    "comes first."
)
SOURCE = (
    "EN 12195-1:2010. The forms are from memory; they agree with statics solved as a linear "
    "programme, and with a worked example of an insurers' handbook."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """A load on a bed, and how hard the road may pull at it."""

    mass: float  # kg
    acceleration: float  # c, of g: 0.8 forward, 0.5 backward and sideways, 0.6 to tip sideways
    friction: float  # mu, between load and bed
    vertical: float = 1.0  # c_z

    @property
    def weight(self) -> float:
        """Return m g, N."""
        return self.mass * G_ROAD


def needed_over(load: Load, angle_deg: float, tension_n: float, safety: float) -> float:
    """Return how many lashings over the top are needed, not yet rounded up.

    Args:
        load: The load.
        angle_deg: Of the lashing to the bed, degrees, above 0 up to 90.
        tension_n: Standard tension of one lashing, N, above 0.
        safety: f_s, 1.1 sideways and backwards, 1.25 forwards; 1 or more.

    Returns:
        Number of lashings; 0 or less where friction alone holds.

    Source: EN 12195-1:2010, n >= (c - mu cz) m g fs / (2 mu sin a FT) (from memory; the securing
        effect 2 mu FT as an insurers' handbook prints it).
    """
    pull = (load.acceleration - load.friction * load.vertical) * load.weight * safety
    return pull / over_effect(load.friction, angle_deg, tension_n)


def over_effect(friction: float, angle_deg: float, tension_n: float) -> float:
    """Return what one lashing over the top adds to the friction, in the unit of the tension.

    It presses on both sides: 2 mu sin a FT. Arguments and source as above.
    """
    return 2 * friction * math.sin(math.radians(angle_deg)) * tension_n


def direct_need(load: Load) -> float:
    """Return the pull that direct lashings must hold along the bed, N; 0 or less: friction holds.

    Source: EN 12195-1:2010, m g (c - mu f cz), f = 0.75 (from memory; "reduced by 25 %" in print).
    """
    return load.weight * (load.acceleration - load.friction * DIRECT_FRICTION * load.vertical)


def direct_effect(friction: float, angle_deg: float, aside_deg: float) -> float:
    """Return what a direct lashing holds along the bed, over its own pull.

    Args:
        friction: Between load and bed, 0 to 1.
        angle_deg: Of the lashing to the bed, degrees, 0 to 90.
        aside_deg: Of the lashing, seen from above, to the direction of the pull, degrees, 0 to 90.

    Source: EN 12195-1:2010, cos a cos b + mu f sin a (from memory; statics solved as a linear
        programme gives the same).
    """
    a, b = math.radians(angle_deg), math.radians(aside_deg)
    return math.cos(a) * math.cos(b) + friction * DIRECT_FRICTION * math.sin(a)


def _load(given: Values) -> Load:
    return Load(
        mass=given["mass"],
        acceleration=given["acceleration"],
        friction=given["friction"],
        vertical=given.get("vertical", 1.0),
    )


def _over(given: Values) -> Answer:
    load, safety, angle = _load(given), given["safety"], given["angle"]
    tension = given["tension"] * 1000
    needed = max(0.0, needed_over(load, angle, tension, safety))
    whole = math.ceil(round(needed, 9))
    holds = over_effect(load.friction, angle, tension) / 1000
    working = (
        f"Pull: {load.acceleration:g} x {load.mass:g} kg x 9.81 m/s2 = "
        f"{short(load.acceleration * load.weight / 1000)} kN.",
        f"Friction of the load itself: {short(load.friction * load.vertical * load.weight / 1000)} kN.",
        f"Each lashing adds 2 mu sin a FT = {short(holds)} kN.",
        f"With the safety factor {safety:g}: {short(needed)} lashings, so {whole}.",
    )
    values, turns = (needed, float(whole)), (float(whole),)
    if "lashings" not in given:
        return Answer(values=values, working=working, turns=turns)
    placed = given.exact("lashings")
    enough = placed >= whole
    sentence = f"{placed} are {'enough' if enough else 'not enough'}: {whole} are needed."
    return Answer(
        values=values,
        working=working,
        passes=enough,
        sentence=sentence,
        turns=turns,
    )


def _direct(given: Values) -> Answer:
    load, count, capacity = _load(given), given["lashings"], given["capacity"]
    need = direct_need(load) / 1000
    if need <= 0:
        raise ValueError(
            "Friction alone holds this load: no pull is left to divide by. "
            "Lash it all the same, as the rules of the road ask."
        )
    effect = direct_effect(load.friction, given["angle"], given["aside"])
    if effect <= 0:
        raise ValueError("Lashings crosswise to the pull hold nothing. Measure the angles again.")
    holds = count * capacity * effect
    enough = round(holds - need, 9) >= 0
    working = (
        f"Needed: m g (c - 0.75 mu cz) = {short(need)} kN.",
        f"Each kN of a lashing holds cos a cos b + 0.75 mu sin a = {short(effect)} kN.",
        f"{count:g} x {capacity:g} kN x {short(effect)} = {short(holds)} kN.",
    )
    said = f"{count:g} lashings hold {short(holds)} kN against {short(need)} kN"
    return Answer(
        values=(holds / need, need / effect, need, holds),
        working=working,
        passes=enough,
        sentence=f"{said}." if enough else f"{said}: not enough.",
        turns=(1.0,),
    )


def _angle(name: str, title: str, above: str = "", low: str = "") -> Input:
    return amount(name, title, "deg", above=above, low=low, high="90")


_LOAD = (
    amount("mass", "Mass of the load", "kg", above="0", high="500000"),
    amount(
        "acceleration",
        "Acceleration coefficient c",
        above="0",
        high="1.5",
        hint="0.8 forward, 0.5 backward and sideways.",
    ),
    amount(
        "friction",
        "Friction factor",
        low="0.05",
        high="0.9",
        hint="From the standard's table; 0.3 where nothing better is known.",
    ),
)
_VERTICAL = amount(
    "vertical",
    "Vertical coefficient cz",
    above="0",
    high="1",
    optional=True,
    hint="Left out: 1.",
)

SUMS = (
    Calculation(
        name="lashing-over",
        title="Lashings over the top",
        subject="Lashing and road",
        inputs=(
            *_LOAD,
            _angle("angle", "Angle to the bed", above="0"),
            amount("tension", "Standard tension of one lashing", "kN", above="0", high="100"),
            amount(
                "safety", "Safety factor", low="1", high="3", hint="1.25 forward, 1.1 otherwise."
            ),
            _VERTICAL,
            Input(
                name="lashings",
                title="Lashings placed",
                form="whole",
                optional=True,
                hint="Left out: no verdict.",
            ),
        ),
        outputs=(
            output("needed", "Lashings by the sum", "", "0.001"),
            output("whole", "Lashings to place", "", "1"),
        ),
        work=_over,
        formula="n = (c - mu cz) m g fs / (2 mu sin a FT)",
        source=SOURCE,
        care=CARE,
    ),
    Calculation(
        name="lashing-direct",
        title="Direct lashing, held over needed",
        subject="Lashing and road",
        inputs=(
            *_LOAD,
            _angle("angle", "Angle to the bed", low="0"),
            _angle("aside", "Angle aside, seen from above", low="0"),
            amount("capacity", "Lashing capacity LC of one", "kN", above="0", high="1000"),
            Input(name="lashings", title="Lashings that act against this pull", form="whole"),
            _VERTICAL,
        ),
        outputs=(
            output("factor", "Held over needed", "", "0.01"),
            output("tension", "Pull in all lashings together", "kN", "0.01"),
            output("need", "Needed along the bed", "kN", "0.1"),
            output("holds", "Held along the bed", "kN", "0.1"),
        ),
        work=_direct,
        formula="n LC (cos a cos b + 0.75 mu sin a) >= m g (c - 0.75 mu cz)",
        source=SOURCE,
        care=CARE,
    ),
)
