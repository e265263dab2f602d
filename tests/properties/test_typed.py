"""What people may type as a number: laws that hold for every text."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from app.procedure.entry import Unreadable
from app.procedure.typed import read_number, read_whole

WHOLE_PART = st.from_regex(r"[0-9]{1,9}", fullmatch=True).filter(str.isascii)
FRACTION = st.from_regex(r"[0-9]{1,6}", fullmatch=True).filter(str.isascii)
ALLOWED = set("0123456789.,- ")


@given(sign=st.sampled_from(["", "-"]), whole=WHOLE_PART, fraction=FRACTION)
def test_a_point_is_read_with_every_digit_kept(sign: str, whole: str, fraction: str) -> None:
    found = read_number(f"{sign}{whole}.{fraction}")

    assert isinstance(found, Decimal)
    assert found == Decimal(f"{sign}{whole}.{fraction}")
    assert f"{found:f}".partition(".")[2] == fraction


@given(whole=WHOLE_PART, fraction=FRACTION)
def test_a_comma_is_a_point_unless_three_digits_follow(whole: str, fraction: str) -> None:
    found = read_number(f"{whole},{fraction}")

    if len(fraction) == 3:
        assert isinstance(found, Unreadable)
        assert found.code == "reading.ambiguous"
    else:
        assert found == Decimal(f"{whole}.{fraction}")


@given(text=st.text(max_size=24))
def test_nothing_else_is_a_number(text: str) -> None:
    found = read_number(text)

    if isinstance(found, Decimal):
        assert found.is_finite()
        assert set(text) <= ALLOWED
        assert sum(text.count(mark) for mark in ".,") <= 1
        assert text.strip(" ").lstrip("-")[0].isdigit()


@given(text=st.text(alphabet="0123456789٠١٢३४５x.,-+_ \n", max_size=12))
def test_a_whole_number_is_digits_alone(text: str) -> None:
    found = read_whole(text)
    digits = text.strip(" ")

    good = 1 <= len(digits) <= 9 and all(c in "0123456789" for c in digits)
    assert isinstance(found, int) is good
