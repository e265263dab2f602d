"""A choice in a run: one way is open, the others are passed over, until it is made anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.run.branching import closed_by
from app.run.commands import Close, DisposeTrouble, ReportTrouble
from app.run.events import StepDone, StepsPassedOver
from app.run.locks import first_undone
from app.run.state import fold
from tests.run.stage import Stage, refused

HEAD = """
format = 1
id = "QP-9"
revision = 1
title = "A decision"
asset = "primary"
purpose = "To try a choice."
planned = "1 h"
safe_state = "At rest."
crew = { technician = 1, supervisor = 1, lead = 1 }
starts_with = { load_on = "cell" }
leaves = { load_on = "cell" }
"""
CHOICE = """
[[sections]]
title = "Decide"
[[sections.steps]]
id = "decide"
kind = "choose"
do = "Decide on the film."
sign = ["technician", "lead"]
branches = [
  { name = "accept" },
  { name = "wash", steps = ["wash", "dry"] },
  { name = "strip", sections = ["Strip"] },
]
"""
WAYS = """
[[sections]]
title = "Wash"
[[sections.steps]]
id = "wash"
kind = "tick"
do = "Wash the glass."
[[sections.steps]]
id = "dry"
kind = "tick"
do = "Dry the glass."
[[sections]]
title = "Strip"
[[sections.steps]]
id = "strip"
kind = "tick"
do = "Strip the film."
[[sections]]
title = "End"
[[sections.steps]]
id = "end"
kind = "tick"
do = "Put the cover on."
after = ["dry"]
within = { of = "dry", at_most = "60 min", if_missed = "wash" }
"""
TEXT = HEAD + CHOICE + WAYS


def chosen(branch: str, text: str = TEXT) -> Stage:
    stage = Stage(text)
    stage.must(stage.enter("AB", "decide", branch=branch, why="It is so"))
    stage.must(stage.sign("AB", "decide"))
    stage.must(stage.sign("HL", "decide"))
    return stage


def next_step(stage: Stage) -> str:
    class Standing:
        def is_done(self, step: str) -> bool:
            return stage.state.progress(step).settled

        def value(self, fact: str) -> None:  # noqa: ARG002
            return None

    step = first_undone(stage.procedure, Standing())
    return step.id if step is not None else ""


OPENED = (("accept", "end", ("wash", "dry", "strip")), ("wash", "wash", ("strip",)))


@pytest.mark.parametrize(("branch", "step", "over"), OPENED)
def test_the_branch_chosen_is_next_and_the_others_are_passed_over(
    branch: str, step: str, over: tuple[str, ...]
) -> None:
    stage = chosen(branch)

    assert next_step(stage) == step
    done, passed = (each.event for each in stage.happened[-2:])
    assert isinstance(done, StepDone)
    assert passed == StepsPassedOver(step="decide", taken=branch, steps=over)


def test_nothing_is_open_before_the_choice_is_signed() -> None:
    stage = Stage(TEXT)
    stage.must(stage.enter("AB", "decide", branch="wash", why="Haze"))

    assert refused(stage.enter("AB", "wash")).code == "order.not_open"
    assert refused(stage.enter("AB", "end")).code == "order.not_open"


@pytest.mark.parametrize("act", ["enter", "sign"])
def test_a_step_that_was_passed_over_takes_nothing(act: str) -> None:
    stage = chosen("wash")

    answer = refused(stage.enter("AB", "strip") if act == "enter" else stage.sign("AB", "strip"))

    assert answer.code == "order.not_taken"
    assert answer.sentence == ("Step 4 is not taken: step 1 chose another way. Nothing was saved.")


def test_what_waits_for_a_step_not_taken_waits_no_more_and_keeps_no_time() -> None:
    stage = chosen("accept").wait(hours=3)

    stage.must(stage.enter("AB", "end"))
    assert stage.done("end")


def test_what_waits_for_a_step_that_is_taken_waits_and_keeps_its_time() -> None:
    stage = chosen("wash")
    stage.must(stage.enter("AB", "wash"))
    assert refused(stage.enter("AB", "end")).code == "order.not_open"
    stage.must(stage.enter("AB", "dry"))
    stage.wait(minutes=61)

    assert refused(stage.enter("AB", "end")).code == "within.late"


def test_the_run_is_closed_with_steps_not_taken_and_says_so() -> None:
    stage = chosen("accept")
    stage.must(stage.enter("AB", "end"))

    stage.must(stage.ask(Close(by="HL", signed=True, seen=stage.state.seq)))

    statement = getattr(stage.happened[-1].event, "statement", "")
    assert statement.startswith("All 2 steps that were taken (3 were not) of QP-9 revision 1")


def test_a_choice_can_be_corrected_until_its_branch_is_begun() -> None:
    stage = chosen("accept")
    entry = stage.state.progress("decide").live()[0].number
    stage.must(stage.ask_correction("AB", entry, "Misread.", branch="strip", why="Haze"))

    assert not stage.done("decide")
    assert not any(progress.passed_by for progress in stage.state.steps.values())
    stage.must(stage.sign("AB", "decide"))
    stage.must(stage.sign("HL", "decide"))
    assert next_step(stage) == "strip"


def test_a_choice_is_not_corrected_once_its_branch_is_begun() -> None:
    stage = chosen("wash")
    entry = stage.state.progress("decide").live()[0].number
    stage.must(stage.enter("AB", "wash"))

    answer = refused(stage.ask_correction("HL", entry, "Misread.", branch="accept", why="Fine"))

    assert answer.code == "choose.begun"
    assert answer.sentence.startswith("Step 2 was begun on this choice, so it is not changed.")


def test_a_choice_that_is_done_again_leaves_what_was_done() -> None:
    stage = chosen("wash")
    stage.must(stage.enter("AB", "wash"))
    stage.must(stage.ask(ReportTrouble(by="AB", step="decide", text="It must be stripped.")))
    stage.must(
        stage.ask(
            DisposeTrouble(by="HL", trouble=1, disposition="redo", reason="Haze.", signed=True)
        )
    )
    stage.must(stage.enter("AB", "decide", branch="strip", why="Haze"))
    stage.must(stage.sign("AB", "decide"))
    stage.must(stage.sign("HL", "decide"))

    assert stage.done("wash")
    assert stage.state.progress("dry").passed_by == "decide"
    assert next_step(stage) == "strip"


INNER = """
[[sections.steps]]
id = "again"
kind = "choose"
do = "Decide on the stain."
branches = [{ name = "leave" }, { name = "rub", steps = ["rub"] }]
[[sections.steps]]
id = "rub"
kind = "tick"
do = "Rub the stain."
"""


def test_a_choice_inside_a_branch_not_taken_opens_nothing() -> None:
    text = TEXT.replace('do = "Dry the glass."', f'do = "Dry the glass."\n{INNER}').replace(
        '["wash", "dry"]', '["wash", "dry", "again"]'
    )
    stage = chosen("accept", text)
    decide = stage.procedure.step("decide")
    assert decide is not None

    assert closed_by(stage.procedure, decide, "accept") == ("wash", "dry", "again", "rub", "strip")
    assert next_step(stage) == "end"


def test_the_choice_is_the_fold_of_its_events() -> None:
    stage = chosen("wash")

    assert fold(stage.happened[:-1]).progress("strip").passed_by == ""
    assert fold(stage.happened).progress("strip").passed_by == "decide"


def test_every_kind_in_one_procedure_stands() -> None:
    text = (Path(__file__).parents[1] / "screens/every_kind.toml").read_text()

    assert len(Stage(text, opened=False).procedure.steps) == 17
