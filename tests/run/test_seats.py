"""Nobody fills two seats of a step, and nobody fills a seat whose role they do not hold."""

from __future__ import annotations

from app.run.commands import Sign
from tests.run.stage import Stage, refused


def gap_read() -> Stage:
    """Return a stage on which AB has read the gap and nobody has signed."""
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="1.5"))
    return stage


def test_one_person_does_not_sign_twice() -> None:
    stage = gap_read()
    stage.must(stage.sign("AB", "gap"))

    answer = refused(stage.sign("AB", "gap"))

    assert answer.code == "seat.same_person"
    assert answer.sentence == (
        "AB has already signed step 6. Another person must take the next seat: supervisor."
    )
    assert answer.recorded


def test_the_first_seat_is_for_whoever_did_it() -> None:
    stage = gap_read()

    answer = refused(stage.sign("KM", "gap"))

    assert answer.code == "seat.performer"
    assert answer.sentence == (
        "The seat left is for whoever did step 6: AB. "
        "If they cannot, report a trouble: then it is done again."
    )


def test_a_role_that_the_step_does_not_ask_for_may_not_enter() -> None:
    stage = Stage().unfastened().counted()

    answer = refused(stage.enter("HL", "gap", value="1.5"))

    assert answer.code == "seat.role"
    assert answer.sentence == "Only a technician can do this. HL is lead."


def test_a_signature_without_its_own_secret_is_refused() -> None:
    stage = gap_read()

    answer = refused(stage.ask(Sign(by="AB", step="gap", signed=False, seen=stage.state.seq)))

    assert answer.code == "signature.secret"


def test_nothing_is_signed_before_it_is_entered() -> None:
    stage = Stage().unfastened().counted()

    assert refused(stage.sign("AB", "gap")).code == "sign.too_early"


def test_a_step_of_two_seats_waits_for_the_second() -> None:
    stage = gap_read()

    stage.must(stage.sign("AB", "gap"))
    assert not stage.done("gap")

    stage.must(stage.sign("SL", "gap"))
    assert stage.done("gap")


def test_a_signature_on_what_was_changed_meanwhile_is_not_saved() -> None:
    stage = gap_read()
    seen = stage.state.seq
    entry = stage.state.progress("gap").live()[0].number
    stage.must(stage.ask_correction("AB", entry, "read the wrong gauge", value="1.6"))

    answer = refused(stage.ask(Sign(by="AB", step="gap", signed=True, seen=seen)))

    assert answer.code == "hold.changed"
    assert answer.sentence == (
        "Step 6 was changed while you were reading. "
        "Your signature was not saved. Read the new line, then sign."
    )


def test_before_an_irreversible_act_all_agree_first() -> None:
    stage = Stage().held()
    stage.must(stage.sign("AB", "lift"))

    answer = refused(stage.enter("AB", "lift", tool="SP-1"))

    assert answer.code == "seat.before"
    assert answer.sentence == (
        "Step 8 is not open. All 2 must agree before the act. Still to sign: supervisor."
    )


def test_only_one_who_agreed_does_the_act() -> None:
    stage = Stage().held()
    stage.must(stage.sign("AB", "lift"))
    stage.must(stage.sign("SL", "lift"))

    answer = refused(stage.enter("KM", "lift", tool="SP-1"))

    assert answer.code == "seat.not_agreed"
    assert answer.sentence == "KM did not agree to this act. AB or SL can enter it."


def test_the_tool_of_a_lift_must_be_named() -> None:
    stage = Stage().held()
    stage.must(stage.sign("AB", "lift"))
    stage.must(stage.sign("SL", "lift"))

    assert refused(stage.enter("AB", "lift")).code == "typed.tool.missing"


def test_who_was_not_briefed_does_not_act_until_briefed() -> None:
    stage = Stage().unfastened()
    answer = refused(stage.enter("TW", "count", signed=True, count="0"))
    assert answer.code == "people.not_briefed"
    assert answer.sentence == ("TW has not been briefed on this run. Brief TW first, on step 1.")

    stage.must(stage.enter("TW", "brief", "TW", signed=True))

    stage.must(stage.enter("TW", "count", signed=True, count="0"))


def test_everyone_speaks_for_themselves_at_the_briefing() -> None:
    stage = Stage()

    assert refused(stage.enter("AB", "brief", "KM", signed=True)).code == "part.unknown"
    assert refused(stage.enter("AB", "brief", "AB")).code == "signature.secret"


def test_the_briefing_is_not_over_while_the_crew_is_too_small() -> None:
    stage = Stage()
    for person in ("AB", "KM", "SL"):
        stage.must(stage.enter(person, "brief", person, signed=True))

    assert refused(stage.sign("SL", "brief")).code == "sign.too_early"


def test_someone_unknown_to_the_site_does_nothing() -> None:
    stage = Stage().briefed()

    assert refused(stage.enter("XX", "wind", value="3.0")).code == "person.unknown"


def test_an_auditor_has_no_way_to_act() -> None:
    stage = Stage()

    assert refused(stage.sign("AU", "brief")).code == "seat.role"
