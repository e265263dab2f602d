"""The mirror as a body: its mass, how its weight is shared, what is left to balance, what a sling bears."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from operator import mul

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.constants import STANDARD_GRAVITY
from app.calculations.rounding import short

STANDARD_LEGS = (Decimal(1), Decimal(8))
CARE_LIFT = (
    "A lift is planned by a competent person, with the crane's own table. Rated loads come first."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meniscus:
    """A shell between two concentric spheres, with a hole in its middle, m; radius 0: a flat disc."""

    outer: float
    hole: float
    thickness: float
    radius: float

    def area(self, radius: float) -> float:
        """Return the area of the shell's surface on a sphere of this radius, m2."""
        if not self.radius:
            return math.pi / 4 * (self.outer**2 - self.hole**2)
        return 2 * math.pi * radius * (sag(self.outer, radius) - sag(self.hole, radius))


def sag(diameter: float, radius: float) -> float:
    """Return how deep a sphere is hollow under a circle, in the unit of its arguments.

    Args:
        diameter: Of the circle, 0 or more, at most twice the radius.
        radius: Of the sphere, above 0.

    Source: Geometry, R - sqrt(R^2 - D^2/4).
    """
    return radius - math.sqrt(radius**2 - diameter**2 / 4)


def meniscus_mass(body: Meniscus, density: float) -> float:
    """Return the mass of a meniscus, kg: its middle surface times thickness times density.

    Args:
        body: The shell; lengths in m.
        density: kg/m3, above 0; glass-ceramic 2530 (from memory, a maker's data sheet).

    Source: Guldin's rule; exact but for the slant of the rim, under 0.01 % for a thin shell.
    """
    return body.area(body.radius + body.thickness / 2) * body.thickness * density


def shares(forces: list[float]) -> list[float]:
    """Return each force over the mean of all: 1 is an even share.

    Args:
        forces: One for each hook, in one unit, with a sum above 0.

    Raises:
        ValueError: the hooks carry nothing.

    Source: Arithmetic.
    """
    mean = math.fsum(forces) / len(forces)
    if mean <= 0:
        raise ValueError("The hooks carry nothing: there are no shares.")
    return [force / mean for force in forces]


def leg_tension(weight: float, legs: float, angle_deg: float) -> float:
    """Return the pull in each leg of a sling, in the unit of `weight`.

    Args:
        weight: What hangs on the sling, above 0.
        legs: Legs that are reckoned to bear; of a rigid load on four, two.
        angle_deg: Of the leg to the horizontal, degrees, 30 to 90.

    Source: Statics, W / (n sin a). That a rigid load counts two legs of four: EN 818-6, ISO 3056
        (from memory).
    """
    return weight / (legs * math.sin(math.radians(angle_deg)))


def residual_moment(masses: list[float], levers: list[float]) -> float:
    """Return the moment that is left over about an axis, N m, with its sign.

    Args:
        masses: kg; what was taken off counts below 0.
        levers: m from the axis, one side above 0, the other below.

    Raises:
        ValueError: there are not as many levers as masses.

    Source: Statics, g sum(m l).
    """
    if len(masses) != len(levers):
        raise ValueError(f"{len(masses)} masses stand against {len(levers)} levers.")
    return STANDARD_GRAVITY * math.fsum(map(mul, masses, levers))


def _mirror_mass(given: Values) -> Answer:
    body = Meniscus(
        outer=given["outer"],
        hole=given.get("hole", 0.0),
        thickness=given["thickness"],
        radius=given.get("radius", 0.0),
    )
    if body.hole >= body.outer:
        raise ValueError("The hole is as wide as the mirror.")
    if body.radius and 2 * body.radius < body.outer:
        raise ValueError("A sphere of this radius is narrower than the mirror.")
    mass = meniscus_mass(body, given["density"])
    weight = mass * STANDARD_GRAVITY / 1000
    middle, optical = body.area(body.radius + body.thickness / 2), body.area(body.radius)
    depth = 1000 * sag(body.outer, body.radius) if body.radius else 0.0
    working = (
        f"Middle surface {short(middle, 5)} m2 x {body.thickness:g} m x {given['density']:g} kg/m3 "
        f"= {short(mass, 5)} kg.",
        f"Weight {short(mass, 5)} kg x 9.80665 m/s2 = {short(weight)} kN.",
        f"Optical side {short(optical)} m2, hollow by {short(depth)} mm at its edge.",
    )
    return Answer(values=(mass, weight, optical, depth), working=working)


def _hook_shares(given: Values) -> Answer:
    forces = given.row("forces")
    found = shares(forces)
    mean = math.fsum(forces) / len(forces)
    worst = max(100 * abs(share - 1) for share in found)
    each = ", ".join(f"{100 * share:.1f}" for share in found)
    working = (
        f"Sum {short(math.fsum(forces))} kN over {len(forces)} hooks: mean {short(mean)} kN.",
        f"Shares in % of the mean: {each}.",
    )
    return Answer(values=(worst, mean, math.fsum(forces)), working=working)


