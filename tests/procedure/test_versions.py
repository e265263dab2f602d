"""What changed between two texts, and whether the crew must read it anew."""

from __future__ import annotations

import pytest

from app.procedure.loader import load_procedure
from app.procedure.model import Procedure
from app.procedure.versions import Changes, compare
from tests.procedure.texts import QP4_TEXT, planted, the_site


def procedure(text: str) -> Procedure:
    found, faults = load_procedure(text, "QP-4.toml", the_site())
    assert found is not None, [str(fault) for fault in faults]
    return found


def since(old: str, new: str, *, revision: int = 4) -> Changes:
    text = planted(planted(QP4_TEXT, old, new), "revision = 3", f"revision = {revision}")
    return compare(procedure(QP4_TEXT), procedure(text))


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("at_least = 18\n", "at_least = 17\n", "limits"),
        ('age = "30 min"', 'age = "60 min"', "fresh"),
        ('needs = { place = "hall", doors = "shut" }', 'needs = { doors = "shut" }', "needs"),
        ('sets = { hooks = "engaged" }\n', "", "sets"),
        ('sign = ["technician", "lift-director", "supervisor"]', 'sign = ["technician", "lift-director"]', "seats"),
        ('warning = "Hands stay out from between hook and glass."', 'warning = "Hands stay out."', "warning"),
        ('mirror = "The hook comes in slack. It must not touch the edge before its pad does."\n', "", "mirror"),
        ('do = "Give the go for the lift, or refuse it."', 'do = "Give the go, or refuse it."', "do"),
        ('back_out = "Search the cell from below before anything else moves."', 'back_out = "Search the cell."', "back_out"),
        ('safe_state = "Load on the supports, hooks slack but engaged. ', 'safe_state = "Load on the supports. ', "safe_state"),
        ('title = "Make ready"\n', 'title = "Make ready"\norder = "any"\n', "sections"),
        ("apart = \"2 min\"\nneeds", "apart = \"3 min\"\nneeds", "apart"),
    ],
)  # fmt: skip
def test_what_touches_the_work_is_major(old: str, new: str, key: str) -> None:
    changes = since(old, new)

    assert changes.weight == "major"
    assert [change.key for change in changes.changes if change.major] == [key]


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('why = "What creeps, creeps now, over the supports, where it can land."\n', "", "why"),
        ('planned = "8 h"', 'planned = "9 h"', "planned"),
        ('title = "Rig the spider"', 'title = "Rig it"', "section titles"),
    ],
)
def test_the_rest_is_minor(old: str, new: str, key: str) -> None:
    changes = since(old, new)

    assert (changes.weight, [change.key for change in changes.changes]) == ("minor", [key])


def test_a_step_that_changed_places_is_major() -> None:
    start, end = (
        QP4_TEXT.index('[[sections.steps]]\nid = "dew-margin"'),
        QP4_TEXT.index('[[sections.steps]]\nid = "cover-off"'),
    )
    step = QP4_TEXT[start:end]
    hall = QP4_TEXT.index('[[sections.steps]]\nid = "hall-air"')
    moved = QP4_TEXT[:hall] + step + QP4_TEXT[hall:start] + QP4_TEXT[end:]

    changes = compare(procedure(QP4_TEXT), procedure(moved))

    (change,) = changes.changes
    assert str(change) == "major: dew-margin, order: 2: hall-air -> dew-margin"


def test_a_step_taken_out_is_major() -> None:
    start, end = (
        QP4_TEXT.index('[[sections.steps]]\nid = "brackets-reconciled"'),
        QP4_TEXT.index('[[sections.steps]]\nid = "brackets-seen"'),
    )
    text = (QP4_TEXT[:start] + QP4_TEXT[end:]).replace('"brackets-reconciled", ', "")

    changes = compare(procedure(QP4_TEXT), procedure(text))

    assert "major: brackets-reconciled, step: there -> nothing" in [str(c) for c in changes.changes]


def test_a_comment_alone_changes_nothing_but_is_another_text() -> None:
    changes = compare(procedure(QP4_TEXT), procedure("# A word more.\n" + QP4_TEXT))

    assert changes.weight == "none"
    (fault,) = changes.faults()
    assert fault.what == "The text is not that of revision 3, and says it is revision 3."


@pytest.mark.parametrize(("revision", "faults"), [(3, 1), (4, 0), (5, 1), (2, 1)])
def test_a_revision_grows_by_one(revision: int, faults: int) -> None:
    changes = since('planned = "8 h"', 'planned = "9 h"', revision=revision)

    assert len(list(changes.faults())) == faults


def test_the_same_text_is_no_new_revision() -> None:
    changes = compare(procedure(QP4_TEXT), procedure(QP4_TEXT))

    assert (changes.weight, list(changes.faults())) == ("none", [])


def test_limits_are_told_in_words() -> None:
    changes = since(
        "total = { at_least = 3.3, at_most = 4.9 }", "total = { at_least = 3.3, at_most = 5.0 }"
    )
    waits = since('apart = "2 min"\nneeds', 'apart = "90 s"\nneeds')

    assert [str(c) for c in changes.changes] == [
        "major: load-tenth, total: 3.3 to 4.9 kN -> 3.3 to 5.0 kN"
    ]
    assert [str(c) for c in waits.changes] == ["major: laterals-off, apart: 2 min -> 90 s"]
