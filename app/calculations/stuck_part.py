"""Whether a part still holds the load down: the hooks pull more than it weighs, and it does not move."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

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
