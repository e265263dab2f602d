"""A dwell by the server's clock: too early, in time, too late, to the second."""

from __future__ import annotations

import pytest

from app.procedure.drawing import Scale
from tests.procedure.kinds.stand import Stand, step_of, told

ETCH = 'at_least = "30 min"\nat_most = "45 min"\nwarn = "40 min"'


def started(**waited: float) -> Stand:
    stand = Stand(step_of("dwell", ETCH))
    stand.enter(part="start")
    stand.wait(**waited)
    return stand


def test_too_early_is_not_kept() -> None:
    refused = started(minutes=18, seconds=42).refused(part="stop")

    assert refused.code == "dwell.early"
    assert refused.sentence == "Not yet. Wait 11 min 18 s. First time is 10:53:25."


def test_a_begun_second_is_still_too_early() -> None:
    refused = started(minutes=29, seconds=59.5).refused(part="stop")

    assert refused.sentence == "Not yet. Wait 1 s. First time is 10:53:25."


@pytest.mark.parametrize("seconds", [1800, 1801, 2699, 2700])
def test_both_ends_belong_to_what_is_good(seconds: float) -> None:
    stand = started(seconds=seconds)

    assert stand.enter(part="stop").verdict == "good"
    assert stand.missing() == ""


@pytest.mark.parametrize("seconds", [2700.5, 2701, 4000])
def test_too_late_is_kept_as_it_was(seconds: float) -> None:
    stand = started(seconds=seconds)

    entry = stand.enter(part="stop")

    assert entry.verdict == "out"
    assert stand.missing() == entry.saying


def test_too_late_is_told_with_the_last_time() -> None:
    saying = started(minutes=47).out(part="stop").saying

    last = "2 min past the last time, 11:08:25."
    assert saying == f"{last} Do the next act now, then report it. The lead decides."


def test_the_record_never_shows_a_late_stop_as_on_time() -> None:
    stand = started(minutes=45, seconds=0.2)
    stand.enter(part="stop")

    _, line = stand.lines()

    assert line.value.endswith("after 45 min 1 s")
    assert line.limits == "30 min to 45 min"
    assert line.value.startswith("13:08:25 UTC")


def test_a_running_time_is_not_started_again() -> None:
    stand = started(minutes=10)

    refused = stand.refused(part="start")

    assert refused.code == "dwell.running"
    assert refused.sentence.startswith("The time runs since 10:23:25, started by JB.")


def test_nothing_stops_that_has_not_started() -> None:
    stand = Stand(step_of("dwell", ETCH))

    assert stand.refused(part="stop").code == "dwell.not_started"
    assert stand.refused(part="").code == "dwell.part"
    assert stand.missing() == "The time has not been started."


def test_a_new_start_after_a_late_stop_counts_anew() -> None:
    stand = started(minutes=50)
    stand.enter(part="stop")
    stand.enter(part="start")

    assert stand.missing().startswith("The time runs since 11:13:25.")
    stand.wait(minutes=31)
    stand.enter(part="stop")
    assert stand.missing() == ""


def test_a_clock_that_went_back_is_too_early() -> None:
    assert started(minutes=-5).refused(part="stop").code == "dwell.early"


CARDS = (
    (0, "Not yet. Wait 30 min", "wait", "Opens at 10:53:25, after 30 min"),
    (30, "You may stop now. Last time 11:08:25", "here", ""),
    (40, "5 min left. Last time 11:08:25", "here", ""),
    (47, "2 min past the last time, 11:08:25.", "out", ""),
)


@pytest.mark.parametrize(("minutes", "answer", "mark", "off"), CARDS)
def test_the_card_answers_whether_one_may_go_on(
    minutes: int, answer: str, mark: str, off: str
) -> None:
    card = started(minutes=minutes).card()

    assert card.answer.startswith(answer)
    assert (card.answer_mark, card.off, card.part) == (mark, off, "stop")
    times = (("First", "10:53:25"), ("Warning", "11:03:25"), ("Last", "11:08:25"))
    assert card.own["times"] == times


def test_the_scale_of_a_late_stop_is_high() -> None:
    stand = started(minutes=45, seconds=0.2)

    (scale,) = stand.card().drawings

    assert isinstance(scale, Scale)
    assert (scale.at_least, scale.at_most, scale.verdict) == ("30", "45", "high")
    assert scale.value is not None
    assert float(scale.value) > 45


def test_before_the_start_the_card_gives_lengths() -> None:
    card = Stand(step_of("dwell", ETCH)).card()

    assert (card.part, card.answer) == ("start", "Not started")
    assert card.own["times"] == (("First", "30 min"), ("Warning", "40 min"), ("Last", "45 min"))


FAULTS = (
    ("", "at_most: There is no limit."),
    ('at_least = "2 min"\nat_most = "1 min"', "at_least: No length can keep both limits."),
    ('at_most = "1 min"\nwarn = "1 min"', "warn: The warning does not come before the end."),
    ('at_least = "1 min"\nwarn = "2 min"', "warn: The warning does not come before the end."),
    ('at_most = "1 mm"', "at_most: 1 mm does not measure what min measures."),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_dwell_that_cannot_be_judged_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("dwell", keys)
