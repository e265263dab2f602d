"""Where the load on a ring of cells has its centre, from what the cells read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True, kw_only=True)
class Centre:
    """The centre of load, in the unit of the radius: along the zero direction, and across it."""

    along: float
    across: float

    @property
    def offset(self) -> float:
        """Return the distance from the middle of the ring."""
        return math.hypot(self.along, self.across)


def load_centre(forces: Sequence[float], angles_deg: Sequence[float], radius: float) -> Centre:
    """Return the centre of the vertical load on cells that stand on one circle.

    The moments of the forces about two axes, over their sum: x = r sum(F cos a) / sum(F), and y
    likewise with the sine.

    Args:
        forces: One for each cell, all in one unit of force; pulling up or pressing down, not both.
        angles_deg: Where each cell stands, in degrees from the zero direction; `across` grows in
            the sense in which the angles do. Any range.
        radius: Of the circle, above 0, in any unit of length.

    Returns:
        The centre, in the unit of the radius.

    Raises:
        ValueError: there are not as many angles as forces, or the forces sum to nothing.

    Source: equilibrium of moments of parallel forces, statics (from memory).
    """
    if len(forces) != len(angles_deg):
        raise ValueError(f"{len(forces)} forces stand against {len(angles_deg)} angles.")
    total = math.fsum(forces)
    if not total > 0:
        raise ValueError("The cells carry nothing: their load has no centre.")
    turned = [math.radians(angle) for angle in angles_deg]
    along = math.fsum(f * math.cos(a) for f, a in zip(forces, turned, strict=True))
    across = math.fsum(f * math.sin(a) for f, a in zip(forces, turned, strict=True))
    return Centre(along=radius * along / total, across=radius * across / total)


def _load_centre(given: Values) -> Answer:
    forces, radius = given.exact_row("forces"), given["radius"]
    centre = load_centre(given.row("forces"), given.row("angles"), radius)
    working = (
        f"Sum of {len(forces)} cells: {sum(forces)} kN on a radius of {given.exact('radius'):f} mm.",
        f"Load centre: {centre.across:.1f} mm to the right of the datum line, "
        f"{centre.along:.1f} mm towards the datum.",
    )
    values = (centre.offset, centre.along, centre.across)
    return Answer(values=values, working=working)


SUMS = (
    Calculation(
        name="load-centre",
        title="Load centre",
        subject="Mirror and lifting",
        inputs=(
            Input(name="forces", title="Forces on the cells", unit="kN", row=True),
            Input(name="angles", title="Angles of the cells, clockwise", unit="deg", row=True),
            amount("radius", "Radius of the circle", "mm", above="0"),
        ),
        outputs=(
            output("offset", "Distance from the middle", "mm", "0.1"),
            output("along", "Towards the datum", "mm", "0.1"),
            output("across", "To the right of the datum line", "mm", "0.1"),
        ),
        work=_load_centre,
        formula="x = r sum(F cos a) / sum F, y = r sum(F sin a) / sum F, e = sqrt(x^2 + y^2)",
        source="Statics of parallel forces, from memory.",
        care="Zero the cells first. What is allowed is the site's own.",
    ),
)
