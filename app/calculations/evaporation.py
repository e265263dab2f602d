"""Rings of filaments before a mirror: how thick the film becomes from its middle to its rim."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.constants import ALUMINIUM_DENSITY
from app.calculations.mirror import Meniscus, sag
from app.calculations.rounding import short

AZIMUTHS = 24  # at which a circle is looked at, between one charge of a ring and the next
CIRCLES = 24  # on which the mirror is looked at, by equal areas
GRAM, NANO = 1e-3, 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """One ring of filaments: its radius in m, how many, the charge of each in kg."""

    radius: float
    count: int
    charge: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """The rings in one plane, before the hollow side of a mirror; lengths in m."""

    rings: tuple[Ring, ...]
    distance: float  # from the rings' plane to the mirror's vertex
    curvature: float  # radius of curvature of the mirror; 0: flat
    density: float  # of the film, kg/m3

    def thickness(self, radius: float, azimuth: float) -> float:
        """Return the thickness of the film at one place of the mirror, m.

        Each charge is a point that sends its metal evenly to all sides, and every atom stays where
        it lands: t = sum of m cos(angle) / (4 pi rho d^2).

        Args:
            radius: Of the place, from the mirror's axis, m.
            azimuth: Of the place, radians, from where each ring has a filament.

        Source: Knudsen's cosine law for a point source, as in Holland, Vacuum Deposition of Thin
            Films (1956), ch. 5 (from memory). Departs from a chamber by shields, gas, and filaments
            that send less sideways; a test shot sets the scale.
        """
        slope = radius / self.curvature if self.curvature else 0.0
        up = self.distance - (sag(2 * radius, self.curvature) if self.curvature else 0.0)
        if up <= 0:
            raise ValueError("The rim of the mirror reaches the rings. Measure the distance again.")
        upright, total = math.sqrt(1 - slope**2), 0.0
        for ring in self.rings:
            for n in range(ring.count):
                angle = 2 * math.pi * n / ring.count - azimuth
                across, along = (
                    ring.radius * math.sin(angle),
                    ring.radius * math.cos(angle) - radius,
                )
                squared = across**2 + along**2 + up**2
                facing = max(0.0, up * upright - along * slope) / math.sqrt(squared)
                total += ring.charge * facing / squared
        return total / (4 * math.pi * self.density)

    def circle(self, radius: float) -> list[float]:
        """Return the thicknesses along a circle, nm, from one filament of the fullest ring to the next."""
        turn = 2 * math.pi / max(ring.count for ring in self.rings)
        return [self.thickness(radius, turn * n / AZIMUTHS) / NANO for n in range(AZIMUTHS)]


def _rings(given: Values) -> tuple[Ring, ...]:
    radii, counts, charges = (given.row(each) for each in ("radii", "counts", "charges"))
    if not len(radii) == len(counts) == len(charges):
        raise ValueError(
            f"{len(radii)} radii, {len(counts)} counts and {len(charges)} charges: "
            "each ring has one of each."
        )
    if any(count != int(count) or not 0 < count <= 400 for count in counts):
        raise ValueError("A ring has 1 to 400 filaments.")
    if min(charges) < 0 or min(radii) < 0:
        raise ValueError("A radius or a charge is below 0.")
    return tuple(
        Ring(radius=r, count=int(n), charge=m * GRAM)
        for r, n, m in zip(radii, counts, charges, strict=True)
    )


def _mirror(given: Values) -> Meniscus:
    body = Meniscus(
        outer=given["outer"],
        hole=given.get("hole", 0.0),
        thickness=0.0,
        radius=given.get("curvature", 0.0),
    )
    if body.hole >= body.outer:
        raise ValueError("The hole is as wide as the mirror.")
    if body.radius and 2 * body.radius < body.outer:
        raise ValueError("A sphere of this radius is narrower than the mirror.")
    return body


def _evaporation(given: Values) -> Answer:
    body, density = _mirror(given), given.get("density", ALUMINIUM_DENSITY)
    chamber = Chamber(
        rings=_rings(given), distance=given["distance"], curvature=body.radius, density=density
    )
    found = [chamber.circle(radius) for radius in _circles(body.outer / 2, body.hole / 2)]
    means = [math.fsum(row) / len(row) for row in found]
    mean = math.fsum(means) / len(means)
    least, most = min(map(min, found)), max(map(max, found))
    loaded = math.fsum(ring.count * ring.charge for ring in chamber.rings) / GRAM
    landed = mean * NANO * density * body.area(body.radius) / GRAM
    charges = " + ".join(f"{ring.count} x {ring.charge / GRAM:g}" for ring in chamber.rings)
    working = (
        f"Loaded: {charges} = {short(loaded)} g.",
        f"At the inner edge {short(means[0])} nm, at the rim {short(means[-1])} nm, mean {short(mean)} nm.",
        f"On the mirror {short(landed, 3)} g, {short(100 * landed / loaded, 2)} % of what was loaded.",
    )
    values = (mean, least, most, 100 * (most - least) / mean, 100 * landed / loaded)
    return Answer(values=values, working=working)


def _circles(outer: float, inner: float) -> list[float]:
    """Return radii from the inner edge to the rim that stand for equal areas, both edges among them."""
    low, high = inner**2, outer**2
    return [math.sqrt(low + (high - low) * n / CIRCLES) for n in range(CIRCLES + 1)]


SUMS = (
    Calculation(
        name="ring-evaporation",
        title="Film from rings of filaments",
        subject="Coating",
        inputs=(
            Input(name="radii", title="Radii of the rings", unit="m", row=True),
            Input(name="counts", title="Filaments on each ring", row=True),
            Input(name="charges", title="Charge of one filament, ring by ring", unit="g", row=True),
            amount("distance", "Rings to the mirror's vertex", "m", above="0", high="20"),
            amount("outer", "Outer diameter of the mirror", "m", above="0", high="20"),
            amount("hole", "Diameter of its hole", "m", low="0", optional=True),
            amount(
                "curvature",
                "Radius of curvature",
                "m",
                low="0",
                optional=True,
                hint="Left out: flat.",
            ),
            amount(
                "density",
                "Density of the film",
                "kg/m^3",
                low="500",
                high="23000",
                optional=True,
                hint="Left out: 2700, aluminium in bulk.",
            ),
        ),
        outputs=(
            output("mean", "Mean thickness", "nm", "0.1"),
            output("least", "Least", "nm", "0.1"),
            output("greatest", "Greatest", "nm", "0.1"),
            output("spread", "Greatest less least, over the mean", "%", "0.1"),
            output("use", "Of the charge that lands on the mirror", "%", "0.1"),
        ),
        work=_evaporation,
        formula="t = sum of m cos(angle) / (4 pi rho d^2)",
        source="Point sources that send evenly to all sides; Holland (1956), from memory.",
        care="An ideal chamber. A test shot on glass sets the scale before the mirror goes in.",
    ),
)
