from __future__ import annotations

from tests.procedure.kinds.stand import Stand, step_of, told


def test_a_tick_is_kept_without_a_value() -> None:
    stand = Stand(step_of("tick"))

    assert stand.missing() == "Nothing has been entered yet."
    stand.enter()

    assert stand.missing() == ""
    assert stand.lines()[0].verdict == "Good"


def test_a_tick_has_no_keys_of_its_own() -> None:
    assert told("tick", "unit = 'mm'") == ["unit: unit is not a key of this step."]


def test_the_bar_says_the_act() -> None:
    card = Stand(step_of("tick", number=12)).card()

    assert (card.act, card.fields, card.off) == ("Step 12 done", (), "")
