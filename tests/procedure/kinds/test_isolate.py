"""Locks on, tried, and off again: each by its owner."""

from __future__ import annotations

import pytest

from tests.procedure.kinds.stand import Stand, step_of, told

POINTS = 'points = ["Q4 drive breaker", "V2 coolant valve"]'
ROLES = {
    "JB": frozenset({"technician"}),
    "KM": frozenset({"technician"}),
    "HL": frozenset({"lead"}),
}
DEAD = {"lock": "14", "try_out": "dead"}


def locking() -> Stand:
    return Stand(step_of("isolate", POINTS, id="on", number=1), roles=ROLES)


def taking_off(keys: str = 'of = "on"\nwithout_owner = "lead"', who: str = "JB") -> Stand:
    on = locking()
    on.enter(DEAD, "Q4 drive breaker")
    on.who = "KM"
    on.enter({"lock": "15", "try_out": "dead"}, "V2 coolant valve")
    step = step_of("restore", keys, id="off", number=2)
    stand = Stand(step, others=[on.step], roles=ROLES, who=who, crew={"lead": 1})
    stand.entries["on"] = list(on.so_far())
    return stand


def test_whoever_locks_owns_the_lock() -> None:
    found = locking().good(DEAD, "Q4 drive breaker")

    assert found.saying == "Q4 drive breaker: lock 14 of JB, tried and dead."
    assert found.computed["owner"] == "JB"


def test_a_point_that_still_moves_is_kept_as_out_of_limit() -> None:
    stand = locking()
    entry = stand.enter({"lock": "14", "try_out": "not dead"}, "Q4 drive breaker")

    assert entry.verdict == "out"
    assert entry.saying.startswith(
        "Q4 drive breaker is not dead behind lock 14. Keep away from it."
    )


LOCKING = (
    (DEAD, "Q9", "lock.unknown"),
    ({"try_out": "dead"}, "Q4 drive breaker", "words.empty"),
    ({"lock": "14"}, "Q4 drive breaker", "lock.not_tried"),
    ({"lock": "9" * 21, "try_out": "dead"}, "Q4 drive breaker", "words.long"),
)


@pytest.mark.parametrize(("values", "part", "code"), LOCKING)
def test_a_lock_without_number_or_try_is_not_kept(
    values: dict[str, str], part: str, code: str
) -> None:
    assert locking().refused(values, part).code == code


def test_one_lock_does_not_stand_on_two_points() -> None:
    stand = locking()
    stand.enter(DEAD, "Q4 drive breaker")

    refused = stand.refused({"lock": " 1 4", "try_out": "dead"}, "V2 coolant valve")

    assert refused.code == "lock.twice"
    assert refused.sentence.startswith("Lock 1 4 stands on Q4 drive breaker already.")


def test_the_owner_takes_it_off() -> None:
    stand = taking_off()

    assert stand.card().part == "Q4 drive breaker"
    assert stand.good({"lock": "14"}, "Q4 drive breaker").saying.endswith("JB took lock 14 off.")


OTHERS = (
    (
        "JB",
        'of = "on"',
        "Lock 15 on V2 coolant valve is KM's. Only KM takes it off. Nothing was saved.",
    ),
    (
        "JB",
        'of = "on"\nwithout_owner = "lead"',
        "Lock 15 on V2 coolant valve is KM's. Only KM takes it off; "
        "if KM is not there, a lead does. Nothing was saved.",
    ),
)


@pytest.mark.parametrize(("who", "keys", "sentence"), OTHERS)
def test_nobody_else_takes_it_off(who: str, keys: str, sentence: str) -> None:
    refused = taking_off(keys, who).refused({"lock": "15"}, "V2 coolant valve")

    assert (refused.code, refused.sentence) == ("lock.owner", sentence)


def test_without_the_owner_it_waits_for_someone_to_accept_it() -> None:
    stand = taking_off(who="HL")

    assert stand.refused({"lock": "15"}, "V2 coolant valve").code == "words.empty"
    entry = stand.enter({"lock": "15", "why": "KM is at home, told by phone"}, "V2 coolant valve")
    assert entry.verdict == "out"
    assert "HL took lock 15 of KM off. KM is at home, told by phone." in entry.saying


def test_another_lock_than_the_one_that_hangs_there_is_refused() -> None:
    refused = taking_off().refused({"lock": "15"}, "Q4 drive breaker")

    assert refused.sentence == (
        "Lock 14 of JB stands on Q4 drive breaker, not 15. Nothing was saved."
    )


def test_the_card_shows_every_lock_and_whose_it_is() -> None:
    stand = taking_off()
    stand.enter({"lock": "14"}, "Q4 drive breaker")

    rows = stand.card().own["rows"]

    assert isinstance(rows, tuple)
    assert [(row["owner"], row["lock"], row["word"]) for row in rows] == [
        ("JB", "14", "off"),
        ("KM", "15", "on"),
    ]
    assert stand.missing().startswith("Not entered yet: V2 coolant valve")


def test_it_rests_on_an_earlier_isolation() -> None:
    assert taking_off().faults() == []
    assert Stand(step_of("restore", 'of = "x"')).faults() == ["of: x is no earlier isolation."]


def test_points_are_named_once() -> None:
    assert "points: There are no points." in told("isolate", "points = []")
    assert "points: Two points are alike, or one is empty." in told(
        "isolate", 'points = ["a", "a"]'
    )
