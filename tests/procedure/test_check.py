from __future__ import annotations

import pytest

from app.procedure.check import check
from tests.procedure.texts import HEAD, QP4_TEXT, SITE_TEXT, STEP, line_of, planted, said


def faults_of(text: str, pictures: set[str] | None = None) -> list[str]:
    return said(check({"site.toml": SITE_TEXT, "QP-9.toml": text}, pictures).faults)


def step(more: str, *, kind: str = "tick", do: str = "Look at the mirror.") -> str:
    return HEAD + f'[[sections.steps]]\nid = "look"\nkind = "{kind}"\ndo = "{do}"\n{more}'


LINE = HEAD.count("\n") + 5  # the first key that a test adds
LIFT = 'do = "Take the load on the hooks."'


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            step('critical = true\nback_out = "Put it back."\ncheck = "before"'),
            f"QP-9.toml:{LINE}: critical: An act that cannot be undone has one seat. Name two or more roles in sign.",
        ),
        (
            step('critical = true\nsign = ["technician", "supervisor"]\ncheck = "before"'),
            f"QP-9.toml:{LINE}: critical: An act that cannot be undone says no way back to a safe state. Write back_out, or no_return = true.",
        ),
        (
            step('check = "after"\ncritical = true\nsign = ["technician", "supervisor"]\nno_return = true'),
            f'QP-9.toml:{LINE}: check: An act that cannot be undone is signed only after it is done. Write check = "before".',
        ),
        (
            step('check = "after"\ntool = "spider"\nsets = { load_on = "hooks" }', do="Take the load."),
            f'QP-9.toml:{LINE}: check: This act leads towards lifted-while-fastened, and is signed only after it is done. Write check = "before".',
        ),
        (
            step('sets = { load_on = "hooks" }\ncheck = "before"', do="Take the load on the hooks."),
            f"QP-9.toml:{LINE - 4}: tool: A lift names no tool. Write the kind of tool whose serial must be named.",
        ),
        (
            step('sign = ["auditor"]'),
            f"QP-9.toml:{LINE}: sign: The role auditor may not perform, so it cannot fill a seat. Name a role that has the ability perform.",
        ),
        (
            step('sign = ["technician", "technician", "technician"]'),
            f"QP-9.toml:{LINE}: sign: This step seats 3 of technician, and the crew has 2. Raise technician in crew to 3 or more.",
        ),
        (
            step('sign = ["technician"]\nstatement = "All is well."', kind="hold"),
            f"QP-9.toml:{LINE}: sign: No seat of this hold may release it. Give a seat to a supervisor or lead or safety.",
        ),
        (
            step('check = "independent"\nexpect = 2\nof = "pins"', kind="count"),
            f"QP-9.toml:{LINE}: check: One person cannot be independent of themselves. Name two or more roles in sign.",
        ),
        (
            step('apart = "2 min"'),
            f'QP-9.toml:{LINE}: apart: Only independent entries can be kept apart in time. Write check = "independent", or take apart out.',
        ),
        (
            step('at_least = "5 min"', kind="dwell", do="Leave the acid on the mirror."),
            f'QP-9.toml:{LINE - 4}: at_most: A dwell that speaks of acid has no upper limit. Write at_most = "10 min".',
        ),
        (
            step("", do="Tighten to 44 N m."),
            f"QP-9.toml:{LINE - 1}: do: 44 is not a limit of this step. Write it as a limit, name it in braces, or leave it out.",
        ),
        (
            step('back_out = "Lower by 3 at 0.05 m/min."'),
            f"QP-9.toml:{LINE}: back_out: 3 is not a limit of this step. Write it as a limit, name it in braces, or leave it out.",
        ),
        (
            step("", do="Look at the mirror. Take it."),
            f"QP-9.toml:{LINE - 1}: do: The instruction is more than one act. Make it two steps, or put the rest in why.",
        ),
        (
            step('why = "WARNING of heat."'),
            f"QP-9.toml:{LINE}: why: WARNING stands inside another text. Write it under warning.",
        ),
        (
            step('picture = "a.png"\npicture_text = "A pad."'),
            f"QP-9.toml:{LINE}: picture: a.png is not beside the procedure. Put the file there, or take picture out.",
        ),
        (
            step('picture = "there.png"'),
            f"QP-9.toml:{LINE}: picture: there.png has no words. Say in picture_text what it shows.",
        ),
    ],
)  # fmt: skip
def test_each_rule_of_the_trade_speaks_at_its_line(text: str, sentence: str) -> None:
    assert faults_of(text, {"there.png"}) == [sentence]


def test_a_deadline_says_what_to_do_when_it_is_missed() -> None:
    second = STEP.replace("look", "again") + 'within = { of = "look", at_most = "5 min" }\n'

    assert faults_of(HEAD + STEP + second) == [
        f"QP-9.toml:{LINE + 4}: within: This deadline does not say what to do when it is missed. "
        "Name the step to go to in if_missed."
    ]


