"""A gate: all good and young at one moment; which one blocks, and where it is read."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from app.procedure.entry import Circumstances, LastRead
from tests.procedure.kinds.stand import NOON, Stand, step_of, told

KEYS = """
readings = [
  { reading = "gust", unit = "m/s", at_most = "8.0", age = "5 min", where = "the mast panel" },
  { reading = "dew_gap", unit = "K", at_least = 3, age = "5 min" },
]
"""


class BoardStand(Stand):
    """A stand beside a board."""

    board: dict[str, LastRead]

    @property
    def at(self) -> Circumstances:
        return replace(super().at, readings=self.board)


def beside(**board: LastRead) -> BoardStand:
    stand = BoardStand(step_of("gate", KEYS))
    stand.board = board
    return stand


def read(gust: str = "3.1", gap: str = "4.2") -> Stand:
    stand = Stand(step_of("gate", KEYS))
    stand.enter({"value": gust}, "gust")
    stand.enter({"value": gap}, "dew_gap")
    return stand


def test_all_good_and_young_opens_it() -> None:
    stand = read()

    assert stand.card().act == "Gate passed"
    passed = stand.enter({}, "passed")
    assert passed.saying == "Passed with Gust 3.1 m/s, 0 s old; Dew gap 4.2 K, 0 s old."
    assert stand.missing() == ""


def test_it_is_not_passed_by_reading_alone() -> None:
    assert read().missing() == "Every reading is good. Nobody has passed the gate."


def test_one_that_is_too_old_blocks_and_says_where_to_read_it() -> None:
    stand = read()
    stand.wait(minutes=6)
    stand.enter({"value": "4.0"}, "dew_gap")

    refused = stand.refused({}, "passed")

    assert refused.code == "gate.shut"
    assert refused.sentence == (
        "Gust was read 6 min ago. It must be at most 5 min old. "
        "Read it at the mast panel. Nothing was saved."
    )
    assert stand.card().part == "gust"


@pytest.mark.parametrize(("minutes", "opens"), [(5, True), (5.02, False)])
def test_the_last_moment_belongs_to_the_age(minutes: float, opens: bool) -> None:
    stand = read()
    stand.wait(minutes=minutes)

    assert (stand.card().part == "passed") is opens


def test_one_out_of_limit_is_kept_and_blocks() -> None:
    stand = read(gap="2.9")

    assert stand.so_far()[-1].verdict == "out"
    assert stand.refused({}, "passed").sentence.startswith("Dew gap: 2.9 K is below the limit")


def test_a_good_reading_can_be_taken_again() -> None:
    stand = read()

    assert not stand.kind.stands(stand.step, stand.so_far()[0], stand.at)


def test_a_reading_corrected_after_the_passing_shuts_it_again() -> None:
    stand = read()
    passed = stand.enter({}, "passed")
    assert stand.kind.stands(stand.step, passed, stand.at)
    stand.enter({"value": "9.0"}, "gust")

    assert stand.missing().startswith("Gust: 9.0 m/s is above the limit")
    assert not stand.kind.stands(stand.step, passed, stand.at)


def test_a_young_reading_on_the_board_counts() -> None:
    now = NOON - timedelta(minutes=2)
    stand = beside(
        gust=LastRead(value="18", unit="km/h", at=now),
        dew_gap=LastRead(value="5", unit="K", at=now),
    )

    assert stand.card().part == "passed"
    assert stand.good({}, "passed").computed["gust"] == "5"


def test_an_old_reading_on_the_board_does_not() -> None:
    stand = beside(gust=LastRead(value="3", unit="m/s", at=NOON - timedelta(minutes=14)))

    assert stand.card().answer.startswith("Gust was read 14 min ago.")


@pytest.mark.parametrize(("part", "code"), [("wind", "gate.part"), ("gust", "reading.unit")])
def test_what_is_not_asked_for_is_not_kept(part: str, code: str) -> None:
    assert Stand(step_of("gate", KEYS)).refused({"value": "3 kn"}, part).code == code


def test_the_rows_say_value_limit_and_age() -> None:
    stand = read()
    stand.wait(minutes=6)

    rows = stand.card().own["rows"]

    assert isinstance(rows, tuple)
    assert {key: rows[0][key] for key in ("value", "limits", "age", "word", "mark")} == {
        "value": "3.1 m/s",
        "limits": "at most 8.0 m/s",
        "age": "6 min ago",
        "word": "Too old",
        "mark": "stale",
    }


FAULTS = (
    ("readings = []", "readings: The gate asks for no readings."),
    (
        'readings = [{ reading = "passed", unit = "K", at_most = 1, age = "1 min" }]',
        "readings: Two readings have one name, or one is called passed.",
    ),
    (
        'readings = [{ reading = "gust", unit = "K", at_most = 1 }]',
        "readings.age: This reading has no age.",
    ),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_gate_that_cannot_be_judged_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("gate", keys)
