"""A run that cannot be finished, one whose text is changed for it alone, one whose text is withdrawn."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from app.procedure.model import Procedure
from app.run.changing import change_steps, changed_steps, followed, in_force
from app.run.commands import (
    Abandon,
    ChangeSteps,
    Close,
    Enter,
    ReportTrouble,
    Resume,
    StopWork,
    Suspend,
)
from app.run.events import Event, FieldChangeApproved, ReleaseWithdrawn, RunAbandoned
from app.run.pausing import last_state_lines
from app.run.refusal import Refusal
from tests.run.stage import TEXT, Stage, refused, the_procedure

WIDER = TEXT.replace('at_most = "2.0"', 'at_most = "2.4"')


def abandoning(**other: str | bool) -> Abandon:
    said = Abandon(
        by="HL", second="SL", reason="A pad is loose.", state="On the cell.", signed=True
    )
    return replace(said, **other)  # type: ignore[arg-type]


def withdrawn(stage: Stage) -> Stage:
    stage._happen([ReleaseWithdrawn(reason="The limit is wrong.")], "HL")
    return stage


def change(stage: Stage, text: str = WIDER, /, **other: str | bool) -> list[Event] | Refusal:
    """Ask for another text of the run; fold what it came to."""
    changed = the_procedure(text)
    asked = ChangeSteps(
        by="HL",
        second="SL",
        reason="The new shims are thicker.",
        until="",
        until_step="gap",
        sha256=changed.sha256,
        signed=True,
    )
    command = replace(asked, **other)  # type: ignore[arg-type]
    answer = change_steps(stage.scene(), command, the_procedure(), changed)
    if not isinstance(answer, Refusal):
        stage._happen(answer, "HL")
        stage.procedure = follow(stage, changed)
    return answer


def follow(stage: Stage, changed: Procedure) -> Procedure:
    return followed(the_procedure(), {changed.sha256: changed}, stage.state, stage.now)


# -- abandoning


def test_two_people_abandon_a_run_and_nothing_more_happens_in_it() -> None:
    stage = Stage().briefed()
    before = stage.board

    events = stage.ask(abandoning())

    assert not isinstance(events, Refusal)
    assert events == [
        RunAbandoned(
            reason="A pad is loose.",
            state="On the cell.",
            second="SL",
            statement=(
                "QP-9 revision 1 is not finished: 7 of 8 steps are left. "
                "Step 2 was next: Read the gust at the mast."
            ),
        )
    ]
    assert stage.board == before
    assert stage.state.status == "closed"
    said = refused(stage.enter("AB", "wind", value="3.0"))
    assert said.sentence == "Run R-0001 was abandoned. Its record can be read, not changed."
    assert refused(stage.ask(abandoning())).code == "run.closed"


@pytest.mark.parametrize(
    ("other", "code"),
    [
        ({"by": "SL", "second": "HL"}, "ability"),
        ({"second": "HL"}, "decide.two_people"),
        ({"second": "AU"}, "decide.two_people"),
        ({"second": "XX"}, "decide.two_people"),
        ({"reason": " "}, "typed.abandon.reason"),
        ({"state": ""}, "typed.abandon.state"),
        ({"signed": False}, "signature.secret"),
    ],
)
def test_a_run_is_not_abandoned_like_that(other: dict[str, str | bool], code: str) -> None:
    stage = Stage().briefed()

    assert refused(stage.ask(abandoning(**other))).code == code


def test_a_stopped_or_suspended_run_can_be_abandoned() -> None:
    stopped, suspended = Stage().briefed(), Stage().briefed()
    stopped.must(stopped.ask(StopWork(by="AB")))
    suspended.must(suspended.ask(Suspend(by="SL", state="Left so.", signed=True)))

    for stage in (stopped, suspended):
        stage.must(stage.ask(abandoning()))
        assert stage.state.status == "closed"
        assert stage.state.stop is None


def test_an_abandoned_run_makes_room_for_another() -> None:
    stage = Stage().briefed()
    assert refused(stage.try_open(stage.board, others=(stage.state,))).code == "open.other"

    stage.must(stage.ask(abandoning()))

    assert not isinstance(stage.try_open(stage.board, others=(stage.state,)), Refusal)


# -- withdrawing


def test_a_run_of_a_withdrawn_text_stops_at_once_where_it_is_safe() -> None:
    stage = withdrawn(Stage().briefed())

    said = refused(stage.enter("AB", "wind", value="3.0"))

    assert said.code == "run.withdrawn"
    assert said.sentence == (
        "HL withdrew QP-9 revision 1: “The limit is wrong.” Work stays at this safe point until the "
        "run is changed or abandoned."
    )
    assert said.who == "lead"


def test_a_run_of_a_withdrawn_text_goes_on_to_its_next_safe_point() -> None:
    text = TEXT.replace('id = "doors"', 'id = "doors"\nsafe_point = true')
    stage = Stage(text).briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    withdrawn(stage)

    for part in ("B01", "B02", "B03"):
        stage.must(stage.enter("AB", "brackets-off", part, result="off"))
    stage.must(stage.enter("KM", "doors"))

    assert refused(stage.enter("AB", "count", signed=True, count="0")).code == "run.withdrawn"
    stage.must(stage.ask(ReportTrouble(by="AB", step="count", text="A pad is loose.")))
    stage.must(stage.ask(abandoning()))


def test_a_withdrawn_text_may_be_left_but_not_taken_up_again() -> None:
    stage = withdrawn(Stage().briefed())
    stage.must(stage.ask(Suspend(by="SL", state="Left so.", signed=True)))
    lines = last_state_lines(stage.procedure, stage.state, stage.board)

    said = refused(stage.ask(Resume(by="SL", confirmed=lines, signed=True)))

    assert said.code == "run.withdrawn"


def test_a_field_change_lets_a_withdrawn_text_go_on() -> None:
    stage = withdrawn(Stage().briefed())

    stage.must(change(stage))

    stage.must(stage.enter("AB", "wind", value="3.0"))


def test_what_is_finished_is_closed_though_its_text_was_withdrawn() -> None:
    text = TEXT.replace('id = "lift"', 'id = "lift"\nsafe_point = true')
    stage = withdrawn(Stage(text).lifted())

    stage.must(stage.ask(Close(by="SL", signed=True, seen=stage.state.seq)))


# -- changing


def test_a_changed_limit_holds_for_this_run_until_its_step_is_done() -> None:
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="2.2"))
    assert stage.state.progress("gap").live()[-1].verdict == "out"
    stage = Stage().unfastened().counted()

    stage.must(change(stage))
    stage.must(stage.enter("AB", "gap", value="2.2"))

    assert stage.state.progress("gap").live()[-1].verdict == "good"
    stage.must(stage.sign("AB", "gap"))
    stage.must(stage.sign("SL", "gap"))
    assert stage.done("gap")
    kept = follow(stage, the_procedure(WIDER)).step("gap")
    assert kept == the_procedure(WIDER).step("gap")  # it was done by the changed text


def test_a_change_ends_with_its_moment() -> None:
    stage = Stage().unfastened().counted()
    until = stage.now + timedelta(hours=1)
    stage.must(change(stage, until=until.isoformat(), until_step=""))

    assert in_force(stage.state, "gap", until - timedelta(seconds=1)) is not None
    assert in_force(stage.state, "gap", until) is None
    assert in_force(stage.state, "wind", stage.now) is None
    stage.wait(hours=1)
    assert follow(stage, the_procedure(WIDER)).step("gap") == the_procedure().step("gap")


def test_a_change_ends_with_its_step_for_all_that_comes_later() -> None:
    text = WIDER.replace('do = "Read the gap."', 'do = "Read the gap twice."').replace(
        'do = "Shut the doors."', 'do = "Shut all doors."'
    )
    stage = Stage().briefed()
    stage.must(change(stage, text, until_step="doors"))
    stage.must(stage.enter("AB", "wind", value="3.0"))
    stage.must(stage.enter("KM", "doors"))

    now = follow(stage, the_procedure(text))

    assert now.step("doors") == the_procedure(text).step("doors")
    assert now.step("gap") == the_procedure().step("gap")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (TEXT.replace('id = "doors"', 'id = "gates"'), "change.shape"),
        (TEXT.replace("revision = 1", "revision = 2"), "change.shape"),
        (
            TEXT.replace(
                'leaves = { load_on = "hooks", brackets = 0 }', 'leaves = { load_on = "hooks" }'
            ),
            "change.shape",
        ),
        (
            TEXT.replace('sign = ["technician", "supervisor"]', 'sign = ["technician"]'),
            "change.keys",
        ),
        (TEXT.replace("expect = 0", "expect = 1"), "change.hazard"),
        (TEXT.replace("All brackets are off.", "Brackets are off."), "change.hazard"),
        (TEXT.replace('age = "30 min"', 'age = "300 min"'), "change.hazard"),
        (TEXT, "change.none"),
        (f"{TEXT}\n# a remark", "change.none"),
    ],
)
def test_a_text_that_takes_a_new_revision_is_no_change_for_a_run(text: str, code: str) -> None:
    told = changed_steps(the_procedure(), the_procedure(text))

    assert isinstance(told, Refusal), told
    assert told.code == code


@pytest.mark.parametrize(
    ("other", "code"),
    [
        ({"by": "SL", "second": "HL"}, "ability"),
        ({"second": "HL"}, "decide.two_people"),
        ({"reason": ""}, "typed.change.reason"),
        ({"until_step": ""}, "typed.change.until"),
        ({"until": "2027-05-06T10:00:00+00:00"}, "typed.change.until"),  # and a step: two ends
        ({"until_step": "brief"}, "typed.change.until"),
        ({"until_step": "", "until": "soon"}, "typed.change.until"),
        ({"until_step": "", "until": "2027-05-06T07:00:00+00:00"}, "typed.change.until"),
        ({"until_step": "", "until": "2027-06-06T07:00:00+00:00"}, "typed.change.until"),
        ({"until_step": "", "until": "2027-05-06T10:00:00"}, "typed.change.until"),
        ({"signed": False}, "signature.secret"),
    ],
)
def test_a_change_is_refused_that_nobody_may_make_or_that_never_ends(
    other: dict[str, str | bool], code: str
) -> None:
    stage = Stage().briefed()

    assert refused(change(stage, **other)).code == code


def test_a_step_that_is_begun_keeps_its_text() -> None:
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="1.5"))

    said = refused(change(stage))

    assert said.sentence == "Step 6 is begun or done. Its text stays. Nothing was saved."


def test_the_newest_change_alone_is_in_force() -> None:
    stage = Stage().briefed()
    other = TEXT.replace('do = "Shut the doors."', 'do = "Shut all doors."')
    stage.must(change(stage))
    stage.must(change(stage, other, until_step="hold"))

    assert [type(each.event) for each in stage.happened[-2:]] == [FieldChangeApproved] * 2
    assert in_force(stage.state, "gap", stage.now) is None
    found = in_force(stage.state, "doors", stage.now)
    assert found is not None
    assert found.number == 2


def test_an_entry_needs_no_leave_of_a_change_of_another_step() -> None:
    stage = Stage().briefed()
    stage.must(change(stage))

    stage.must(
        stage.ask(Enter(by="AB", step="wind", values={"value": "3.0"}, seen=stage.state.seq))
    )
