"""Faulty procedures, one planted fault each: every one is found, at its line; the good ones pass."""

from __future__ import annotations

import pytest

from app.proof.checking import Checked, check_whole
from tests.procedure.texts import QP4_TEXT, SITE_TEXT, line_of, planted
from tests.proof import texts
from tests.proof.texts import BRIEF, COUNT, COVER, DOORS, GOOD, HOLD, LIFT, RELEASE

STEP = '[[sections.steps]]\nid = "{0}"\nkind = "tick"\ndo = "Look at the mirror."\n{1}\n'
SOON = 'sets = { load_on = "hooks" }'
UNCONFIRMED_HOLD = HOLD.replace("confirms = { brackets = 0 }\n", "")
LOOKED = planted(GOOD, COUNT, "").replace(HOLD, UNCONFIRMED_HOLD)
NEED = "needs = { brackets = 0, "


def checked(text: str, *more: str, against: str = "") -> Checked:
    given = {"site.toml": texts.SITE, "QP-9.toml": text}
    given |= {f"QP-{10 + i}.toml": each for i, each in enumerate(more)}
    return check_whole(given, against={"old.toml": against} if against else None)


def clamp(more: str) -> str:
    """The good procedure with a key more on its first clamp, in the section of free order."""
    return planted(
        GOOD, 'do = "Open the first clamp."\n', f'do = "Open the first clamp."\n{more}\n'
    )