@pytest.mark.parametrize(
    "do",
    [
        "Take bracket B01 off its M12 bolts, as QP-4 says.",
        "Begin at 12 o'clock.",
        "Take two bolts.",
        "Wait 5 min.",
        "Wait {at_least}.",
        "Wait 5.0 min.",
    ],
)
def test_names_marks_words_and_own_limits_are_no_second_limit(do: str) -> None:
    assert faults_of(step('at_least = "5 min"\nat_most = "9 min"', kind="dwell", do=do)) == []


BLIND = """[[sections.steps]]
id = "pins"
kind = "count"
do = "Count the pins."
of = "pins"
expect = 24
sign = ["technician", "technician"]
check = "independent"
"""


@pytest.mark.parametrize(
    ("earlier", "own", "key", "line", "sentence"),
    [
        ("", 'why = "There must be {expect}."\n', "why", 20, "The people who count would read here what they must find. Take the number out."),
        ("", 'why = "Twenty-four is right."\n', "why", 20, "The people who count would read here what they must find. Take the number out."),
        ("", 'starts = ["24", "25"]\n', "starts", 20, "The people who count would read here what they must find. Take the number out."),
        (STEP + 'why = "All twenty-four pins are there."\n', "", "why", 16, "This tells how many pins there must be. pins counts it blind: take the number out."),
        ('[[sections.steps]]\nid = "open"\nkind = "count"\ndo = "Count."\nof = "pins"\nexpect = 24\n', "", "expect", 17, "This open count tells how many pins. pins counts it blind: take the number out."),
    ],
)  # fmt: skip
def test_nobody_reads_beforehand_what_a_blind_count_must_find(
    earlier: str, own: str, key: str, line: int, sentence: str
) -> None:
    found = faults_of(HEAD + earlier + BLIND + own)

    assert f"QP-9.toml:{line}: {key}: {sentence}" in found


def test_the_parts_of_a_blind_count_are_not_told_either() -> None:
    parts = BLIND.replace("expect = 24\n", "parts = { in_place = 3, tray = 21 }\n")

    found = faults_of(HEAD + parts + 'why = "{parts.tray} lie in the tray."\n')

    assert found == [
        "QP-9.toml:20: why: The people who count would read here what they must find. "
        "Take the number out."
    ]
    assert faults_of(HEAD + parts) == []


def test_a_blind_count_that_tells_nothing_has_no_fault() -> None:
    earlier = STEP + 'why = "Pins were fitted at 24 places of the cell, long ago."\n'

    assert faults_of(HEAD + BLIND) == []
    assert [f for f in faults_of(HEAD + earlier + BLIND) if "how many" not in f] == [
        "QP-9.toml:16: why: 24 is not a limit of this step. "
        "Write it as a limit, name it in braces, or leave it out."
    ]


def test_the_rules_of_a_kind_speak_at_the_line_of_their_key() -> None:
    text = planted(
        QP4_TEXT, 'starts = ["12 o\'clock", "4 o\'clock", "8 o\'clock"]', "starts = ['x']"
    )

    found = check({"site.toml": SITE_TEXT, "QP-4.toml": text}).faults

    assert [(fault.line, fault.key) for fault in found] == [(line_of(text, "starts ="), "starts")]


def test_a_step_whose_form_is_wrong_is_not_judged_twice() -> None:
    text = HEAD + STEP.replace("tick", "tock") + "critical = true\n" + STEP.replace("look", "x y")

    assert [fault.split(": ")[1] for fault in faults_of(text)] == ["kind", "id"]


def test_the_exit_code_says_released_faulty_or_unread() -> None:
    good = check({"site.toml": SITE_TEXT, "QP-9.toml": HEAD + STEP})
    faulty = check({"site.toml": SITE_TEXT, "QP-9.toml": HEAD + STEP + "zzz = 1"})
    unread = check({"site.toml": SITE_TEXT, "QP-9.toml": "= 1", "QP-8.toml": HEAD + "zzz = 1"})
    homeless = check({"QP-9.toml": HEAD + STEP})

    assert (good.exit_code, [each.id for each in good.procedures]) == (0, ["QP-9"])
    assert (faulty.exit_code, faulty.procedures) == (1, ())
    assert (unread.exit_code, unread.unread) == (2, ("QP-9.toml",))
    assert len(unread.faults) > 1
    assert (homeless.exit_code, said(homeless.faults)) == (
        2,
        ["site.toml:1: site: The site's file is not there. Name site.toml as well."],
    )


def test_the_report_is_also_plain_data() -> None:
    report = check({"a/site.toml": SITE_TEXT, "a/QP-9.toml": HEAD + STEP + "zzz = 1"})

    assert report.as_dict() == {
        "exit_code": 1,
        "files": ["a/site.toml", "a/QP-9.toml"],
        "unread": [],
        "faults": [
            {
                "file": "a/QP-9.toml",
                "line": LINE,
                "key": "zzz",
                "what": "zzz is not a key of this step.",
                "mend": "Take it out.",
            }
        ],
    }
