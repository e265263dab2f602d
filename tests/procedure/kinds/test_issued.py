"""Things into a zone and out again: who has each, since when, and who may write one off."""

from __future__ import annotations

import pytest

from app.procedure.entry import Entry
from tests.procedure.kinds.stand import Stand, step_of, told

OUT = """
zone = "over the glass"
things = ["TW-03 wrench", "HX-11 hex key"]
counted = { sponges = 40 }
"""
ROLES = {
    "JB": frozenset({"technician"}),
    "KM": frozenset({"technician"}),
    "SL": frozenset({"supervisor"}),
}


def giving() -> Stand:
    return Stand(step_of("tools-out", OUT, id="out", number=1), roles=ROLES)


def given() -> Stand:
    stand = giving()
    stand.enter({"result": "out"}, "TW-03 wrench")
    stand.enter({"result": "out", "holder": "KM"}, "HX-11 hex key")
    stand.enter({"count": "40"}, "sponges")
    return stand


def taking(keys: str = 'of = "out"\nwrite_off = "supervisor"', who: str = "JB") -> Stand:
    out = given()
    step = step_of("tools-in", keys, id="in", number=2)
    crew = {"technician": 1, "supervisor": 1}
    stand = Stand(step, others=[out.step], roles=ROLES, who=who, crew=crew)
    stand.entries["out"] = list(out.so_far())
    return stand


def test_each_thing_goes_out_to_a_person() -> None:
    stand = given()

    assert [entry.saying for entry in stand.so_far()] == [
        "TW-03 wrench is with JB.",
        "HX-11 hex key is with KM.",
        "40 sponges are with JB.",
    ]
    assert stand.missing() == ""


def test_the_tally_of_the_zone_is_on_the_board() -> None:
    stand = giving()
    stand.enter({"result": "out"}, "TW-03 wrench")

    assert stand.good({"count": "40"}, "sponges").readings["over the glass"].value == "41"
    assert (
        stand.good({"result": "not taken"}, "HX-11 hex key").readings["over the glass"].value == "1"
    )


GIVING: tuple[tuple[dict[str, str], str, str], ...] = (
    ({"result": "out"}, "saw", "tools.unknown"),
    ({}, "TW-03 wrench", "tools.result"),
    ({"result": "out", "holder": "XX"}, "TW-03 wrench", "tools.holder"),
    ({"count": "41"}, "sponges", "tools.too_many"),
    ({"count": "4.5"}, "sponges", "count.unreadable"),
)


@pytest.mark.parametrize(("values", "part", "code"), GIVING)
def test_what_cannot_go_out_is_not_kept(values: dict[str, str], part: str, code: str) -> None:
    assert giving().refused(values, part).code == code


def test_what_is_missing_stands_first_with_whom_and_since_when() -> None:
    stand = taking()
    stand.enter({"result": "back"}, "TW-03 wrench")

    card = stand.card()

    assert card.answer == (
        "Still in the zone: HX-11 hex key with KM since 12:23 and 40 sponges with JB since 12:23."
    )
    assert card.act == "Bring HX-11 hex key back"
    rows = card.own["rows"]
    assert isinstance(rows, tuple)
    assert [row["name"] for row in rows] == ["HX-11 hex key", "sponges", "TW-03 wrench"]


def test_all_back_is_all() -> None:
    stand = taking()
    for thing in ("TW-03 wrench", "HX-11 hex key"):
        stand.enter({"result": "back"}, thing)
    found = stand.good({"result": "back", "count": "40"}, "sponges")
    assert found.readings["over the glass"].value == "0"
    stand.enter({"result": "back", "count": "40"}, "sponges")

    assert stand.missing() == ""
    assert stand.card().answer == "Everything is back"


def test_one_of_forty_missing_is_not_back() -> None:
    refused = taking().refused({"result": "back", "count": "39"}, "sponges")

    assert refused.code == "tools.missing"
    assert refused.sentence == "1 of 40 sponges are missing. Look for them. Nothing was saved."


TAKING = (
    ({"result": "back"}, "saw", "tools.unknown"),
    ({"result": "gone"}, "HX-11 hex key", "tools.result"),
    ({"result": "back", "count": "41"}, "sponges", "tools.too_many"),
    ({"result": "written off", "why": "In the drain"}, "HX-11 hex key", "tools.write_off"),
)


@pytest.mark.parametrize(("values", "part", "code"), TAKING)
def test_what_does_not_come_back_so_is_not_kept(
    values: dict[str, str], part: str, code: str
) -> None:
    assert taking().refused(values, part).code == code


def test_a_supervisor_writes_off_by_name_with_the_reason() -> None:
    stand = taking(who="SL")

    assert stand.refused({"result": "written off"}, "HX-11 hex key").code == "words.empty"
    found = stand.good({"result": "written off", "why": "In the floor drain."}, "HX-11 hex key")
    assert found.saying == "HX-11 hex key written off by SL: In the floor drain."
    some = stand.good({"result": "written off", "count": "39", "why": "Torn"}, "sponges")
    assert some.saying == "39 are back, 1 of 40 sponges written off by SL: Torn."


def test_where_nobody_may_write_off_a_thing_lost_is_a_trouble() -> None:
    refused = taking('of = "out"', who="SL").refused({"result": "written off"}, "HX-11 hex key")

    assert refused.code == "tools.no_write_off"


def test_what_was_not_taken_need_not_come_back() -> None:
    stand = taking()
    entry: Entry = stand.entries["out"].pop(0)
    assert entry.part == "TW-03 wrench"

    assert list(stand.kind.parts(stand.step, stand.at)) == ["HX-11 hex key", "sponges"]


def test_the_step_that_gave_out_comes_first_and_the_role_is_known() -> None:
    assert taking().faults() == []
    wrong = Stand(step_of("tools-in", 'of = "in"\nwrite_off = "lead"', id="in"))
    assert wrong.faults() == [
        "of: in is no earlier step that gives things out.",
        "write_off: Nobody in this procedure is lead.",
    ]


FAULTS = (
    ('zone = "z"', "things: Nothing goes out."),
    ('zone = "z"\nthings = ["a", "a"]', "things: Two things are alike, or one is empty."),
    ('things = ["a"]', "zone: This step has no zone."),
    ('zone = "z"\ncounted = { a = 0 }', "counted.a: a is 0."),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_things_that_cannot_be_given_out_are_a_fault(keys: str, fault: str) -> None:
    assert fault in told("tools-out", keys)
