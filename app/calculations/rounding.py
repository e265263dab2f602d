"""Numbers cut to the digits that a person can use, without ever changing on which side of a limit they lie."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal

FINEST = Decimal("1e-9")  # below this, what is left of a float is noise of the machine


def places(number: Decimal) -> int:
    """Return how many decimal places a number was written with."""
    exponent = number.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def padded(number: Decimal, least_places: int = 0) -> str:
    """Return a number as text, never with an exponent, with at least so many decimal places."""
    return f"{number:.{max(places(number), least_places)}f}"


def level(*numbers: Decimal) -> tuple[str, ...]:
    """Return numbers as text with equal digits after the mark, none cut: 0.62 and 0.5 give 0.62, 0.50."""
    most = max(places(number) for number in numbers)
    return tuple(padded(number, most) for number in numbers)


def rounded(
    value: Decimal | float,
    resolution: Decimal,
    *,
    at_least: Decimal | None = None,
    at_most: Decimal | None = None,
) -> Decimal:
    """Return the value rounded half to even, with more digits wherever rounding would hide a breach.

    12.12 with a limit of 12.1 and a resolution of 0.1 stays 12.12: as 12.1 it would look good. In
    the same way a good value never comes out beyond its limit.

    Args:
        value: Any finite number; a float is taken to nine decimal places.
        resolution: A power of ten, the step to round to: 0.1, 0.01.
        at_least: The lower limit, which belongs to what is good, or None.
        at_most: The upper limit, which belongs to what is good, or None.
    """
    exact = Decimal(value).quantize(FINEST) if isinstance(value, float) else value
    side = _side(exact, at_least, at_most)
    step = resolution
    while step > FINEST:
        cut = exact.quantize(step, rounding=ROUND_HALF_EVEN)
        if _side(cut, at_least, at_most) == side:
            return cut
        step /= 10
    return exact.quantize(FINEST)


def short(value: float, digits: int = 4) -> str:
    """Return a value for the working: so many digits that count, no exponent, no whole digit lost."""
    if not value or not math.isfinite(value):
        return f"{value:g}"
    after = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{after}f}"


def clock(minutes: float) -> str:
    """Return minutes after midnight as `06:31`; a day has 24 hours, whatever came before."""
    whole = math.floor(minutes + 0.5) % (24 * 60)
    return f"{whole // 60:02d}:{whole % 60:02d}"


def _side(value: Decimal, at_least: Decimal | None, at_most: Decimal | None) -> int:
    if at_least is not None and value < at_least:
        return -1
    return 1 if at_most is not None and value > at_most else 0
