"""Bolts in star order: the next and no other, what the tool shows, the pass that only tries."""

from __future__ import annotations

import pytest

from app.procedure.drawing import Scale, StarMap
from app.procedure.model import Step
from app.procedure.tightening import cross
from tests.procedure.kinds.stand import Stand, step_of, told

RING = 'bolts = { shape = "ring", count = 12, label = "{}" }\nunit = "N m"\ntolerance = "5 %"'
ONE = f'{RING}\npattern = "cross"\npasses = ["24.0 N m"]'
STAR = ("1", "7", "4", "10", "2", "8", "5", "11", "3", "9", "6", "12")


def stand(keys: str = ONE) -> Stand:
    return Stand(step_of("torque", keys))


def tightened(stand: Stand, *bolts: str, turn: str = "pass 1", value: str = "24.0") -> Stand:
    for bolt in bolts:
        stand.enter({"value": value}, f"{bolt}, {turn}")
    return stand


def test_the_star_order_of_twelve_is_that_of_the_picture() -> None:
    assert tuple(str(place + 1) for place in cross(12)) == STAR


# ASME PCC-1, cross pattern, from memory: 8, 16 and 20 bolts; the others are common practice.
ORDERS = {
    4: (1, 3, 2, 4),
    8: (1, 5, 3, 7, 2, 6, 4, 8),
    16: (1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16),
    20: (1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19),
    6: (1, 4, 2, 5, 3, 6),
    5: (1, 3, 5, 2, 4),
}


@pytest.mark.parametrize("count", ORDERS)
def test_opposite_bolts_follow_each_other(count: int) -> None:
    assert tuple(place + 1 for place in cross(count)) == ORDERS[count]


@pytest.mark.parametrize("count", range(1, 61))
def test_no_bolt_is_left_out_whatever_their_number(count: int) -> None:
    assert sorted(cross(count)) == list(range(count))


def test_another_bolt_than_the_next_is_refused() -> None:
    found = tightened(stand(), "1", "7", "4").refused({"value": "24.0"}, "2, pass 1")

    assert found.code == "order.bolt"
    assert found.sentence == "Bolt 2 is not next. Tighten bolt 10 first. Nothing was saved."


def test_a_bolt_of_a_later_pass_is_refused_with_the_pass() -> None:
    two = stand(f'{RING}\npattern = "ring"\npasses = [12, 24]')

    found = two.refused({"value": "24.0"}, "1, pass 2")

    assert found.sentence == "Bolt 1 is not next. Tighten bolt 1, pass 1 first. Nothing was saved."


VALUES = (
    ("22.8", "good", "Bolt 1: 22.8 N m is within the limits, 22.8 to 25.2 N m."),
    ("25.2", "good", "Bolt 1: 25.2 N m is within the limits, 22.8 to 25.2 N m."),
    ("21.9", "out", "Bolt 1: 21.9 N m is below the limit, 22.8 N m. Tighten again and read again."),
    (
        "25.3",
        "out",
        "Bolt 1: 25.3 N m is above the limit, 25.2 N m. Do not turn it back. Report it.",
    ),
)


@pytest.mark.parametrize(("value", "verdict", "saying"), VALUES)
def test_both_limits_belong_to_what_is_good(value: str, verdict: str, saying: str) -> None:
    entry = stand().enter({"value": value}, "1, pass 1")

    assert (entry.verdict, entry.saying) == (verdict, saying)


REFUSED = (
    ("236", "reading.slip", "236 N m is ten times what is usual here. Check the decimal mark."),
    ("2.4", "reading.slip", "2.4 N m is a tenth of what is usual here. Check the decimal mark."),
    ("24 kN", "reading.unit", 'Use N m here. You typed "kN". 24 kN is not changed for you.'),
    ("1,234", "reading.ambiguous", '"1,234" can be read two ways. Type 1.234 or 1234.'),
    ("", "reading.empty", "Nothing was typed. Type the value in N m. Nothing was saved."),
)


@pytest.mark.parametrize(("value", "code", "sentence"), REFUSED)
def test_what_is_not_the_tools_number_is_not_kept(value: str, code: str, sentence: str) -> None:
    found = stand().refused({"value": value}, "1, pass 1")

    assert (found.code, found.sentence) == (code, sentence)


def test_a_slip_that_was_read_again_is_kept() -> None:
    assert stand().out({"value": "236", "sure": "yes"}, "1, pass 1").verdict == "out"


def test_a_bolt_that_was_too_loose_is_tightened_again_before_the_next() -> None:
    here = stand()
    here.enter({"value": "21.9"}, "1, pass 1")

    assert here.card().part == "1, pass 1"
    assert here.refused({"value": "24.0"}, "7, pass 1").code == "order.bolt"
    here.enter({"value": "23.0"}, "1, pass 1")
    assert here.card().part == "7, pass 1"


def test_every_bolt_of_every_pass_and_the_check() -> None:
    keys = f'{RING}\npattern = "cross"\npasses = [12, 24]\nverify = "5 deg"'
    here = stand(keys)

    tightened(here, *STAR, value="12")
    tightened(here, *STAR, turn="pass 2")
    assert here.missing().startswith("Not entered yet: 1, check, 2, check")
    tightened(here, *(str(n) for n in range(1, 13)), turn="check", value="0")

    assert here.missing() == ""
    assert here.card().answer == "Every bolt is tight"


