"""Items: one entry for each place, none for two."""

from __future__ import annotations

import pytest

from app.procedure.drawing import RingMap, Scale
from tests.procedure.kinds.stand import Stand, step_of, told

RING = 'layout = { shape = "ring", count = 3, first = "4.29 deg", label = "B{:02d}" }'
OFF = f'{RING}\nresults = ["off", "seized"]'
FORCE = f'{RING}\nunit = "N"\nat_least = -15\nat_most = "15 N"'
FORCES = (
    ("-16", "out", "B01: -16 N is below the limit, -15 N."),
    ("-15", "good", "B01: -15 N is within the limits, -15 to 15 N."),
    ("15", "good", "B01: 15 N is within the limits, -15 to 15 N."),
    ("15.5", "out", "B01: 15.5 N is above the limit, 15.0 N."),
)


def test_every_place_needs_its_own_entry() -> None:
    stand = Stand(step_of("items", OFF))

    assert stand.missing() == "Not entered yet: B01, B02 and B03."
    stand.enter({"result": "off"}, "B01")
    stand.enter({"result": "off"}, "B03")
    assert stand.missing() == "Not entered yet: B02."
    stand.enter({"result": "off"}, "B02")

    assert stand.missing() == ""


def test_a_place_entered_twice_is_not_two_places() -> None:
    stand = Stand(step_of("items", OFF))

    for _ in range(3):
        stand.enter({"result": "off"}, "B01")

    assert stand.missing() == "Not entered yet: B02 and B03."


def test_a_place_that_is_not_as_it_must_be_is_kept_and_holds_the_step() -> None:
    stand = Stand(step_of("items", OFF))
    for part in ("B01", "B02", "B03"):
        stand.enter({"result": "off" if part != "B02" else "seized"}, part)

    wrong = "B02: seized. It must be off. Mend it and enter it again, or report it."
    assert stand.missing() == wrong
    assert stand.card().part == "B02"
    assert stand.card().answer == "B02: not as it must be"

    stand.enter({"result": "off"}, "B02")
    assert stand.missing() == ""


@pytest.mark.parametrize(
    ("part", "values", "code"),
    [
        ("", {"result": "off"}, "items.unknown"),
        ("B04", {"result": "off"}, "items.unknown"),
        ("B01,B02", {"result": "off"}, "items.unknown"),
        ("B01", {}, "items.result"),
        ("B01", {"result": "gone"}, "items.result"),
    ],
)
def test_no_entry_stands_for_several_places(part: str, values: dict[str, str], code: str) -> None:
    assert Stand(step_of("items", OFF)).refused(values, part).code == code


@pytest.mark.parametrize(("typed", "verdict", "saying"), FORCES)
def test_a_place_can_have_a_number(typed: str, verdict: str, saying: str) -> None:
    entry = Stand(step_of("items", FORCE)).enter({"value": typed}, "B01")

    assert (entry.verdict, entry.saying.partition(" Measure")[0]) == (verdict, saying)
    assert entry.computed == {"value": typed}


def test_a_result_and_a_number_must_both_be_good() -> None:
    stand = Stand(step_of("items", FORCE + '\nresults = ["unloaded", "seized"]'))

    stand.good({"result": "unloaded", "value": "3"}, "B01")
    stand.out({"result": "unloaded", "value": "30"}, "B01")
    stand.out({"result": "seized", "value": "3"}, "B01")
    assert stand.refused({"result": "unloaded"}, "B01").code == "reading.empty"


def test_the_map_shows_what_is_done_and_what_is_next() -> None:
    stand = Stand(step_of("items", OFF))
    stand.enter({"result": "off"}, "B01")
    stand.enter({"result": "seized"}, "B02")

    card = stand.card()

    (ring,) = card.drawings
    assert isinstance(ring, RingMap)
    assert (ring.marks, ring.here) == ({"B01": "done", "B02": "out"}, "B03")
    assert ring.angles[0] == pytest.approx(4.29)
    assert card.kind_line == "One entry for each. 1 done"  # how many there are is not said


def test_one_result_needs_no_question() -> None:
    stand = Stand(step_of("items", RING))

    card = stand.card("B02")

    assert (card.act, card.fields) == ("B02 done", ())
    assert stand.enter({}, "B02").saying == "B02: done."


def test_the_scale_stands_beside_the_number() -> None:
    stand = Stand(step_of("items", FORCE))
    stand.enter({"value": "20"}, "B01")

    scales = [d for d in stand.card("B01").drawings if isinstance(d, Scale)]

    assert [(s.value, s.verdict) for s in scales] == [("20", "high")]


def test_independent_people_agree_place_by_place() -> None:
    stand = Stand(step_of("items", OFF, check="independent"))
    one = [stand.enter({"result": "off"}, part) for part in ("B01", "B02", "B03")]
    same = [stand.enter({"result": "off"}, part) for part in ("B03", "B02", "B01")]
    other = [*same[:2], stand.enter({"result": "seized"}, "B01")]

    assert stand.kind.agreement(stand.step, [one, same]).agree
    assert stand.kind.agreement(stand.step, [one, same]).as_expected
    assert not stand.kind.agreement(stand.step, [one, other]).agree
    assert not stand.kind.agreement(stand.step, [other, other]).as_expected


def test_a_seat_is_complete_though_what_it_found_is_wrong() -> None:
    stand = Stand(step_of("items", OFF, check="independent"))
    for part in ("B01", "B02", "B03"):
        stand.enter({"result": "seized"}, part)

    assert stand.missing() == ""


FAULTS = (
    ("", "layout: This step has no layout."),
    (f'{RING}\nresults = ["off", "off"]', "results: Two results are alike, or one is empty."),
    (f'{OFF}\ngood = "gone"', 'good: "gone" is not one of the results.'),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_items_that_cannot_be_judged_are_a_fault(keys: str, fault: str) -> None:
    assert fault in told("items", keys)
