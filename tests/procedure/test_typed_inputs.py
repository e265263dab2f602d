"""What is typed for a calculation: one number, a row, a date, a time, a word."""

from __future__ import annotations

from decimal import Decimal

import pytest

from app.calculations.calculation import Input
from app.procedure.entry import Unreadable
from app.procedure.typed_inputs import in_own_unit, read_input

ROW = Input(name="forces", title="Forces", unit="kN", row=True, at_least=Decimal(0))
DAY = Input(name="date", title="Date", form="date")
TIME = Input(name="clock", title="Time", form="clock")
WORD = Input(name="base", title="Base", form="choice", choices=("NaOH", "KOH"))
COUNT = Input(name="legs", title="Legs", form="whole", at_most=Decimal(8))
LENGTH = Input(name="length", title="Length", unit="mm", above=Decimal(0))

READ = (
    (ROW, "6.81 6,72; 6.66;6.71\n6", "6.81 6.72 6.66 6.71 6"),
    (DAY, "2027-05-06", "20270506"),
    (TIME, "07:30", "450"),
    (TIME, "7:05", "425"),
    (WORD, "KOH", "2"),
    (COUNT, " 3 ", "3"),
    (LENGTH, "2040.50", "2040.50"),
)


@pytest.mark.parametrize(("wanted", "text", "kept"), READ)
def test_what_is_typed_is_kept_as_decimals(wanted: Input, text: str, kept: str) -> None:
    found = read_input(wanted, text)

    assert not isinstance(found, Unreadable)
    assert " ".join(map(str, found)) == kept


@pytest.mark.parametrize(("wanted", "text"), [(DAY, "2027-05-06"), (TIME, "07:30"), (WORD, "KOH"), (LENGTH, "9.0")])  # fmt: skip
def test_what_is_kept_is_shown_as_it_was_typed(wanted: Input, text: str) -> None:
    found = read_input(wanted, text)

    assert not isinstance(found, Unreadable)
    assert wanted.shown(found[0]) == text


NOT_READ = (
    (ROW, "", "Forces: Nothing was typed. Type the value in kN."),
    (ROW, "6.81 6,720", 'Forces: "6,720" can be read two ways. Type 6.720 or 6720.'),
    (ROW, "6.81 -1", "Forces: -1 kN. This sum is good for at least 0 kN."),
    (ROW, "1 " * 201, "Forces: 201 values are more than 200."),
    (DAY, "6.5.2027", "Date: Type the day as 2027-05-06."),
    (DAY, "2027-13-01", "Date: there is no day 2027-13-01."),
    (TIME, "24:00", "Time: Type the time as 07:30."),
    (WORD, "koh", "Base: Choose one of NaOH, KOH."),
    (COUNT, "2.5", 'Legs: "2.5" is not a whole number. Type digits only.'),
    (COUNT, "9", "Legs: 9. This sum is good for at most 8."),
    (LENGTH, "0", "Length: 0 mm. This sum is good for above 0 mm."),
    (LENGTH, "3 m", 'Length: Use mm here. You typed "m". 3 m is not changed for you.'),
    (LENGTH, "1e3", 'Length: "1e3" is not a number as written here.'),
)


@pytest.mark.parametrize(("wanted", "text", "sentence"), NOT_READ)
def test_what_cannot_be_used_is_said(wanted: Input, text: str, sentence: str) -> None:
    found = read_input(wanted, text)

    assert isinstance(found, Unreadable)
    assert found.sentence.startswith(sentence)


@pytest.mark.parametrize(
    ("text", "own"),
    [
        ("2.04 m", "2040"),
        ("2040", "2040"),
        ("2 kg", "2 kg"),
        ("1,5 m", "1,5 m"),
        ("0.1 inch", "2.54"),
        ("1 mile / 3", "1 mile / 3"),
        ("1 arcmin", "1 arcmin"),
        ("7 point", "2.469444444444"),
    ],
)
def test_a_value_with_a_unit_of_the_same_dimension(text: str, own: str) -> None:
    assert in_own_unit(LENGTH, text) == own
