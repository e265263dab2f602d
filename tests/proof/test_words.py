"""The report: the verdict first, the hazards as a table, and the same as data."""

from __future__ import annotations

import json

from app.proof.checking import Checked, check_whole
from app.proof.words import told
from tests.procedure.texts import planted
from tests.proof.texts import COUNT, GOOD, HOLD, LIFT, RELEASE, SITE

WEAK = planted(GOOD, COUNT, COUNT.replace("confirms = { brackets = 0 }\n", ""))
UPSIDE_DOWN = planted(planted(GOOD, LIFT, ""), RELEASE, LIFT.replace('needs = { brackets = 0, cover = "off" }\n', "") + RELEASE)  # fmt: skip


def checked(text: str, against: str = "") -> Checked:
    given = {"site.toml": SITE, "QP-9.toml": text}
    return check_whole(given, against={"old.toml": against} if against else None)


def test_the_verdict_comes_first() -> None:
    assert next(told(checked(GOOD))) == "Can be released. No fault."
    assert next(told(checked(WEAK))) == "Cannot be released. 1 fault."
    assert next(told(checked("not a procedure"))) == "Could not be read: QP-9.toml."


def test_a_hazard_has_its_figure_its_bar_and_its_weakest_path() -> None:
    said = list(told(checked(GOOD)))

    at = said.index("  lifted-while-fastened       4       3  ●●●●")
    assert said[at + 1] == "    The edge breaks."
    assert said[at + 2].startswith("    Weakest path: step 6, brackets-off, signed, not done; ")
    assert said[at + 3].startswith("      person 1: ")


def test_missing_people_are_hollow_marks() -> None:
    said = list(told(checked(WEAK)))

    assert "  lifted-while-fastened       2       3  ●●○" in said
    assert any(line.startswith("  QP-9.toml:") and "2 people are enough" in line for line in said)


def test_an_order_of_right_entries_that_leads_to_harm_is_told_step_by_step() -> None:
    said = list(told(checked(UPSIDE_DOWN)))

    at = said.index("    Nobody need be wrong. The shortest such order:")
    assert said[at + 1 : at + 5] == [
        "      step 1, brief: done",
        "      step 2, doors-shut: done",
        "      step 3, cover-off: done",
        "      step 6, lift: makes load on hooks",
    ]
    assert "  No allowed order of right entries reaches a hazard." not in said


def test_what_was_searched_and_what_is_not_shown_is_said() -> None:
    said = list(told(checked(GOOD), seconds=0.25))

    assert "  2 files. 0.2 s." in said
    assert any(line.startswith("  QP-9: 9 steps, ") for line in said)
    assert "  Anything that is not a fact in site.toml." in said


def test_a_change_is_told_with_its_weight() -> None:
    new = planted(
        planted(GOOD, "revision = 1", "revision = 2"),
        'do = "Shut every door."',
        'do = "Shut all doors."',
    )

    said = list(told(checked(new, against=GOOD)))

    at = said.index(
        "Since revision 1 of QP-9: a major change. Whoever acknowledged it before must read it anew."
    )
    assert said[at + 1] == "  major: doors-shut, do: Shut every door. -> Shut all doors."


def test_the_same_is_data() -> None:
    found = json.loads(json.dumps(checked(WEAK).as_dict()))

    assert found["exit_code"] == 1
    (proof,) = found["proofs"]
    lifted = next(each for each in proof["hazards"] if each["id"] == "lifted-while-fastened")
    assert (lifted["people"], lifted["wanted"]) == (2, 3)
    assert lifted["weakest"][0]["steps"] == ["brackets-off", "hold"]


def test_the_drawing_has_a_ruler_lanes_and_marks() -> None:
    (proof,) = checked(GOOD).proved.proofs
    drawn = proof.drawn

    assert [notch.number for notch in drawn.ruler] == list(range(1, 10))
    assert [notch.id for notch in drawn.ruler if notch.hold] == ["hold"]
    assert [n.id for n in drawn.ruler if n.weak] == [
        "doors-shut",
        "cover-off",
        "brackets-off",
        "count",
        "hold",
    ]
    brackets = next(lane for lane in drawn.lanes if lane.fact == "brackets")
    assert [(s.value, s.after, s.until) for s in brackets.stretches] == [("3", 0, 6), ("0", 6, 9)]
    assert (brackets.confirmed, brackets.needed) == ((7, 8), (9,))
    assert brackets.hazards == ("lifted-while-fastened",)
    assert {(mark.hazard, mark.step, mark.people) for mark in drawn.marks} == {
        ("lifted-while-fastened", 9, 4),
        ("uncovered-to-daylight", 3, 2),
    }


def test_a_text_whose_form_is_unsound_is_said_not_to_be_proved() -> None:
    said = list(told(checked(planted(GOOD, HOLD, HOLD + "colour = 3\n"))))

    assert "  QP-9.toml was not proved: its form must be mended first." in said


def test_hazards_to_which_nothing_leads_are_named_in_one_line() -> None:
    text = planted(GOOD, 'sets = { load_on = "hooks" }', "").replace(
        'load_on = "hooks", brackets = 0, cover', "cover"
    )

    said = list(told(checked(text)))

    assert "  No entries, right or wrong, lead to 1 other hazard: lifted-while-fastened." in said
