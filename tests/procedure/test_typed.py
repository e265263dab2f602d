"""Numbers as people type them, and what is said of those that cannot be read."""

from __future__ import annotations

from decimal import Decimal

import pytest

from app.procedure.entry import Unreadable
from app.procedure.typed import read_number, read_whole

READ = (
    ("24.0", "24.0"),
    ("24,0", "24.0"),
    ("0.50", "0.50"),
    ("-2.35", "-2.35"),
    ("1234", "1234"),
    ("1234.567", "1234.567"),
    (" 6.81 ", "6.81"),
    ("999999999.999999", "999999999.999999"),
)
NOT_READ = (
    ("", "reading.empty", "Nothing was typed. Type the value in mm. Nothing was saved."),
    ("1,234", "reading.ambiguous", '"1,234" can be read two ways. Type 1.234 or 1234.'),
    ("0.5 in", "reading.unit", 'Use mm here. You typed "in". 0.5 in is not changed for you.'),
    ("0.5mm", "reading.unit", "Type the number alone: 0.5. mm stands there already."),
    (
        "NaN",
        "reading.unreadable",
        '"NaN" is not a number as written here. '
        "Type up to 9 digits, one decimal mark, up to 6 digits. Nothing was saved.",
    ),
)
REFUSED = (
    "1e3", "Infinity", "1_0", "٣", "３", "1.234,5", "1,234.5", "1 234", "+1", ".5", "5.", "--1",
    "1234567890", "0.1234567", "1\n", "1\n2", "−1", "½",
)  # fmt: skip


@pytest.mark.parametrize(("typed", "kept"), READ)
def test_a_number_is_read_with_its_digits(typed: str, kept: str) -> None:
    found = read_number(typed, "mm")

    assert isinstance(found, Decimal)
    assert f"{found:f}" == kept


@pytest.mark.parametrize(("typed", "code", "sentence"), NOT_READ)
def test_what_cannot_be_read_is_told(typed: str, code: str, sentence: str) -> None:
    assert read_number(typed, "mm") == Unreadable(code=code, sentence=sentence)


@pytest.mark.parametrize("typed", REFUSED)
def test_nothing_is_guessed(typed: str) -> None:
    assert isinstance(read_number(typed, "mm"), Unreadable)


@pytest.mark.parametrize(("typed", "kept"), [("0", 0), ("42", 42), (" 21 ", 21), ("007", 7)])
def test_a_whole_number_is_read(typed: str, kept: int) -> None:
    assert read_whole(typed) == kept


@pytest.mark.parametrize("typed", ["", "4.0", "-1", "4,0", "٤", "1e1", "1234567890", "four"])
def test_a_count_is_whole(typed: str) -> None:
    assert isinstance(read_whole(typed, "brackets"), Unreadable)
