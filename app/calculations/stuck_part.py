"""Whether a part still holds the load down: the hooks pull more than it weighs, and it does not move."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from app.calculations.calculation import Answer, Calculation, Input, Output, Values, amount
from app.calculations.rounding import level, places, rounded

EXCESS_SHARE = Decimal("0.02")  # of the weight; common practice, no source
LEAST_MOVE_MM = Decimal("0.2")  # below this it has not moved; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """What the hooks pull beyond the weight, what they may, and whether a part is stuck."""

    excess: Decimal  # may be negative
    allowed: Decimal
    stuck: bool


def stuck_part(total: Decimal, weight: Decimal, displacement_mm: Decimal) -> Pull:
    """Return whether a part is stuck: sum F - W > 2 % of W, and the mirror moved less than 0.2 mm.

    Both must be so: a pull beyond the weight on a mirror that has left its supports is a fault of
    the cells, and a mirror at rest under less than its weight is as it should be.

    Args:
        total: The sum of what the hooks pull, 0 or more.
        weight: What hangs on them, above 0, in the same unit.
        displacement_mm: How far the mirror has moved up, in mm.

    Returns:
        The pull beyond the weight, and the pull allowed, in the unit of the weight.

    Raises:
        ValueError: the weight is not above 0.

    Source: common practice, no source.
    """
    if weight <= 0:
        raise ValueError(f"The weight is {weight}; it must be above 0.")
    excess, allowed = total - weight, EXCESS_SHARE * weight
    stuck = excess > allowed and displacement_mm < LEAST_MOVE_MM
    return Pull(excess=excess, allowed=allowed, stuck=stuck)


def _stuck_part(given: Values) -> Answer:
    weight, moved = given.exact("weight"), given.exact("displacement")
    total = sum(given.exact_row("forces"), Decimal(0))
    pull = stuck_part(total, weight, moved)
    shown_total, shown_weight, excess = level(total, weight, pull.excess)
    allowed = _allowed(pull.excess, pull.allowed)
    shown_moved, least = level(moved, LEAST_MOVE_MM)
    working = (
        f"The hooks pull {shown_total} kN, the mirror weighs {shown_weight} kN.",
        f"Pull beyond the weight: {excess} kN. Allowed: 2 %, {allowed} kN.",
        f"The mirror moved {shown_moved} mm. Below {least} mm it has not moved.",
    )
    held = "A part still holds the mirror. Lower to the supports, and look for it."
    free = "No part holds the mirror."
    return Answer(
        values=(pull.excess, pull.allowed),
        working=working,
        passes=not pull.stuck,
        sentence=held if pull.stuck else free,
    )


def _allowed(excess: Decimal, allowed: Decimal) -> str:
    """Return the pull allowed with the digits of the excess, unless that would hide a breach."""
    digits = Decimal(1).scaleb(-places(excess))
    shown = rounded(allowed, digits, at_least=excess, at_most=excess)
    return f"{shown:f}"


SUMS = (
    Calculation(
        name="stuck-part",
        title="Pull beyond the weight",
        subject="Mirror and lifting",
        inputs=(
            Input(name="forces", title="Forces on the hooks", unit="kN", row=True),
            amount("weight", "Weight", "kN", above="0"),
            amount("displacement", "Movement of the mirror", "mm"),
        ),
        outputs=(
            Output(name="excess", title="Pull beyond the weight", unit="kN"),
            Output(name="allowed", title="Pull allowed", unit="kN"),
        ),
        work=_stuck_part,
        formula="stuck: sum F - W > 2 % of W, and moved less than 0.2 mm",
        source="Common practice, no source.",
        care="If it is stuck, lower to the supports before anyone looks.",
    ),
)