def test_a_bolt_that_still_turns_fails_the_check() -> None:
    here = tightened(stand(f'{RING}\npattern = "cross"\npasses = [24]\nverify = "5 deg"'), *STAR)

    assert here.good({"value": "5"}, "1, check").verdict == "good"
    out = here.out({"value": "5.5"}, "1, check")
    assert out.saying == (
        "Bolt 1: 5.5 deg is above the limit, 5.0 deg. "
        "It still turned. Report it: the passes are done again."
    )


# Published instruction sheets: 80 N m on a 400 mm grip with 50 mm in line sets 71.1; the demo's ring
# bolts, 320 N m on 650 mm with 75 mm, set 286.9.
ADAPTERS = (
    ("80 N m", '{ length = "400 mm", adapter = "50 mm" }', "71.11"),
    ("320 N m", '{ length = "650 mm", adapter = "75 mm" }', "286.9"),
    ("80 N m", '{ length = "400 mm", adapter = "50 mm", angle = "90 deg" }', "80"),
)


@pytest.mark.parametrize(("torque", "adapter", "setting"), ADAPTERS)
def test_with_an_adapter_the_tool_is_set_to_less(torque: str, adapter: str, setting: str) -> None:
    keys = f'{RING}\npattern = "ring"\npasses = ["{torque}"]\nadapter = {adapter}'

    assert f"Set the tool to {setting} N m: adapter" in str(stand(keys).card().own["set"])


def test_with_an_adapter_the_limits_are_those_of_the_tool() -> None:
    adapter = 'adapter = { length = "650 mm", adapter = "75 mm" }'
    keys = f'{RING.replace("5 %", "4 %")}\npattern = "ring"\npasses = ["320 N m"]\n{adapter}'
    here = stand(keys)

    assert here.card().fields[0].hint == "Limits: 275.5 to 298.3 N m"
    assert here.out({"value": "320"}, "1, pass 1").verdict == "out"
    assert here.good({"value": "286.9"}, "1, pass 1").computed["bolt"] == "320.0"


def test_the_card_says_where_one_comes_from_is_and_goes() -> None:
    card = tightened(stand(), "1", "7", "4").card()

    assert card.kind_line == "Torque. Pass 1 of 1. Bolt 4 of 12 in the star order"
    assert (card.heading, card.on) == ("Bolt 10: tighten to 24.0 N m", "bolt 10")
    scale, star = card.drawings
    assert isinstance(scale, Scale)
    assert isinstance(star, StarMap)
    assert (star.way, star.here, star.then, star.middle) == (
        ("1", "7", "4", "10"),
        "10",
        "2",
        "1 of 1",
    )
    assert star.label.endswith("1, 7, 4 done in this pass. Now bolt 10. Then bolt 2.")


def test_the_bar_of_a_bolt_out_of_turn_is_off_and_says_why() -> None:
    card = tightened(stand(), "1", "7", "4").card("2, pass 1")

    assert card.off == "Bolt 2 is not next. Tighten bolt 10 first. Nothing was saved."


def test_a_bolt_already_tight_can_be_corrected() -> None:
    here = tightened(stand(), "1", "7")

    assert here.judge({"value": "23.9"}, "1, pass 1").saying.startswith("Bolt 1: 23.9")  # type: ignore[union-attr]
    assert here.card("1, pass 1").fields


def test_nobody_tightens_a_bolt_again_blind() -> None:
    step: Step = step_of("torque", ONE, check="independent")

    assert Stand(step).faults() == [
        "check: This is done once: nobody can do it again as if it had not been done."
    ]


LIST = 'bolts = { shape = "list", names = ["A", "B"] }\nunit = "N m"\ntolerance = 1\npasses = [9]'
FAULTS = (
    (f'{RING.replace("N m", "kN")}\npasses = ["9 kN"]', "unit: kN does not measure a torque."),
    (f"{RING}\npasses = []", "passes: The passes are not 1 to 8 torques in N m."),
    (f'{RING}\npasses = ["9 kN"]', "passes: The passes are not 1 to 8 torques in N m."),
    (f"{RING}\npasses = [24, 12]", "passes: A pass asks for less than the one before it."),
    (f'{LIST}\npattern = "cross"', "pattern: A cross pattern needs the bolts on one ring."),
    (f'{LIST}\npattern = ["A"]', "pattern: The pattern does not name every bolt once."),
    (f'{LIST}\npattern = "star"', 'pattern: "star" is not one of cross, ring.'),
    (
        f"{ONE.replace('5 %', '100 %')}",
        "tolerance: The tolerance is below nothing, or as large as the torque.",
    ),
    (
        f'{ONE}\nadapter = {{ length = "0 mm", adapter = "1 mm" }}',
        "adapter: The adapter leaves no lever.",
    ),
    (f'{ONE}\nverify = "-1 deg"', "verify: A bolt cannot turn by less than nothing."),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_what_nobody_could_tighten_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("torque", keys)


def test_bolts_in_a_list_are_tightened_in_the_order_given() -> None:
    here = stand(f'{LIST}\npattern = ["B", "A"]')

    assert here.card().part == "B, pass 1"
    assert [type(drawing) for drawing in here.card().drawings] == [Scale]


def test_the_record_says_what_the_bolt_got() -> None:
    adapter = 'adapter = { length = "650 mm", adapter = "75 mm" }'
    here = stand(f'{RING}\npattern = "ring"\npasses = ["320 N m"]\n{adapter}')
    here.enter({"value": "286.9", "tool": "TW-05"}, "1, pass 1")

    (line,) = here.lines()

    assert line.what == "1, pass 1"
    assert line.value == "286.9 N m, on the bolt 320.0 N m; with TW-05"
    assert line.limits == "272.6 to 301.2 N m"
