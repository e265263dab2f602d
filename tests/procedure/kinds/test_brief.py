from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.procedure.kinds.stand import Stand, step_of, told

TOPICS = 'topics = ["Who stops work.", "What changed."]'
TECHNICIAN, BOTH = frozenset({"technician"}), frozenset({"technician", "supervisor"})


def briefing(roles: Mapping[str, frozenset[str]], **crew: int) -> Stand:
    return Stand(step_of("brief", TOPICS), crew=crew, roles=roles)


def enter_all(stand: Stand, people: str) -> None:
    for person in people:
        stand.who = person
        stand.enter(part=person)


def test_nobody_says_it_for_another() -> None:
    stand = briefing({"A": TECHNICIAN, "B": TECHNICIAN}, technician=1)
    stand.who = "A"

    assert stand.refused(part="B").code == "brief.own"
    assert stand.refused(part="").code == "brief.own"
    stand.good(part="A")


CREWS = (
    ("A", "1 supervisor and 1 technician"),  # one person with two roles fills one place
    ("AB", "1 technician"),
    ("BC", ""),
    ("CB", ""),
    ("BCD", ""),
    ("CD", "1 supervisor"),
)


@pytest.mark.parametrize(("present", "missing"), CREWS)
def test_each_person_fills_one_place(present: str, missing: str) -> None:
    roles = {"A": frozenset({"auditor"}), "B": BOTH, "C": TECHNICIAN, "D": TECHNICIAN}
    stand = briefing(roles, technician=1, supervisor=1)

    enter_all(stand, present)

    assert stand.missing() == (f"Still to be briefed: {missing}." if missing else "")


def test_people_move_along_to_make_room() -> None:
    roles = {"B": BOTH, "C": BOTH, "D": TECHNICIAN, "E": TECHNICIAN}
    stand = briefing(roles, technician=2, supervisor=2)

    enter_all(stand, "BCDE")

    assert stand.missing() == ""


def test_a_rarer_role_is_left_to_the_one_who_has_no_other() -> None:
    safety = frozenset({"safety"})
    roles = {"B": frozenset({"lead"}) | safety, "C": frozenset({"lead"}), "X": safety, "Y": safety}
    stand = briefing(roles, lead=1, safety=1)

    enter_all(stand, "BC")

    assert stand.missing() == ""


def test_saying_it_twice_is_not_two_people() -> None:
    stand = briefing({"C": TECHNICIAN}, technician=2)

    enter_all(stand, "CC")

    assert stand.missing() == "Still to be briefed: 1 technician."


def test_the_card_shows_the_topics_and_who_is_here() -> None:
    stand = briefing({"C": TECHNICIAN, "D": TECHNICIAN}, technician=2)
    enter_all(stand, "C")

    card = stand.card()
    stand.who = "D"

    assert card.off == "C has said so already"
    assert stand.card().off == ""
    assert card.own["topics"] == ("Who stops work.", "What changed.")
    assert stand.kind.parts(stand.step, stand.at) == ("C", "D")


def test_a_briefing_has_topics() -> None:
    assert told("brief", "topics = []") == ["topics: There are no topics."]