# what is wrong: the text, where it must be found (a line's own words), what must be said there
FAULTY = {
    "the count comes after the lift": (
        planted(GOOD, COUNT, "").replace(LIFT, LIFT + COUNT),
        SOON,
        "2 people are enough for lifted-while-fastened",
    ),
    "one person is enough": (LOOKED, SOON, "1 person is enough for lifted-while-fastened"),
    "the count confirms nothing": (
        planted(GOOD, COUNT, COUNT.replace("confirms = { brackets = 0 }\n", "")),
        SOON,
        "2 people are enough for lifted-while-fastened",
    ),
    "one counts instead of three": (
        planted(
            GOOD,
            'sign = ["technician", "technician", "technician"]\ncheck = "independent"\n',
            "",
        ),
        SOON,
        "2 people are enough for lifted-while-fastened",
    ),
    "nobody looks at the doors when the cover comes off": (
        planted(GOOD, COVER, COVER.replace('confirms = { doors = "shut" }\n', "")),
        'sets = { cover = "off" }',
        "1 person is enough for uncovered-to-daylight",
    ),
    "the cover comes off before it is dark": (
        planted(
            planted(GOOD, DOORS, ""),
            COVER,
            COVER.replace('needs = { doors = "shut" }\nconfirms = { doors = "shut" }\n', "") + DOORS,
        ),
        'sets = { cover = "off" }',
        "Followed rightly, this leads to uncovered-to-daylight: step 2, cover-off, makes cover off.",
    ),
    "the cover waits for doors that are shut later": (
        planted(planted(GOOD, DOORS, ""), COVER, COVER + DOORS),
        'needs = { doors = "shut" }',
        "it must be so: doors shut",
    ),
    "the lift comes before the release, and needs nothing": (
        planted(planted(GOOD, LIFT, ""), DOORS, LIFT.replace('needs = { brackets = 0, cover = "off" }\n', "") + DOORS),
        SOON,
        "Followed rightly, this leads to lifted-while-fastened",
    ),
    "the lift stands in a section of free order": (
        planted(planted(GOOD, LIFT, ""), RELEASE, LIFT.replace('needs = { brackets = 0, cover = "off" }\n', "") + RELEASE),
        SOON,
        "Followed rightly, this leads to lifted-while-fastened",
    ),
    "refastened after the count": (
        planted(planted(GOOD, LIFT, STEP.format("refasten", "sets = { brackets = 3 }") + LIFT), NEED, "needs = { "),
        SOON,
        "Followed rightly, this leads to lifted-while-fastened",
    ),
    "one step unfastens and lifts": (
        planted(GOOD, "sets = { brackets = 0 }", 'sets = { brackets = 0, load_on = "hooks" }'),
        'sets = { brackets = 0, load_on = "hooks" }',
        "1 person is enough for lifted-while-fastened",
    ),
    "a step needs what the step before it undid": (
        planted(GOOD, HOLD, HOLD.replace("confirms = { brackets = 0 }", "needs = { brackets = 3 }")),
        "needs = { brackets = 3 }",
        "Step 8 never opens: it must be so: brackets 3. By then it is brackets 0. 1 step stands after it.",
    ),
    "a count confirms another number than was set": (
        planted(GOOD, COUNT, COUNT.replace("confirms = { brackets = 0 }", "confirms = { brackets = 1 }")),
        "confirms = { brackets = 1 }",
        "Step 7 never opens",
    ),
    "the lift needs its own effect": (
        planted(GOOD, NEED, 'needs = { load_on = "hooks", brackets = 0, '),
        'needs = { load_on = "hooks", brackets = 0, cover = "off" }',
        "Step 9 never opens: it must be so: load on hooks. Nothing before it makes it so",
    ),
    "a limit that the facts cannot meet": (
        planted(GOOD, NEED, "needs = { brackets = { at_least = 2 }, "),
        'needs = { brackets = { at_least = 2 }, cover = "off" }',
        "Step 9 never opens: it must be so: brackets at least 2.",
    ),
    "the cover is needed off and was put on again": (
        planted(GOOD, HOLD, STEP.format("cover-on", 'sets = { cover = "on" }') + HOLD),
        'needs = { brackets = 0, cover = "off" }',
        "Step 10 never opens: it must be so: cover off. By then it is cover on.",
    ),
    "the doors are opened instead of shut": (
        planted(GOOD, 'sets = { doors = "shut" }', 'sets = { doors = "open" }'),
        'needs = { doors = "shut" }',
        "Step 3 never opens",
    ),
    "needs the opposite of what was made": (
        planted(GOOD, 'needs = { doors = "shut" }', 'needs = { doors = { not = "shut" } }'),
        'needs = { doors = { not = "shut" } }',
        "Step 3 never opens",
    ),
    "two steps wait for each other": (
        planted(clamp('after = ["clamp-b"]'), 'do = "Open the second clamp."\n', 'do = "Open the second clamp."\nafter = ["clamp-a"]\n'),
        'after = ["clamp-b"]',
        "Step 4 never opens: it waits for step 5, clamp-b, which is not done.",
    ),
    "an interlock of time and one of order shut each other": (
        planted(
            clamp('after = ["clamp-b"]'),
            'do = "Open the second clamp."\n',
            'do = "Open the second clamp."\nwithin = { of = "clamp-a", at_least = "1 min" }\n',
        ),
        'within = { of = "clamp-a", at_least = "1 min" }',
        "Step 5 never opens: it waits for step 4, clamp-a, which is not done.",
    ),
    "a step that no order reaches": (
        clamp("needs = { brackets = 2 }"),
        "needs = { brackets = 2 }",
        "Step 4 never opens: it must be so: brackets 2.",
    ),
    "some order is a dead end": (
        clamp("needs = { brackets = 3 }"),
        "needs = { brackets = 3 }",
        "Step 4 stays shut for good after the order 1, 2, 3, 6, 5: it must be so: brackets 3. By then it is brackets 0.",
    ),
    "a dead end by two facts": (
        planted(clamp('needs = { place = "hall" }'), "sets = { brackets = 0 }", 'sets = { brackets = 0, place = "road" }').replace(
            'cover = "on" }\n', 'cover = "on", place = "hall" }\n', 1
        ),
        'needs = { place = "hall" }',
        "Step 4 stays shut for good",
    ),
    "the start does not ask for what the first step needs": (
        planted(GOOD, 'sets = { doors = "shut" }', 'needs = { place = "hall" }\nsets = { doors = "shut" }'),
        'needs = { place = "hall" }',
        "Nothing before it makes it so, and starts_with does not ask for it. Add place to starts_with.",
    ),
    "the start is another than the first step needs": (
        planted(GOOD, 'sets = { doors = "shut" }', 'needs = { cover = { not = "on" } }\nsets = { doors = "shut" }'),
        'needs = { cover = { not = "on" } }',
        "Step 2 never opens: it must be so: cover not on. Nothing before it makes it so, and the run starts with cover on.",
    ),
    "no board meets the start": (
        planted(GOOD, "brackets = 3, cover", "brackets = { at_least = 2, at_most = 1 }, cover"),
        'starts_with = { load_on = "cell", brackets = { at_least = 2, at_most = 1 }, cover = "on" }',
        "No value of brackets meets starts_with, so no run can be opened.",
    ),
    "the end leaves another number": (
        planted(GOOD, 'hooks", brackets = 0', 'hooks", brackets = 3'),
        'leaves = { load_on = "hooks", brackets = 3, cover = "off", doors = "shut" }',
        "The end does not leave brackets 3: it is 0.",
    ),
    "the end promises what no step makes so": (
        planted(GOOD, 'leaves = { load_on', 'leaves = { place = "road", load_on'),
        'leaves = { place = "road", load_on = "hooks", brackets = 0, cover = "off", doors = "shut" }',
        "The end does not leave place road: no step makes it so, nor does starts_with.",
    ),
    "one seat is to agree before the act, and no signature is taken": (
        planted(GOOD, 'sets = { doors = "shut" }', 'check = "before"\nsets = { doors = "shut" }'),
        'check = "before"\nsets = { doors = "shut" }',
        "The rules of seats let nobody enter on step 2 as technician, so it never ends.",
    ),
    "the one who may release the hold has done the work": (
        planted(GOOD, "needs = { cover = \"off\" }\nsets = { brackets = 0 }", 'sign = ["supervisor"]\nneeds = { cover = "off" }\nsets = { brackets = 0 }'),
        'sign = ["supervisor"]\nconfirms = { brackets = 0 }',
        "Steps 6 and 8 need 2 people as supervisor between them, and the least crew has 1: step 8 could not be signed.",
    ),
    "too few for a step that keeps others out": (
        planted(GOOD, COUNT, COUNT + 'not_same_as = ["brackets-off"]\n'),
        'sign = ["technician", "technician", "technician"]',
        "Steps 6 and 7 need 4 people as technician between them, and the least crew has 3",
    ),
    "somebody must be present whom nobody briefed": (
        planted(planted(GOOD, BRIEF, ""), 'sets = { doors = "shut" }', 'present = ["supervisor"]\nsets = { doors = "shut" }'),
        'present = ["supervisor"]',
        "Step 1 never opens: nobody is briefed before it.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTY)
def test_a_planted_fault_is_found_at_its_line(name: str) -> None:
    text, marker, sentence = FAULTY[name]

    found = checked(text)

    here = [str(fault) for fault in found.faults if fault.line == line_of(text, marker)]
    assert any(sentence in said for said in here), [str(fault) for fault in found.faults]
    assert found.exit_code == 1


def test_the_small_lift_and_the_flagship_pass() -> None:
    flagship = check_whole({"site.toml": SITE_TEXT, "QP-4.toml": QP4_TEXT})

    for found in (checked(GOOD), flagship):
        assert [str(fault) for fault in found.faults] == []
        assert found.questions == ()
        assert found.exit_code == 0


def test_every_hazard_of_the_flagship_takes_as_many_people_as_the_site_asks() -> None:
    (proof,) = check_whole({"site.toml": SITE_TEXT, "QP-4.toml": QP4_TEXT}).proved.proofs

    figures = {shown.id: shown.people for shown in proof.hazards}
    assert [shown.id for shown in proof.hazards if not shown.enough] == []
    # worked by hand from the seats of the steps that confirm each fact before the lift
    assert figures["lifted-while-fastened"] == 4
    assert figures["lifted-with-laterals-attached"] == 3
    assert figures["lifted-on-open-hooks"] == 3
    assert figures["uncovered-to-daylight"] == 2


def test_a_dead_end_with_a_way_back_is_a_question() -> None:
    text = clamp('needs = { brackets = 3 }\nback_out = "Fasten them again."')

    found = checked(text)

    assert found.exit_code == 0
    (question,) = found.questions
    assert question.line == line_of(text, "needs = { brackets = 3 }")
    assert question.what.endswith("The crew can only back out. Is that meant?")


NEXT = GOOD.replace('id = "QP-9"', 'id = "QP-10"').replace('{ load_on = "cell", brackets = 3, cover = "on" }', '{ load_on = "hooks", brackets = 0 }')  # fmt: skip


@pytest.mark.parametrize(
    ("starts", "sentence"),
    [
        (
            '{ load_on = "cell", brackets = 0 }',
            "QP-10 starts with load on cell, and QP-9 before it leaves load on hooks.",
        ),
        (
            '{ place = "road", brackets = 0 }',
            "QP-10 starts with place road, and QP-9 before it does not say so: place may be hall.",
        ),
    ],
)
def test_a_contract_that_does_not_chain_is_found(starts: str, sentence: str) -> None:
    second = planted(NEXT, '{ load_on = "hooks", brackets = 0 }', starts)

    found = checked(GOOD, second)

    (fault,) = [fault for fault in found.faults if fault.key.startswith("starts_with")]
    assert (fault.file, fault.line) == ("QP-10.toml", line_of(second, f"starts_with = {starts}"))
    assert fault.what == sentence


def test_procedures_that_chain_are_said_to() -> None:
    simple = NEXT[: NEXT.index("[[sections]]")].replace(
        'leaves = { load_on = "hooks", brackets = 0, cover = "off", doors = "shut" }\n', ""
    ) + '[[sections]]\ntitle = "S"\n' + STEP.format("look", "")  # fmt: skip

    assert [str(fault) for fault in checked(GOOD, simple).faults] == []


def test_a_text_changed_under_the_same_revision_is_found() -> None:
    found = checked(planted(GOOD, "Shut every door", "Shut each door"), against=GOOD)

    (fault,) = found.faults
    assert (fault.file, fault.line, fault.key) == ("QP-9.toml", 3, "revision")
    assert fault.mend == "Write revision = 2."
