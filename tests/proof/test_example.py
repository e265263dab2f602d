"""The worked example of the design: a release, a count, a hold, a lift."""

from __future__ import annotations

import pytest

from tests.procedure.texts import planted
from tests.proof.texts import COUNT, GOOD, HOLD, LIFT, RELEASE, proof_of, shown

NO_CONFIRMS = HOLD.replace("confirms = { brackets = 0 }\n", "")


def test_release_count_and_hold_are_the_one_minimal_cut_set_and_take_four_people() -> None:
    found = shown(proof_of())

    assert found.people == 4
    assert [set(cut.steps) for cut in found.weakest] == [{"brackets-off", "count", "hold"}]
    assert found.stronger == 0


def test_the_releaser_may_be_a_counter_and_the_supervisor_may_not() -> None:
    people = shown(proof_of()).weakest[0].people

    together = [{part.id for part in person} for person in people]
    assert {"brackets-off", "count"} in together
    assert {"hold"} in together


@pytest.mark.parametrize(
    ("text", "people"),
    [
        (GOOD.replace(COUNT, ""), 2),
        (GOOD.replace(COUNT, "").replace(HOLD, NO_CONFIRMS), 1),
        (GOOD.replace(HOLD, NO_CONFIRMS), 3),
        (GOOD.replace(HOLD, ""), 3),
        # two counters instead of three, and the releaser kept out of the count
        (planted(GOOD, '"technician", "technician", "technician"]', '"technician", "technician"]'), 3),
        (planted(GOOD, COUNT, COUNT + 'not_same_as = ["brackets-off"]\n'), 5),
        # whoever looks again at the lift itself
        (planted(GOOD, "sets = { load_on", "confirms = { brackets = 0 }\nsets = { load_on"), 4),
        # a hold between: whoever released before it may countersign after it
        (planted(GOOD, COUNT, HOLD.replace('id = "hold"', 'id = "first"')), 2),
    ],
)  # fmt: skip
def test_variants_of_the_example(text: str, people: int) -> None:
    assert shown(proof_of(text)).people == people


def test_a_hold_between_frees_whoever_performed_before_it() -> None:
    """Released before the first hold, countersigned at the second: the same person may do both."""
    between = NO_CONFIRMS.replace('id = "hold"', 'id = "first"')
    text = planted(GOOD.replace(COUNT, ""), HOLD, between + HOLD)

    found = shown(proof_of(text))

    assert found.people == 1
    assert {part.id for part in found.weakest[0].people[0]} == {"brackets-off", "hold"}


def test_a_fact_made_twice_must_be_signed_wrongly_twice() -> None:
    """The later one done rightly makes it true, so there is one cut set, of both."""
    again = RELEASE.replace("brackets-off", "brackets-again")
    text = planted(GOOD, RELEASE, RELEASE + again).replace(COUNT, "").replace(HOLD, NO_CONFIRMS)

    found = shown(proof_of(text))

    assert [set(cut.steps) for cut in found.weakest] == [{"brackets-off", "brackets-again"}]
    assert found.people == 1


def test_every_cut_set_with_the_least_figure_is_shown() -> None:
    """Lifted twice with a refastening between: three ways, and one person is enough for each."""
    lower = '[[sections.steps]]\nid = "lower"\nkind = "tick"\ndo = "Set it down."\nsets = { load_on = "cell" }\n'
    refasten = lower.replace("lower", "refasten").replace('load_on = "cell"', "brackets = 3")
    release = RELEASE.replace("brackets-off", "release-again")
    lift = LIFT.replace('id = "lift"', 'id = "lift-again"')
    text = (
        planted(GOOD, COUNT, "")
        .replace(HOLD, "")
        .replace(LIFT, LIFT + lower + refasten + release + lift)
    )

    found = shown(proof_of(text))

    assert {cut.steps for cut in found.weakest} == {
        ("brackets-off",),
        ("lower",),
        ("release-again",),
    }
    assert (found.people, found.stronger) == (1, 0)
    assert [cut.way[-1].id for cut in found.weakest] == ["lift", "refasten", "lift-again"]


def test_the_weakest_path_is_told_in_words() -> None:
    assert shown(proof_of()).weakest[0].words == (
        "step 6, brackets-off, signed, not done; step 7, count, confirms what is not so; "
        "step 8, hold, confirms what is not so; step 9, lift, makes load on hooks."
    )


def test_an_order_leaves_out_what_a_free_section_need_not_have_done() -> None:
    text = planted(
        GOOD,
        RELEASE,
        RELEASE
        + RELEASE.replace("brackets-off", "early").replace("brackets = 0", 'load_on = "hooks"'),
    )

    way = shown(proof_of(text)).weakest[0].way

    assert [taken.id for taken in way] == ["brief", "doors-shut", "cover-off", "early"]
