"""A trouble shuts its step until someone else has decided on it."""

from __future__ import annotations

from app.run.commands import DisposeTrouble, Disposition, ReportTrouble
from app.run.events import Event
from app.run.refusal import Refusal
from tests.run.stage import Stage, refused


def troubled(part: str = "") -> Stage:
    """Return a stage on which KM has reported a trouble on the gap, read out of limit by AB."""
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="2.1"))
    stage.must(stage.ask(ReportTrouble(by="KM", step="gap", text="Shim is bent", part=part)))
    return stage


def dispose(
    stage: Stage, by: str, what: Disposition, reason: str = "Looked at it."
) -> list[Event] | Refusal:
    """Let someone decide on trouble 1."""
    return stage.ask(DisposeTrouble(by=by, trouble=1, disposition=what, reason=reason, signed=True))


def test_the_step_is_shut_while_the_trouble_is_open() -> None:
    answer = refused(troubled().enter("AB", "gap", value="1.5"))

    assert answer.code == "trouble.open"
    assert answer.sentence == (
        "Step 6 has a trouble, reported 08:09 UTC by KM: “Shim is bent” "
        "Someone else must decide on it first."
    )


def test_whoever_reported_it_does_not_decide_on_it() -> None:
    stage = Stage().unfastened().counted()
    stage.must(stage.ask(ReportTrouble(by="SL", step="gap", text="Shim is bent")))

    assert refused(dispose(stage, "SL", "redo")).code == "trouble.own"


def test_a_technician_does_not_decide() -> None:
    assert refused(dispose(troubled(), "AB", "redo")).code == "trouble.role"


def test_only_who_accepts_deviations_lets_it_be_used_as_it_is() -> None:
    stage = troubled()
    assert refused(dispose(stage, "SL", "use as is")).code == "trouble.role"

    stage.must(dispose(stage, "HL", "use as is", "Within the maker's tolerance."))

    assert stage.state.progress("gap").live()[0].accepted == "Within the maker's tolerance."
    stage.must(stage.sign("AB", "gap"))
    stage.must(stage.sign("SL", "gap"))
    assert stage.done("gap")


def test_what_the_mirrors_safety_rests_on_is_never_used_as_it_is() -> None:
    stage = Stage().unfastened()
    stage.must(stage.ask(ReportTrouble(by="KM", step="count", text="B02 is painted over")))

    answer = refused(dispose(stage, "HL", "use as is"))

    assert answer.code == "trouble.hazard"
    assert "brackets" in answer.sentence


def test_redo_strikes_the_entries_and_opens_the_step() -> None:
    stage = troubled()

    stage.must(dispose(stage, "SL", "redo"))

    assert stage.state.progress("gap").live() == ()
    assert stage.state.progress("gap").entries[0].struck == "Trouble 1: redo. Looked at it."
    stage.must(stage.enter("AB", "gap", value="1.5"))


def test_a_trouble_on_a_done_step_reopens_it_and_what_rested_on_it() -> None:
    stage = Stage().held()
    stage.must(stage.ask(ReportTrouble(by="KM", step="wind", text="The cup was iced up")))

    stage.must(dispose(stage, "SL", "redo"))

    assert not stage.done("wind")
    assert not stage.done("hold")
    assert "gust" not in stage.board.readings


def test_a_trouble_is_decided_once_and_with_a_reason() -> None:
    stage = troubled()
    assert refused(dispose(stage, "SL", "redo", " ")).code == "typed.trouble.reason"

    stage.must(dispose(stage, "SL", "redo"))

    assert refused(dispose(stage, "HL", "repair")).code == "trouble.unknown"


def test_a_report_says_what_is_wrong() -> None:
    answer = refused(Stage().ask(ReportTrouble(by="AB", step="wind", text="")))

    assert answer.code == "typed.trouble.text"


def test_a_trouble_opened_during_a_blind_count_does_not_break_the_seal() -> None:
    stage = Stage().unfastened()
    stage.must(stage.enter("AB", "count", signed=True, count="0"))
    stage.must(stage.ask(ReportTrouble(by="KM", step="count", text="Light failed")))
    stage.must(dispose(stage, "SL", "redo"))

    stage.counted()

    assert stage.done("count")
