"""Rounding never changes on which side of a limit a value lies."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calculations.rounding import FINEST, level, rounded

TENTH = Decimal("0.1")
ROUNDED = (
    ("12.12", None, "12.1", "12.12"),  # as 12.1 it would look good
    ("12.10", None, "12.1", "12.1"),
    ("12.06", None, "12.06", "12.06"),  # as 12.1 it would look out
    ("12.44", None, "12.1", "12.4"),
    ("9.96", "10", None, "9.96"),
    ("9.94", "10", None, "9.9"),
    ("0.25", None, None, "0.2"),  # half to even
    ("0.35", None, None, "0.4"),
)


@pytest.mark.parametrize(("value", "low", "high", "shown"), ROUNDED)
def test_a_breach_keeps_the_digits_that_show_it(
    value: str, low: str | None, high: str | None, shown: str
) -> None:
    at_least, at_most = (None if end is None else Decimal(end) for end in (low, high))

    assert str(rounded(Decimal(value), TENTH, at_least=at_least, at_most=at_most)) == shown


def test_the_noise_of_a_float_is_no_breach() -> None:
    assert rounded(20.000000000000004, TENTH, at_most=Decimal(20)) == Decimal(20)


def test_values_that_are_compared_have_equal_digits() -> None:
    assert level(Decimal("0.62"), Decimal("0.5"), Decimal(1)) == ("0.62", "0.50", "1.00")


NUMBERS = st.decimals(min_value=-1000, max_value=1000, places=9)


@given(value=NUMBERS, at_most=NUMBERS)
def test_rounded_values_keep_their_side(value: Decimal, at_most: Decimal) -> None:
    shown = rounded(value, TENTH, at_most=at_most)

    assert (shown > at_most) == (value > at_most)
    assert abs(shown - value) <= TENTH / 2 + FINEST
