"""A reading that has grown old is read again, without undoing what was countersigned."""

from __future__ import annotations

from tests.run.stage import Stage, refused


def stale() -> Stage:
    """Return a stage at the lift, with the wind read too long ago."""
    return Stage().held().wait(minutes=31)


def test_a_reading_that_a_later_step_wants_fresh_may_be_read_again() -> None:
    stage = stale()
    assert refused(stage.sign("AB", "lift")).code == "reading.stale"

    stage.must(stage.enter("AB", "wind", value="3.5"))

    stage.must(stage.sign("AB", "lift"))
    assert stage.done("wind")
    assert stage.done("hold")
    assert stage.board.readings["gust"].value == "3.5"


def test_a_reading_again_out_of_limit_opens_its_step_until_it_is_good() -> None:
    stage = stale()

    stage.must(stage.enter("AB", "wind", value="12.0"))

    assert not stage.done("wind")
    assert refused(stage.sign("AB", "lift")).code == "order.not_open"
    stage.must(stage.enter("AB", "wind", value="8.0"))
    assert stage.done("wind")
    stage.must(stage.sign("AB", "lift"))


def test_a_reading_that_nobody_wants_fresh_is_not_read_again() -> None:
    stage = stale()

    assert refused(stage.enter("AB", "gap", value="1.4")).code == "step.done"


def test_a_reading_again_changes_no_earlier_entry() -> None:
    stage = stale()

    stage.must(stage.enter("KM", "wind", value="3.5"))

    first, second = stage.state.progress("wind").entries
    assert (first.values["value"], first.struck, second.by) == ("3.0", "", "KM")
