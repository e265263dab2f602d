"""Times of the record: one zone, said once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from app.record.clock import clock_of, span_words

NINE = datetime(2026, 5, 6, 9, 20, 10, tzinfo=UTC)


def test_the_zone_is_said_once_with_the_same_moment_in_utc() -> None:
    clock = clock_of("Etc/GMT+2", NINE, NINE)

    assert clock.words(NINE) == (
        "Times are local to the site, UTC−02:00, by the server's clock. "
        "6 May 2026 07:20:10 here is 6 May 2026 09:20:10 UTC."
    )


def test_a_run_of_one_day_leaves_the_day_out() -> None:
    assert clock_of("Etc/GMT+2", NINE, NINE + timedelta(hours=8)).when(NINE) == "07:20:10"


def test_a_run_over_local_midnight_names_the_day() -> None:
    late = datetime(2026, 5, 7, 1, 30, tzinfo=UTC)
    over = late + timedelta(hours=1)

    assert clock_of("Etc/GMT+2", late, over).when(late) == "6 May 23:30:00"
    assert clock_of("Etc/UTC", late, over).when(late) == "01:30:00"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (59, "59 s"), (260, "4 min 20 s"), (3600, "1 h 00 min"), (25920, "7 h 12 min")],
)
def test_spans_are_told_in_the_units_that_people_use(seconds: int, words: str) -> None:
    assert span_words(timedelta(seconds=seconds)) == words
