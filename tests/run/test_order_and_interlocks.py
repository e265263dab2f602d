"""No step can be taken while something that must be true is not."""

from __future__ import annotations

from tests.run.stage import Stage, refused


def test_a_step_is_shut_until_the_step_before_it_is_done() -> None:
    stage = Stage()

    answer = refused(stage.enter("AB", "wind", value="3.0"))

    assert answer.code == "order.not_open"
    assert answer.sentence == (
        "Step 2 is not open. Step 1 is not finished: Brief everyone who is present."
    )
    assert answer.where == "step 1"


def test_steps_of_a_free_section_may_be_taken_in_any_order() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))

    stage.must(stage.enter("KM", "doors"))

    assert stage.done("doors")
    assert not stage.done("brackets-off")


def test_a_free_section_is_left_only_when_all_of_it_is_done() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    stage.must(stage.enter("KM", "doors"))

    answer = refused(stage.enter("AB", "count", signed=True, count="0"))

    assert answer.code == "order.not_open"
    assert answer.where == "step 3"


def test_a_reading_out_of_limit_is_kept_and_the_step_stays_open() -> None:
    stage = Stage().briefed()

    stage.must(stage.enter("AB", "wind", value="9.1"))

    assert not stage.done("wind")
    assert stage.state.progress("wind").entries[0].verdict == "out"


def test_a_second_reading_in_limits_finishes_the_step_and_both_stay() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="9.1"))

    stage.must(stage.enter("AB", "wind", value="8.9"))

    assert stage.done("wind")
    assert [e.values["value"] for e in stage.state.progress("wind").entries] == ["9.1", "8.9"]


def test_wind_read_too_long_ago_shuts_the_lift() -> None:
    stage = Stage().held().wait(minutes=31)

    answer = refused(stage.sign("AB", "lift"))

    assert answer.code == "reading.stale"
    assert answer.where == "step 2"
    assert answer.recorded  # an attempt on a critical step is itself kept


def test_a_fact_that_is_in_doubt_shuts_whatever_needs_it() -> None:
    stage = Stage().held()
    entry = stage.state.progress("brackets-off").live()[0].number
    stage.must(stage.ask_correction("AB", entry, "misread", result="seized"))

    assert stage.board.value("brackets") is None
    assert refused(stage.sign("AB", "lift")).code == "order.not_open"


def test_the_board_takes_the_facts_that_a_step_makes_true() -> None:
    assert Stage().unfastened().board.value("brackets") == 0
    assert Stage().lifted().board.value("load_on") == "hooks"


def test_an_unknown_step_is_refused_in_words() -> None:
    answer = refused(Stage().enter("AB", "no-such"))

    assert answer.sentence == "This procedure has no step “no-such”. Nothing was saved."


def test_a_step_that_is_done_takes_no_second_entry() -> None:
    stage = Stage().unfastened()

    answer = refused(stage.enter("KM", "doors"))

    assert answer.code == "step.done"


def test_no_item_is_entered_twice() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    stage.must(stage.enter("AB", "brackets-off", "B01", result="off"))

    answer = refused(stage.enter("KM", "brackets-off", "B01", result="off"))

    assert answer.code == "part.done"
    assert answer.sentence.startswith("B01 was entered at 08:00:00 UTC by AB.")


def test_an_item_that_the_layout_does_not_have_is_refused() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))

    assert refused(stage.enter("AB", "brackets-off", "B04", result="off")).code == "part.unknown"
