"""A countersigner signs a sentence; what it rested on changes, and the signature falls."""

from __future__ import annotations

from app.run.commands import Correct, RefuseHold
from tests.run.stage import Stage, refused


def at_hold() -> Stage:
    """Return a stage that stands at the hold, signed once by a technician."""
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="1.5"))
    stage.must(stage.sign("AB", "gap"))
    stage.must(stage.sign("SL", "gap"))
    stage.must(stage.sign("KM", "hold"))
    return stage


def refuse(stage: Stage, by: str, reason: str) -> object:
    """Let someone refuse the hold."""
    return stage.ask(
        RefuseHold(by=by, step="hold", reason=reason, signed=True, seen=stage.state.seq)
    )


def test_the_countersigner_says_how_they_checked() -> None:
    assert refused(at_hold().sign("HL", "hold")).code == "typed.hold.how"


def test_photos_are_not_enough_where_the_hold_must_be_seen() -> None:
    answer = refused(at_hold().sign("HL", "hold", "Photos and readings only"))

    assert answer.code == "hold.how"


def test_a_refused_hold_voids_the_signatures_and_keeps_the_reason() -> None:
    stage = at_hold()

    refuse(stage, "HL", "Pad 2 still touches.")

    progress = stage.state.progress("hold")
    assert progress.signatures == ()
    assert progress.refusals[0].reason == "Pad 2 still touches."
    assert not progress.done


def test_a_refused_hold_may_be_signed_again() -> None:
    stage = at_hold()
    refuse(stage, "HL", "Pad 2 still touches.")

    stage.must(stage.sign("KM", "hold"))
    stage.must(stage.sign("HL", "hold", "I stood at the mirror"))

    assert stage.done("hold")


def test_a_refusal_says_why() -> None:
    assert refused(refuse(at_hold(), "HL", "  ")).code == "typed.hold.reason"  # type: ignore[arg-type]


def test_who_did_the_work_does_not_release_it() -> None:
    text_people = at_hold()
    person = text_people.crew.people["HL"]
    stage = Stage()
    stage.crew.people["HL"] = type(person)(  # type: ignore[index]
        id="HL", name="HL", roles=frozenset({"lead", "technician"})
    )
    stage.unfastened().counted()
    stage.must(stage.enter("HL", "gap", value="1.5"))
    stage.must(stage.sign("HL", "gap"))
    stage.must(stage.sign("SL", "gap"))
    stage.must(stage.sign("KM", "hold"))

    answer = refused(stage.sign("HL", "hold", "I stood at the mirror"))

    assert answer.code == "hold.own"
    assert answer.sentence.startswith("HL entered work since the last hold")


def test_a_correction_strikes_and_keeps_the_old_value() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    entry = stage.state.progress("wind").entries[0].number

    stage.must(stage.ask_correction("AB", entry, "read the wrong scale", value="4.0"))

    old, new = stage.state.progress("wind").entries
    assert (old.values["value"], old.struck) == ("3.0", "read the wrong scale")
    assert (new.values["value"], new.struck) == ("4.0", "")
    assert stage.done("wind")


def test_a_correction_under_a_hold_voids_the_countersignature_and_opens_the_hold() -> None:
    stage = Stage().held()
    entry = stage.state.progress("wind").live()[0].number

    stage.must(stage.ask_correction("AB", entry, "read the wrong scale", value="4.0"))

    hold = stage.state.progress("hold")
    assert not hold.done
    assert hold.signatures == ()
    assert "wrong scale" in hold.reopened
    assert refused(stage.sign("AB", "lift")).code == "order.not_open"

    stage.must(stage.sign("KM", "hold"))
    stage.must(stage.sign("HL", "hold", "I stood at the mirror"))
    stage.must(stage.sign("AB", "lift"))


def test_a_correction_voids_the_signatures_of_its_own_step() -> None:
    stage = Stage().held()
    entry = stage.state.progress("gap").live()[0].number

    stage.must(stage.ask_correction("AB", entry, "slip", value="1.6"))

    assert stage.state.progress("gap").signatures == ()
    assert not stage.done("gap")
    assert stage.done("hold")  # the gap is not among its evidence


def test_a_correction_out_of_limit_opens_the_step() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    entry = stage.state.progress("wind").entries[0].number

    stage.must(stage.ask_correction("AB", entry, "read the wrong scale", value="13.0"))

    assert not stage.done("wind")


def test_a_corrected_reading_is_no_younger_than_the_one_it_corrects() -> None:
    stage = Stage().held()
    entry = stage.state.progress("wind").live()[0].number
    read_at = stage.board.readings["gust"].at

    stage.wait(minutes=25)
    stage.must(stage.ask_correction("AB", entry, "slip", value="4.0"))

    assert stage.board.readings["gust"].value == "4.0"
    assert stage.board.readings["gust"].at == read_at


def test_only_its_author_or_someone_who_releases_holds_corrects_an_entry() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    entry = stage.state.progress("wind").entries[0].number

    answer = refused(stage.ask_correction("KM", entry, "slip", value="4.0"))
    assert answer.code == "correct.role"

    stage.must(stage.ask_correction("SL", entry, "slip", value="4.0"))


def test_a_correction_says_why_and_comes_from_a_fresh_page() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    entry = stage.state.progress("wind").entries[0].number

    assert refused(stage.ask_correction("AB", entry, " ", value="4")).code == (
        "typed.correct.reason"
    )
    old_page = Correct(
        by="AB", entry=entry, values={"value": "4"}, reason="slip", signed=True, seen=1
    )
    assert refused(stage.ask(old_page)).code == "conflict.tablet"


def test_an_entry_is_corrected_once_then_its_successor_is() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    entry = stage.state.progress("wind").entries[0].number
    stage.must(stage.ask_correction("AB", entry, "slip", value="4.0"))

    assert refused(stage.ask_correction("AB", entry, "slip", value="5.0")).code == "entry.struck"


def test_a_plain_tick_has_nothing_to_correct() -> None:
    stage = Stage().unfastened()
    entry = stage.state.progress("doors").entries[0].number

    assert refused(stage.ask_correction("KM", entry, "slip")).code == "entry.nothing_typed"
