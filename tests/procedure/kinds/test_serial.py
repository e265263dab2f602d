from __future__ import annotations

import pytest

from tests.procedure.kinds.stand import Stand, step_of, told

CELLS = 'expect = ["LC-1", "LC-2"]\nnames = ["Hook 1", "Hook 2"]'


@pytest.mark.parametrize("typed", ["LC-1", "lc-1", " LC-1 "])
def test_the_listed_serial_is_good(typed: str) -> None:
    Stand(step_of("serial", CELLS)).good({"serial": typed}, "Hook 1")


def test_a_serial_of_the_list_at_another_place_is_out() -> None:
    saying = Stand(step_of("serial", CELLS)).out({"serial": "LC-2"}, "Hook 1").saying

    belongs = "LC-2 was found, LC-1 is listed. LC-2 belongs at Hook 2."
    assert saying == f"Hook 1: {belongs} Change it and read again, or report it."


@pytest.mark.parametrize("typed", ["LC-11", "LC1", "LC-9"])
def test_a_serial_that_is_nearly_right_is_out(typed: str) -> None:
    Stand(step_of("serial", CELLS)).out({"serial": typed}, "Hook 1")


@pytest.mark.parametrize("typed", ["", "  ", "LC\x00-1", "x" * 81])
def test_a_serial_that_cannot_be_read_is_not_kept(typed: str) -> None:
    assert (
        Stand(step_of("serial", CELLS)).refused({"serial": typed}, "Hook 1").code == "serial.empty"
    )


def test_the_card_shows_no_serial_to_copy() -> None:
    stand = Stand(step_of("serial", CELLS))

    assert "LC-" not in repr(stand.card())
    assert stand.missing() == "Not entered yet: Hook 1 and Hook 2."


def test_all_places_must_match() -> None:
    stand = Stand(step_of("serial", CELLS))
    stand.enter({"serial": "LC-1"}, "Hook 1")
    wrong = stand.enter({"serial": "LC-9"}, "Hook 2")

    assert stand.missing() == wrong.saying
    assert stand.card().part == "Hook 2"
    stand.enter({"serial": "LC-2"}, "Hook 2")
    assert stand.missing() == ""
    assert stand.lines()[0].limits == "must be LC-1"


FAULTS = (
    ("expect = []", "expect: There are no serials."),
    ('expect = ["A", "a"]', "expect: Two are alike, or one is empty."),
    ('expect = ["A"]\nnames = ["x", "y"]', "names: There are 2 names for 1 serials."),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_list_that_cannot_be_matched_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("serial", keys)
