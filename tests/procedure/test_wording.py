"""How values, lengths of time and lists are said."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest

from app.calculations.quantity import Limits
from app.procedure.wording import against, clock, in_words, listed, span, span_up

LIMITED = (
    ("0.62", None, "0.5", "0.62 mm is above the limit, 0.50 mm"),
    ("0.5", None, "0.5", "0.5 mm is within the limits, at most 0.5 mm"),
    ("21.9", "22.8", None, "21.9 mm is below the limit, 22.8 mm"),
    ("23", "22.8", "24", "23.0 mm is within the limits, 22.8 to 24.0 mm"),
    ("3", None, None, "3 mm is within the limits"),
)


@pytest.mark.parametrize(("value", "low", "high", "said"), LIMITED)
def test_value_unit_and_limit_have_equal_digits(
    value: str, low: str | None, high: str | None, said: str
) -> None:
    at_least, at_most = (None if end is None else Decimal(end) for end in (low, high))

    assert against(Decimal(value), Limits(at_least, at_most, "mm")) == said


@pytest.mark.parametrize(
    ("seconds", "down", "up"),
    [(0, "0 s", "0 s"), (0.4, "0 s", "1 s"), (678, "11 min 18 s", "11 min 18 s"),
     (7200, "2 h", "2 h"), (3661.5, "1 h 1 min 1 s", "1 h 1 min 2 s")],
)  # fmt: skip
def test_a_length_of_time(seconds: float, down: str, up: str) -> None:
    length = timedelta(seconds=seconds)

    assert (span(length), span_up(length)) == (down, up)


def test_a_clock_time_is_said_in_its_zone() -> None:
    at = datetime(2027, 5, 8, 12, 53, 25, tzinfo=UTC)

    assert clock(at, timezone(timedelta(hours=-2))) == "10:53:25"
    assert clock(at, UTC) == "12:53:25 UTC"


@pytest.mark.parametrize(
    ("count", "said"),
    [(0, ""), (1, "B1"), (2, "B1 and B2"), (3, "B1, B2 and B3"), (6, "B1, B2, B3, B4, B5 and B6"),
     (7, "B1, B2, B3, B4, B5 and 2 more")],
)  # fmt: skip
def test_names_in_a_list(count: int, said: str) -> None:
    assert listed([f"B{n}" for n in range(1, count + 1)]) == said


def test_small_numbers_are_words() -> None:
    assert (in_words(6), in_words(9), in_words(54)) == ("six", "nine", "54")
