"""A hand-over: the state of the work is put together by the recorder and kept with what was said."""

from __future__ import annotations

from dataclasses import replace

from tests.procedure.kinds.stand import Stand, step_of
from tests.procedure.kinds.test_isolate import taking_off

SEATS = ("supervisor", "supervisor")


def going() -> Stand:
    restoring = taking_off()
    locks, off = restoring.others[0], restoring.step
    step = step_of("handover", id="over", number=3, seats=SEATS)
    stand = Stand(step, others=[locks, off, step_of("tick", id="next", number=4)])
    stand.entries = restoring.entries
    stand.done = {"on"}
    return stand


def test_it_says_what_is_done_what_is_next_and_which_locks_are_on() -> None:
    entry = going().enter({"state": "Two pads still wet. Watch the crane."})

    assert entry.saying == (
        "Handed over by JB: Two pads still wet. Watch the crane. "
        "Last done: step 1 at 10:23:25, Do it. Next: step 4, Do it. Safe state: At rest. "
        "Locks on: 14 of JB on Q4 drive breaker, 15 of KM on V2 coolant valve."
    )


def test_a_lock_that_is_off_is_not_said_to_be_on() -> None:
    stand = going()
    off = stand.others[1]
    taken = Stand(off, others=[stand.others[0]], entries=stand.entries)
    taken.enter({"lock": "14"}, "Q4 drive breaker")

    assert "Locks on: 15 of KM on V2 coolant valve." in stand.good({"state": "Dry"}).saying


def test_what_was_not_taken_is_not_next() -> None:
    stand = going()
    at = replace(stand.at, passed=frozenset({"next"}))

    lines = stand.kind.card(stand.step, "", at).own["lines"]

    assert isinstance(lines, tuple)
    assert not any(line.startswith("Next") for line in lines)


def test_saying_nothing_is_no_hand_over() -> None:
    assert going().refused({"state": " "}).code == "words.empty"


def test_each_seat_signs_what_it_does() -> None:
    stand = going()

    assert stand.kind.signs(stand.step, 0).startswith("I hand over")
    assert stand.kind.signs(stand.step, 1).startswith("I take over")


def test_two_people_sign_it() -> None:
    assert going().faults() == []
    assert Stand(step_of("handover")).faults() == [
        "sign: A hand-over is signed by two: who goes, then who comes."
    ]
