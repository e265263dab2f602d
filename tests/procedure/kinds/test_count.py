"""Counts: what is equal, what must be, and what a blind count never says."""

from __future__ import annotations

import pytest

from app.procedure.entry import Entry
from app.procedure.kind import Kind
from app.procedure.kinds import count
from tests.procedure.kinds.stand import Stand, step_of, told

KIND: Kind = count.KIND
EXPECTED = 7193  # a number that cannot stand anywhere by chance
SEATS = ("technician", "technician", "technician")
GONE = f'of = "brackets in place"\nexpect = {EXPECTED}\nstarts = ["A", "B", "C"]'
TRAY = 'of = "parts"\nparts = { bolts = 42, washers = 40 }'


def blind() -> Stand:
    return Stand(step_of("count", GONE, check="independent", seats=SEATS))


def seats(stand: Stand, *numbers: str) -> list[list[Entry]]:
    return [[stand.enter({"count": n}, by=who)] for n, who in zip(numbers, "ABC", strict=True)]


ROUNDS = (
    (("7193", "7193", "7193"), True, True),
    (("7194", "7194", "7194"), True, False),  # equal, and not what must be
    (("7193", "7193", "7194"), False, False),  # no vote
    (("7193", "7192", "7194"), False, False),
)


@pytest.mark.parametrize(("numbers", "agree", "as_expected"), ROUNDS)
def test_all_must_be_equal_and_as_expected(
    numbers: tuple[str, str, str], agree: bool, as_expected: bool
) -> None:
    stand = blind()

    found = stand.kind.agreement(stand.step, seats(stand, *numbers))

    assert (found.agree, found.as_expected) == (agree, as_expected)


def test_a_seat_that_has_not_counted_agrees_with_nobody() -> None:
    stand = blind()
    sealed = seats(stand, "7193", "7193", "7193")

    assert not stand.kind.agreement(stand.step, [*sealed[:2], []]).agree
    assert not stand.kind.agreement(stand.step, []).agree


@pytest.mark.parametrize("number", ["7193", "7194", "0"])
def test_a_blind_count_is_kept_alike_whatever_it_is(number: str) -> None:
    stand = blind()

    judged = stand.good({"count": number})
    stand.enter({"count": number})

    assert judged.saying == "The count is kept unseen."
    assert stand.missing() == ""


@pytest.mark.parametrize("number", ["7193", "7194"])
def test_the_card_of_a_blind_count_tells_nothing(number: str) -> None:
    stand = blind()
    before = repr(stand.card())
    stand.enter({"count": number})
    after = repr(stand.card())

    for card in (before, after):
        assert "719" not in card
    assert before == after
    assert str(EXPECTED) not in repr(stand.step.own)


def test_a_count_that_is_not_blind_does_not_name_what_it_must_be() -> None:
    stand = Stand(step_of("count", f'of = "bolts"\nexpect = {EXPECTED}'))
    entry = stand.enter({"count": "12"})

    assert entry.verdict == "out"
    wanted = "Counted: 12 bolts. That is not what must be there. Count again, or report it."
    assert entry.saying == wanted
    assert stand.missing() == wanted
    assert str(EXPECTED) not in repr(stand.card())
    assert stand.lines()[0].limits == f"must be {EXPECTED}"  # the record does


TRAYS = (
    ({"bolts": "42", "washers": "40"}, "good"),
    ({"bolts": "40", "washers": "42"}, "out"),  # the sum alone is not enough
    ({"bolts": "42", "washers": "39"}, "out"),
)


@pytest.mark.parametrize(("values", "verdict"), TRAYS)
def test_each_place_is_compared(values: dict[str, str], verdict: str) -> None:
    assert Stand(step_of("count", TRAY)).enter(values).verdict == verdict


def test_every_place_must_be_counted() -> None:
    stand = Stand(step_of("count", TRAY))

    refused = stand.refused({"bolts": "42"})

    assert refused.code == "count.empty"
    assert refused.sentence == "Nothing was typed. Type the number of washers. Nothing was saved."


def test_a_count_says_what_was_counted_in_the_record() -> None:
    stand = Stand(step_of("count", TRAY))
    stand.enter({"bolts": "42", "washers": "40"})

    (line,) = stand.lines()

    assert (line.what, line.value) == ("Parts", "42 bolts and 40 washers")
    assert line.limits == "must be 42 bolts and 40 washers"


FAULTS = (
    ('of = "bolts"', "expect: This count expects nothing."),
    ("expect = 1", "of: This step has no of."),
    ('of = "bolts"\nexpect = -1', "expect: expect is -1."),
    ('of = "bolts"\nexpect = 3\nparts = { a = 1, b = 1 }', "parts: The parts sum to 2, and expect is 3."),
    ('of = "bolts"\nparts = { }', "parts: There are no parts."),
    ('of = "bolts"\nparts = { tool = 1 }', "parts.tool: tool already names something else in an entry."),
)  # fmt: skip


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_count_that_cannot_be_judged_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("count", keys)


@pytest.mark.parametrize("starts", ['["A", "B"]', '["A", "B", "B"]'])
def test_each_seat_starts_somewhere_else(starts: str) -> None:
    keys = f'of = "brackets"\nexpect = 0\nstarts = {starts}'
    stand = Stand(step_of("count", keys, check="independent", seats=SEATS))

    assert stand.faults() == ["starts: 3 seats do not each have a start mark of their own."]
    assert blind().faults() == []
