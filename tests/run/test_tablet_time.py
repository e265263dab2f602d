"""When an entry was made that reached the recorder later."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from app.run.tablet_time import TabletTime, reckoned

MADE = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def test_a_clock_that_is_two_hours_slow_does_not_move_the_estimate() -> None:
    said = TabletTime(made=MADE, sent=MADE + 5 * MINUTE, age=5 * MINUTE)

    times = reckoned(said, MADE + timedelta(hours=2, minutes=5))

    assert times["offset_ms"] == "7200000"
    assert times["estimated"] == "2026-11-25T12:00:00.000+00:00"
    assert (times["by"], times["late"], times["jumped"]) == ("age", "yes", "no")


def test_after_a_reload_the_offset_moves_the_tablets_time() -> None:
    said = TabletTime(made=MADE, sent=MADE + 5 * MINUTE, age=None)

    times = reckoned(said, MADE + 4 * MINUTE)  # the tablet's clock is a minute fast

    assert times["offset_ms"] == "-60000"
    assert times["estimated"] == "2026-11-25T09:59:00.000+00:00"
    assert times["by"] == "clock"


def test_an_entry_that_arrives_at_once_is_not_late() -> None:
    said = TabletTime(made=MADE, sent=MADE, age=timedelta(0))

    assert reckoned(said, MADE + timedelta(seconds=1))["late"] == "no"


def test_a_page_whose_clock_stood_still_while_the_tablet_slept_is_told_and_the_older_time_counts() -> (
    None
):
    said = TabletTime(made=MADE, sent=MADE + 30 * MINUTE, age=MINUTE)

    times = reckoned(said, MADE + 30 * MINUTE)

    assert times["jumped"] == "yes"
    assert times["estimated"] == "2026-11-25T10:00:00.000+00:00"


def test_no_estimate_lies_after_the_receipt() -> None:
    said = TabletTime(made=MADE + 9 * MINUTE, sent=MADE, age=None)

    assert reckoned(said, MADE)["estimated"] == "2026-11-25T10:00:00.000+00:00"
