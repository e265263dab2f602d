"""A reading taken again and again: too early, in time, too late, drifting, out of limit."""

from __future__ import annotations

import pytest

from app.procedure.drawing import Trend
from tests.procedure.kinds.stand import Stand, step_of, told

KEYS = 'reading = "pressure"\nunit = "mbar"\nat_most = 1.0\nevery = "30 min"\nlate = "10 min"\n'
DRIFT = f'{KEYS}drift = "0.2"\ntimes = 3'


def read(*values: str, apart: float = 30, keys: str = DRIFT) -> Stand:
    stand = Stand(step_of("trend", keys))
    for number, value in enumerate(values, start=1):
        if number > 1:
            stand.wait(minutes=apart)
        stand.enter({"value": value}, str(number))
    return stand


def test_a_reading_before_its_time_is_refused() -> None:
    stand = read("0.5")
    stand.wait(minutes=29, seconds=30)

    refused = stand.refused({"value": "0.5"}, "2")

    assert refused.code == "trend.early"
    assert refused.sentence == (
        "Not yet. Wait 30 s. The next reading is due at 10:53:25. Nothing was saved."
    )


def test_three_in_a_row_complete_it() -> None:
    assert read("0.5", "0.6", "0.5").missing() == ""
    assert read("0.5", "0.6").missing() == ("1 more good reading in a row, 30 min to 40 min apart.")


def test_the_latest_decides() -> None:
    stand = read("0.5", "0.6", "0.7", "1.2")

    assert stand.missing().startswith("1.2 mbar is above the limit, 1.0 mbar.")


def test_a_value_out_of_limit_is_kept_and_ends_the_row() -> None:
    stand = read("0.9", "1.1")

    assert stand.so_far()[-1].verdict == "out"
    assert stand.card().kind_line == "Trend. 0 of 3 in a row"


def test_a_drift_is_kept_and_said() -> None:
    stand = read("0.3", "0.6")

    assert stand.so_far()[-1].saying == (
        "It changed from 0.3 to 0.6 mbar: 0.3 mbar is above the limit, 0.2 mbar. "
        "Read again when it is time, or report it."
    )
    assert read("0.3", "0.5").so_far()[-1].verdict == "good"  # the limit belongs to what is good


@pytest.mark.parametrize(("apart", "begins"), [(40, False), (41, True)])
def test_a_reading_that_comes_too_late_begins_the_row_again(apart: float, begins: bool) -> None:
    stand = read("0.5", "0.5", "0.5", apart=apart)

    assert ("the row begins again" in stand.so_far()[-1].saying) is begins
    assert bool(stand.missing()) is begins


def test_only_the_next_reading_is_taken() -> None:
    assert read("0.5").refused({"value": "0.5"}, "5").code == "trend.part"


@pytest.mark.parametrize(
    ("value", "code"), [("0.5 bar", "reading.unit"), ("x", "reading.unreadable")]
)
def test_what_is_no_number_in_its_unit_is_not_kept(value: str, code: str) -> None:
    assert Stand(step_of("trend", DRIFT)).refused({"value": value}, "1").code == code


def test_every_reading_goes_to_the_board() -> None:
    found = Stand(step_of("trend", DRIFT)).good({"value": "0.5"}, "1")

    assert found.readings["pressure"].value == "0.5"


def test_a_corrected_reading_keeps_its_time() -> None:
    stand = read("0.5", "0.6")
    later = stand.now
    stand.now = stand.so_far()[0].at  # the run judges a correction at the time of the act

    assert stand.good({"value": "0.4"}, "1").computed["at"].startswith("2027-05-08T12:23:25")
    stand.now = later


def test_the_card_shows_the_readings_over_time() -> None:
    card = read("0.5", "1.2").card()

    (trend,) = card.drawings
    assert isinstance(trend, Trend)
    assert [(p.minutes, p.value, p.out) for p in trend.points] == [
        ("0", "0.5", False),
        ("30", "1.2", True),
    ]
    assert card.own["next"] == "11:23:25 to 11:33:25"
    assert card.off == "The next reading is due at 11:23:25"


FAULTS = (
    ('unit = "mbar"\nevery = "1 min"', "at_most: There is no limit."),
    (f"{KEYS}drift = 0", "drift: The drift is not above 0."),
    (f"{KEYS}times = 1", "times: times is 1."),
    ('unit = "mbar"\nat_most = 1', "every: This step has no every."),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_row_that_cannot_be_judged_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("trend", keys)


def test_the_record_says_when_each_was_read() -> None:
    line = read("0.5").lines()[0]

    assert (line.what, line.value) == ("Pressure, reading 1", "0.5 mbar at 10:23:25")
    assert line.limits == "at most 1.0 mbar, change at most 0.2 mbar"