def _sling(given: Values) -> Answer:
    weight, legs, angle = given["weight"], given["legs"], given["angle"]
    pull = leg_tension(weight, legs, angle)
    working = (f"{weight:g} kN / ({legs:g} x sin {angle:g} deg) = {short(pull)} kN.",)
    return Answer(values=(pull,), working=working)


def _moment(given: Values) -> Answer:
    masses, levers = given.row("masses"), given.row("levers")
    moment = residual_moment(masses, levers)
    turn = math.fsum(map(mul, masses, levers))
    side = "the side of the levers above 0" if moment > 0 else "the side of the levers below 0"
    working = (
        f"Sum of {len(masses)} masses times levers: {short(turn)} kg m.",
        f"Times 9.80665 m/s2: {short(moment)} N m.",
        f"It turns to {side}." if moment else "It is in balance.",
    )
    return Answer(values=(abs(moment),), working=working)


def _crane_use(given: Values) -> Answer:
    total = given["load"] + given["tackle"]
    use = 100 * total / (given["rated"] * 1000)
    working = (
        f"Load {given['load']:g} kg + tackle {given['tackle']:g} kg = {total:g} kg, "
        f"{short(total * STANDARD_GRAVITY / 1000)} kN.",
        f"Of {given['rated']:g} t: {short(use, 3)} %.",
    )
    return Answer(values=(use, total), working=working)


SUMS = (
    Calculation(
        name="mirror-mass",
        title="Mass of a mirror",
        subject="Mirror and lifting",
        inputs=(
            amount("outer", "Outer diameter", "m", above="0", high="20"),
            amount("hole", "Diameter of the hole", "m", low="0", optional=True),
            amount("thickness", "Thickness", "m", above="0", high="2"),
            amount(
                "radius",
                "Radius of curvature",
                "m",
                low="0",
                high="500",
                optional=True,
                hint="Left out: a flat disc.",
            ),
            amount(
                "density", "Density", "kg/m^3", low="1000", high="9000", hint="Glass-ceramic: 2530."
            ),
        ),
        outputs=(
            output("mass", "Mass", "kg", "0.1"),
            output("weight", "Weight", "kN", "0.01"),
            output("area", "Area of the optical side", "m^2", "0.01"),
            output("sag", "Depth at the edge", "mm", "0.1"),
        ),
        work=_mirror_mass,
        formula="m = rho t 2 pi Rm (ho - hi), Rm = R + t/2, h = Rm - sqrt(Rm^2 - D^2/4)",
        source="Geometry; the density is from memory, a maker's data sheet.",
        care="Weigh it where you can. Pads, pockets and fittings are not in the sum.",
    ),
    Calculation(
        name="hook-shares",
        title="Greatest departure of a hook's share",
        subject="Mirror and lifting",
        inputs=(Input(name="forces", title="Forces on the hooks", unit="kN", row=True),),
        outputs=(
            output("departure", "From the mean", "%", "0.1"),
            output("mean", "Mean", "kN", "0.001"),
            output("total", "Sum", "kN", "0.01"),
        ),
        work=_hook_shares,
        formula="max |Fi / mean F - 1|",
        source="Arithmetic. What departure is allowed is the site's own.",
        care=CARE_LIFT,
    ),
    Calculation(
        name="sling-tension",
        title="Pull in a leg of a sling",
        subject="Mirror and lifting",
        inputs=(
            amount("weight", "Weight", "kN", above="0", high="10000"),
            Input(
                name="legs",
                title="Legs that bear",
                form="whole",
                at_least=STANDARD_LEGS[0],
                at_most=STANDARD_LEGS[1],
                hint="Of a rigid load on four legs, two.",
            ),
            amount("angle", "Angle of the leg to the horizontal", "deg", low="30", high="90"),
        ),
        outputs=(output("tension", "Pull in each leg", "kN", "0.01"),),
        work=_sling,
        formula="F = W / (n sin a)",
        source="Statics. Two legs of four: EN 818-6 and ISO 3056, from memory.",
        care=CARE_LIFT,
    ),
    Calculation(
        name="residual-moment",
        title="Moment left to balance",
        subject="Mirror and lifting",
        inputs=(
            Input(name="masses", title="Masses; taken off below 0", unit="kg", row=True),
            Input(name="levers", title="Levers from the axis", unit="m", row=True),
        ),
        outputs=(output("moment", "Moment left over", "N m", "1"),),
        work=_moment,
        formula="M = g sum(m l)",
        source="Statics.",
        care="A tube out of balance moves when a brake or a pin is freed. Prove it still before anyone is near.",
    ),
    Calculation(
        name="crane-use",
        title="Use of the crane",
        subject="Mirror and lifting",
        inputs=(
            amount("load", "Load", "kg", above="0"),
            amount("tackle", "Spider, hooks and slings", "kg", low="0"),
            amount("rated", "Rated load of the crane", "t", above="0"),
        ),
        outputs=(
            output("use", "Of the rated load", "%", "1"),
            output("total", "Load and tackle", "kg", "1"),
        ),
        work=_crane_use,
        formula="(load + tackle) / rated load",
        source="Arithmetic. What share is allowed is the site's own.",
        care=CARE_LIFT,
    ),
)
