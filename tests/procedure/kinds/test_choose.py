"""A choice: one way on, with the reason; what it opens surely comes later."""

from __future__ import annotations

import pytest

from app.procedure.model import Step
from tests.procedure.kinds.stand import Stand, step_of, told

KEYS = """
branches = [{ name = "accept" }, { name = "wash again", steps = ["wash"] }]
"""


def deciding(keys: str = KEYS) -> Stand:
    wash: Step = step_of("tick", id="wash", number=3)
    return Stand(step_of("choose", keys, id="decide", number=2), others=[wash])


def test_a_way_on_has_a_reason() -> None:
    stand = deciding()

    assert stand.refused({"branch": "accept"}).code == "words.empty"
    assert stand.refused({"branch": "burn", "why": "x"}).sentence == (
        "Choose one: accept, wash again. Nothing was saved."
    )
    assert (
        stand.good({"branch": "wash again", "why": "Haze."}).saying
        == "wash again was chosen: Haze."
    )


def test_the_branch_chosen_is_known() -> None:
    stand = deciding()
    stand.enter({"branch": "accept", "why": "It is within its limits"})

    assert stand.kind.taken(stand.step, stand.so_far()) == "accept"
    assert stand.kind.branches(stand.step, stand.procedure) == {
        "accept": (),
        "wash again": ("wash",),
    }


def test_the_card_says_what_each_way_opens() -> None:
    rows = deciding().card().own["rows"]

    assert isinstance(rows, tuple)
    assert [row["steps"] for row in rows] == ["opens no step of its own", "opens step 3"]


RULES = (
    ('steps = ["wash"] }, { name = "b", steps = ["wash"]', "A step stands in two branches."),
    ('steps = ["polish"]', "There is no step polish."),
    ('steps = ["decide"]', "decide comes before the choice."),
    ('sections = ["Two"]', 'There is no section "Two".'),
)


@pytest.mark.parametrize(("branch", "what"), RULES)
def test_a_branch_opens_later_steps_of_its_own(branch: str, what: str) -> None:
    stand = deciding(f'branches = [{{ name = "a" }}, {{ name = "c", {branch} }}]')

    assert any(what in fault for fault in stand.faults())


FAULTS = (
    ('branches = [{ name = "a" }]', "branches: There is nothing to choose from."),
    ('branches = [{ name = "a" }, { name = "a" }]', "branches: Two branches are alike."),
    ('branches = [{ steps = [] }, { name = "a" }]', "branches.name: This table has no name."),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_choice_of_one_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("choose", keys)
