"""Counts are made by people who cannot lean on each other."""

from __future__ import annotations

from app.run.commands import Enter
from app.run.interlocks import why_shut
from tests.run.stage import Stage, refused


def test_three_equal_counts_as_expected_finish_the_step() -> None:
    assert Stage().unfastened().counted().done("count")


def test_counts_are_made_apart_in_time() -> None:
    stage = Stage().unfastened()
    stage.must(stage.enter("AB", "count", signed=True, count="0"))

    answer = refused(stage.wait(seconds=119).enter("KM", "count", signed=True, count="0"))

    assert answer.code == "seat.apart"
    assert answer.sentence == (
        "Not yet. Wait 2 s: these entries are made at least 120 s apart, "
        "so that nobody leans on another."
    )
    stage.must(stage.wait(seconds=1).enter("KM", "count", signed=True, count="0"))


def test_nobody_counts_twice_in_a_round() -> None:
    stage = Stage().unfastened()
    stage.must(stage.enter("AB", "count", signed=True, count="0"))

    answer = refused(stage.wait(minutes=5).enter("AB", "count", signed=True, count="0"))

    assert answer.code in ("seat.same_person", "part.done", "conflict.tablet")


def test_a_count_is_sealed_with_ones_own_secret() -> None:
    stage = Stage().unfastened()

    assert refused(stage.enter("AB", "count", count="0")).code == "signature.secret"


def test_when_one_differs_everyone_counts_again_and_the_old_counts_stay() -> None:
    stage = Stage().unfastened().counted("0", "1", "0")

    progress = stage.state.progress("count")
    assert not progress.done
    assert progress.round == 2
    assert progress.signatures == ()
    assert [e.values["count"] for e in progress.entries] == ["0", "1", "0"]
    assert progress.live() == ()

    stage.counted()
    assert stage.done("count")
    assert len(stage.state.progress("count").entries) == 6


def test_there_is_no_vote_two_equal_counts_do_not_carry_it() -> None:
    assert not Stage().unfastened().counted("0", "0", "1").done("count")


def test_equal_counts_of_what_must_not_be_are_a_trouble_at_once() -> None:
    stage = Stage().unfastened().counted("2", "2", "2")

    assert not stage.done("count")
    (trouble,) = stage.state.open_troubles("count")
    assert "2" not in trouble.text
    assert refused(stage.wait(minutes=9).enter("AB", "count", signed=True, count="0")).code == (
        "trouble.open"
    )


def test_a_second_disagreement_is_decided_at_the_hardware_first() -> None:
    stage = Stage().unfastened().counted("0", "1", "0").counted("0", "0", "1")

    assert len(stage.state.open_troubles("count")) == 1


def test_nothing_of_another_persons_count_is_in_anyones_circumstances() -> None:
    stage = Stage().unfastened()
    stage.must(stage.enter("AB", "count", signed=True, count="7"))

    for person in ("AB", "KM", "SL", ""):
        seen = stage.scene().circumstances(person, blind=True)
        assert seen.of("count") == ()
    stage_open = stage.scene().circumstances("SL", blind=False)
    assert [e.values["count"] for e in stage_open.of("count")] == ["7"]


def test_a_page_of_the_last_round_is_not_taken_for_this_one() -> None:
    stage = Stage().unfastened()
    seen = stage.state.seq
    stage.counted("0", "1", "0").wait(minutes=3)

    answer = refused(
        stage.ask(Enter(by="AB", step="count", values={"count": "0"}, signed=True, seen=seen))
    )

    assert answer.code == "conflict.round"


def test_a_sealed_count_is_not_corrected() -> None:
    stage = Stage().unfastened().counted()
    entry = stage.state.progress("count").live()[0].number

    answer = refused(stage.ask_correction("AB", entry, "slip", count="1"))

    assert answer.code == "count.sealed"


def test_a_board_in_doubt_does_not_name_the_number_that_must_be_counted() -> None:
    stage = Stage().held()
    entry = stage.state.progress("brackets-off").live()[0].number
    stage.must(stage.ask_correction("AB", entry, "misread", result="seized"))
    step = stage.procedure.step("count")
    assert step is not None

    sentences = [each.sentence for each in why_shut(stage.scene(), step)]

    assert any("confirm of brackets" in sentence for sentence in sentences)
    assert not any("brackets 0" in sentence for sentence in sentences)
