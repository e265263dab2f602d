from __future__ import annotations

from app.procedure.kinds.hold import Evidence
from tests.procedure.kinds.stand import Stand, step_of, told

COUNT = step_of("count", 'of = "brackets"\nexpect = 0', id="gone", number=1)
RELEASED = 'statement = "Nothing holds it."\nevidence = ["gone"]\nat_mirror = true'


def evidence(stand: Stand) -> Evidence:
    found = stand.card().own["evidence"]
    assert isinstance(found, tuple)
    (one,) = found
    assert isinstance(one, Evidence)
    return one


def test_a_hold_is_signed_not_entered() -> None:
    stand = Stand(step_of("hold", RELEASED, number=2), others=[COUNT])

    assert stand.refused().code == "hold.no_entry"
    assert stand.missing() == ""
    assert (stand.kind.closing, stand.kind.is_hold) == ("signature", True)
    assert stand.kind.rests_on(stand.step) == ("gone",)


def test_the_evidence_is_shown_once_its_step_is_done() -> None:
    counting = Stand(COUNT)
    counting.enter({"count": "0"})
    stand = Stand(
        step_of("hold", RELEASED, number=2), others=[COUNT], entries=dict(counting.entries)
    )

    assert (evidence(stand).done, evidence(stand).lines) == (False, ())
    stand.done.add("gone")

    shown = evidence(stand)
    assert shown.done
    assert [(line.what, line.value, line.verdict) for line in shown.lines] == [
        ("Brackets", "0", "Good")
    ]


def test_evidence_comes_before_the_hold() -> None:
    later = step_of("tick", id="gone", number=3)
    stand = Stand(step_of("hold", RELEASED, number=2), others=[later])
    none = Stand(step_of("hold", RELEASED, number=2))

    assert stand.faults() == ["evidence: gone comes later."]
    assert none.faults() == ["evidence: There is no step gone."]


def test_a_hold_says_what_is_signed() -> None:
    assert told("hold", "") == ["statement: This step has no statement."]
    assert told("hold", 'statement = "x"\nevidence = ["a", "a"]') == [
        "evidence: A step is named twice."
    ]
