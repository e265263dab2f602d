from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calculations.quantity import Limits, Quantity, is_unit, same_dimension

# NIST SP 811 (2008), appendix B.8 (values from memory; lbf ft also found in a second table of SI
# factors). Compared to the digits that the appendix prints: 7 where it rounds, all where it is exact.
NIST_SP_811 = [
    ("1 lbf ft", "N m", "1.355818"),
    ("1 lbf", "N", "4.448222"),
    ("1 psi", "kPa", "6.894757"),
    ("1 lb", "kg", "0.4535924"),
    ("1 inch", "mm", "25.4"),  # exact
    ("1 ft/min", "m/s", "0.00508"),  # exact
    ("1 mile/hour", "m/s", "0.44704"),  # exact
    ("1 kgf", "N", "9.80665"),  # exact
    ("1 bar", "Pa", "100000"),  # exact
    ("1 mbar", "Pa", "100"),  # exact
    ("1 gallon", "l", "3.785412"),
    ("1 hour", "s", "3600"),  # exact
]

# By definition of the unit (SI Brochure, 9th edition): exact.
BY_DEFINITION = [
    ("0 degC", "K", "273.15"),
    ("18 degC", "K", "291.15"),
    ("1 l", "m^3", "0.001"),
    ("40.57 kN", "N", "40570"),
    ("10 min", "s", "600"),
    ("0.5 %", "ppm", "5000"),
    ("1 N·m", "N m", "1"),
    ("0.3 m/min", "mm/s", "5"),
]


@pytest.mark.parametrize(("given_as", "unit", "published"), NIST_SP_811)
def test_conversion_agrees_with_the_published_factors(
    given_as: str, unit: str, published: str
) -> None:
    last_digit = Decimal(1).scaleb(int(Decimal(published).as_tuple().exponent))

    found = Quantity.parse(given_as).to(unit).value

    # Half a unit of the last printed digit: what the appendix rounds away.
    assert abs(found - Decimal(published)) <= last_digit / 2


@pytest.mark.parametrize(("given_as", "unit", "exact"), BY_DEFINITION)
def test_conversion_by_definition_is_exact(given_as: str, unit: str, exact: str) -> None:
    assert Quantity.parse(given_as).to(unit).value == Decimal(exact)


def test_a_pound_foot_is_exact_to_its_last_digit() -> None:
    # 0.3048 m by 0.45359237 kg by 9.80665 m/s2, multiplied by hand: all three are exact.
    assert Quantity.parse("1 lbf ft").to("N m").value == Decimal("1.3558179483314004")


@given(st.decimals("-1e6", "1e6", places=3), st.sampled_from(["lbf ft", "kN m", "N mm"]))
def test_there_and_back_is_the_same_quantity(value: Decimal, unit: str) -> None:
    start = Quantity(value, "N m")

    back = start.to(unit).to("N m")

    assert abs(back.value - value) <= abs(value) * Decimal("1e-26")


def test_the_digits_stay_as_written() -> None:
    assert str(Quantity.parse("9.0 m/s")) == "9.0 m/s"
    assert str(Quantity(Decimal("1E+3"), "kg")) == "1000 kg"


@pytest.mark.parametrize(
    "text", ["9.0", "m/s", "9,0 m/s", "1e3 m", "NaN m", "9.0 fathomz", "1_0 m", "٣ m", "", "9 m; x"]
)
def test_what_is_no_number_with_a_unit_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a number with a unit\.$"):
        Quantity.parse(text)


def test_a_torque_cannot_be_given_as_a_force() -> None:
    with pytest.raises(ValueError, match=r"^44 N m cannot be given in kN\.$"):
        Quantity.parse("44 N m").to("kN")


def test_units_are_known_by_what_they_measure() -> None:
    assert same_dimension("kN", "lbf")
    assert not same_dimension("kN", "N m")
    assert not same_dimension("kN", "knots of rope")
    assert is_unit("Mohm cm")
    assert not is_unit("")
    assert not is_unit("__import__('os')")


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("38.5", "42.6", "38.5 to 42.6 kN"),
        (None, "9.0", "at most 9.0 kN"),
        ("5", None, "at least 5 kN"),
        (None, None, ""),
    ],
)
def test_limits_in_words(low: str | None, high: str | None, words: str) -> None:
    limits = Limits(
        None if low is None else Decimal(low), None if high is None else Decimal(high), "kN"
    )

    assert limits.words() == words


def test_both_ends_belong_to_the_limits() -> None:
    limits = Limits(Decimal("38.5"), Decimal("42.6"), "kN")

    assert limits.holds(Decimal("38.50"))
    assert limits.holds(Decimal("42.6"))
    assert not limits.holds(Decimal("38.49"))
    assert not limits.holds(Decimal("42.61"))
