"""A reading at its limits, beyond them, and as people mistype it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.procedure.drawing import Scale
from app.procedure.entry import OnBoard
from tests.procedure.kinds.stand import Stand, step_of, told

GAP = """
reading = "pad_gap"
unit = "mm"
at_least = 0.30
at_most = "0.50 mm"
usual = { at_least = 0.1, at_most = 2 }
resolution = 0.01
"""
AGAIN = "Measure again, or report it. Nothing goes on until it is cleared."
JUDGED = (
    ("0.29", "out", f"0.29 mm is below the limit, 0.30 mm. {AGAIN}"),
    ("0.30", "good", "0.30 mm is within the limits, 0.30 to 0.50 mm."),
    ("0,42", "good", "0.42 mm is within the limits, 0.30 to 0.50 mm."),
    ("0.50", "good", "0.50 mm is within the limits, 0.30 to 0.50 mm."),
    ("0.51", "out", f"0.51 mm is above the limit, 0.50 mm. {AGAIN}"),
    ("0.62", "out", f"0.62 mm is above the limit, 0.50 mm. {AGAIN}"),
)
REFUSED = (
    ("", "reading.empty"),
    ("0.4 in", "reading.unit"),
    ("1,234", "reading.ambiguous"),
    ("0.425", "reading.finer"),
    ("4.2", "reading.slip"),
    ("0.03", "reading.slip"),
    ("-0.42", "reading.slip"),
    ("0", "reading.slip"),
)
SLIPS = (
    ("4.2", "4.2 mm is ten times what is usual here. Check the decimal mark."),
    ("0.03", "0.03 mm is a tenth of what is usual here. Check the decimal mark."),
    ("100", "100 mm is far from what is usual here, 0.1 to 2 mm. Check the decimal mark."),
)


@pytest.mark.parametrize(("typed", "verdict", "saying"), JUDGED)
def test_both_ends_belong_to_what_is_good(typed: str, verdict: str, saying: str) -> None:
    stand = Stand(step_of("reading", GAP))

    entry = stand.enter({"value": typed})

    assert (entry.verdict, entry.saying) == (verdict, saying)
    assert entry.computed == {"value": typed.replace(",", ".")}
    assert stand.missing() == ("" if verdict == "good" else saying)


@pytest.mark.parametrize(("typed", "code"), REFUSED)
def test_what_cannot_be_meant_is_not_kept(typed: str, code: str) -> None:
    assert Stand(step_of("reading", GAP)).refused({"value": typed}).code == code


@pytest.mark.parametrize(("typed", "sentence"), SLIPS)
def test_a_slip_is_asked_about_before_it_is_kept(typed: str, sentence: str) -> None:
    stand = Stand(step_of("reading", GAP))

    assert stand.refused({"value": typed}).sentence == sentence
    assert stand.out({"value": typed, "sure": "yes"}).computed == {"value": typed}


def test_a_named_reading_goes_to_the_board() -> None:
    judged = Stand(step_of("reading", GAP)).good({"value": "0.42"})

    assert judged.readings == {"pad_gap": OnBoard(value="0.42", unit="mm")}


# ISO 14253-1 (from memory): the value must keep the limits shrunk by the expanded uncertainty.
GUARDED = (("0.31", "out"), ("0.32", "good"), ("0.48", "good"), ("0.49", "out"), ("0.50", "out"))


@pytest.mark.parametrize(("typed", "verdict"), GUARDED)
def test_the_uncertainty_keeps_away_from_the_limits(typed: str, verdict: str) -> None:
    stand = Stand(step_of("reading", GAP + 'uncertainty = "0.02 mm"'))

    assert stand.enter({"value": typed}).verdict == verdict


def test_a_value_in_the_guard_band_is_told_why() -> None:
    stand = Stand(step_of("reading", GAP + "uncertainty = 0.02"))

    saying = stand.out({"value": "0.49"}).saying

    nearer = "0.49 mm is nearer to the limit, 0.50 mm, than the uncertainty, 0.02 mm."
    assert saying == f"{nearer} {AGAIN}"


def test_a_later_good_value_settles_an_earlier_one_that_was_out() -> None:
    stand = Stand(step_of("reading", GAP))
    stand.enter({"value": "0.62"})
    stand.enter({"value": "0.42"})

    assert stand.missing() == ""
    assert [line.verdict for line in stand.lines()] == ["Out of limit", "Good"]


def test_a_value_accepted_as_it_is_settles_the_step() -> None:
    stand = Stand(step_of("reading", GAP))
    entry = stand.enter({"value": "0.62"})
    stand.entries[stand.step.id] = [replace(entry, accepted="The pad is worn in.")]

    assert stand.missing() == ""
    assert stand.lines()[0].verdict.endswith("accepted as it is: The pad is worn in.")


def test_the_card_draws_the_value_against_its_limits() -> None:
    stand = Stand(step_of("reading", GAP))
    stand.enter({"value": "0.62"})

    card = stand.card()

    (scale,) = card.drawings
    assert isinstance(scale, Scale)
    assert (scale.at_least, scale.at_most, scale.value) == ("0.30", "0.50", "0.62")
    assert scale.verdict == "high"
    assert card.answer_mark == "out"
    assert (card.fields[0].name, card.fields[0].unit) == ("value", "mm")


def test_two_people_agree_within_the_resolution() -> None:
    stand = Stand(step_of("reading", GAP, check="independent"))
    one, near, far = (stand.enter({"value": typed}) for typed in ("0.42", "0.43", "0.44"))

    assert stand.kind.agreement(stand.step, [[one], [near]]).agree
    assert not stand.kind.agreement(stand.step, [[one], [far]]).agree


FAULTS = (
    ("", "unit: This step has no unit."),
    ("unit = 'furlongs-ish'", 'unit: "furlongs-ish" is not a known unit.'),
    ("unit = 'mm'\nat_most = '5 kN'", "at_most: 5 kN does not measure what mm measures."),
    ("unit = 'mm'\nresolution = 0", "resolution: The resolution is not above 0."),
    ("unit = 'mm'\nuncertainty = 1", "uncertainty: There is no limit for it to guard."),
    ("unit = 'mm'\nat_most = 1\nuncertainty = -1", "uncertainty: The uncertainty is below 0."),
    (
        "unit = 'mm'\nat_least = 1\nat_most = 2\nuncertainty = 0.6",
        "uncertainty: The uncertainty leaves no value that could pass.",
    ),
    (
        "unit = 'mm'\nusual = { at_least = 3, at_most = 2 }",
        "usual.at_least: No value can be at least 3 and at most 2.",
    ),
    ("unit = 'mm'\nusual = { least = 3 }", "usual.at_least: There is no limit."),
)


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_reading_that_cannot_be_judged_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("reading", keys)
