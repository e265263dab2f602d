"""Orders of acts that nobody thinks of first, as the state machine of the core found them."""

from __future__ import annotations

from dataclasses import replace

from app.run.commands import Correct, DisposeTrouble, ReportTrouble, StopWork
from app.run.events import Event
from app.run.refusal import Refusal
from tests.run.stage import TEXT, Stage, refused

TWO_LOOK = TEXT.replace(
    '[[sections.steps]]\nid = "gap"',
    """[[sections.steps]]
id = "marks"
kind = "items"
do = "Measure the gap at each mark."
layout = { shape = "list", names = ["north", "south"] }
unit = "mm"
at_least = 1
at_most = 2
sign = ["technician", "technician"]
check = "independent"
apart = "2 min"

[[sections.steps]]
id = "gap\"""",
)


def correct(stage: Stage, entry: int, by: str, **values: str) -> list[Event] | Refusal:
    return stage.ask(
        Correct(
            by=by, entry=entry, values=values, reason="Misread.", signed=True, seen=stage.state.seq
        )
    )


def report(stage: Stage, step: str, part: str = "", by: str = "KM") -> list[Event] | Refusal:
    return stage.ask(ReportTrouble(by=by, step=step, part=part, text="It looks wrong."))


def use_as_it_is(stage: Stage, trouble: int) -> list[Event] | Refusal:
    return stage.ask(
        DisposeTrouble(
            by="HL", trouble=trouble, disposition="use as is", reason="It will do.", signed=True
        )
    )


def last_entry(stage: Stage, step: str) -> int:
    return stage.state.progress(step).entries[-1].number


def test_entries_of_two_seats_are_apart_whichever_of_the_two_goes_on() -> None:
    stage = Stage(TWO_LOOK).unfastened().counted()
    stage.must(stage.enter("AB", "marks", "north", value="1.5"))
    stage.wait(minutes=2)
    stage.must(stage.enter("KM", "marks", "north", value="1.5"))

    answer = refused(stage.enter("AB", "marks", "south", value="1.5"))

    assert answer.code == "seat.apart"
    stage.wait(minutes=2)
    stage.must(stage.enter("AB", "marks", "south", value="1.5"))
    stage.must(stage.sign("AB", "marks"))


def test_a_trouble_names_a_part_that_the_step_has() -> None:
    # Else "redo" would strike nothing, and leave a step that is neither done nor to be done again.
    stage = Stage().briefed()

    answer = refused(report(stage, "wind", "B01"))

    assert answer.sentence == "Step 2 has no part “B01”. Nothing was saved."


def test_whoever_has_left_corrects_nothing_not_even_their_own_entry() -> None:
    stage = Stage().unfastened()
    left = replace(stage.crew.people["AB"], active=False)
    stage.crew = replace(stage.crew, people={**stage.crew.people, "AB": left})

    answer = refused(correct(stage, last_entry(stage, "wind"), "AB", value="3.1"))

    assert answer.code == "person.unknown"


def test_an_entry_that_a_later_one_has_overtaken_is_not_corrected() -> None:
    # Else the correction of the old one would come after the new one, and decide in its place.
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="12.0"))
    old = last_entry(stage, "wind")
    stage.must(stage.enter("KM", "wind", value="3.0"))

    answer = refused(correct(stage, old, "AB", value="12.5"))

    assert answer.code == "entry.struck"
    assert stage.done("wind")


def with_one_seized_and_the_wind_in_doubt() -> Stage:
    """Return a stage where a step waits for one item alone, and the step before it is open again."""
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="3.0"))
    for part, result in (("B01", "off"), ("B02", "off"), ("B03", "seized")):
        stage.must(stage.enter("AB", "brackets-off", part, result=result))
    stage.must(correct(stage, last_entry(stage, "wind"), "AB", value="12.0"))
    return stage


def test_a_correction_does_not_finish_a_step_that_is_shut() -> None:
    stage = with_one_seized_and_the_wind_in_doubt()
    seized = last_entry(stage, "brackets-off")

    answer = refused(correct(stage, seized, "AB", result="off"))

    assert answer.code == "order.not_open"
    stage.must(stage.enter("AB", "wind", value="3.0"))
    stage.must(correct(stage, seized, "AB", result="off"))
    assert stage.done("brackets-off")


def test_a_correction_that_leaves_the_step_open_is_taken_though_it_is_shut() -> None:
    stage = with_one_seized_and_the_wind_in_doubt()
    first = stage.state.progress("brackets-off").entries[0].number

    stage.must(correct(stage, first, "AB", result="seized"))

    assert not stage.done("brackets-off")


GAP_ALONE = TEXT.replace('sign = ["technician", "supervisor"]', "", 1)


def with_a_gap_out_of_limit() -> Stage:
    stage = Stage(GAP_ALONE).unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="2.5"))
    stage.must(report(stage, "gap"))
    return stage


def test_used_as_it_is_does_not_finish_a_step_that_is_shut() -> None:
    stage = with_a_gap_out_of_limit()
    stage.must(correct(stage, last_entry(stage, "wind"), "AB", value="12.0"))

    answer = refused(use_as_it_is(stage, 1))

    assert answer.code == "order.not_open"
    stage.must(stage.enter("AB", "wind", value="3.0"))
    stage.must(use_as_it_is(stage, 1))
    assert stage.done("gap")


def test_nothing_is_finished_while_work_is_stopped() -> None:
    stage = with_a_gap_out_of_limit()
    stage.must(stage.ask(StopWork(by="KM")))

    answer = refused(use_as_it_is(stage, 1))

    assert answer.code == "run.stopped"


def test_a_countersigner_who_then_works_on_what_came_before_did_not_only_look() -> None:
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="1.5"))
    stage.must(stage.sign("AB", "gap"))
    stage.must(stage.sign("SL", "gap"))
    stage.must(stage.sign("HL", "hold", "I stood at the mirror"))
    stage.must(correct(stage, last_entry(stage, "gap"), "HL", value="1.6"))
    stage.must(stage.sign("AB", "gap"))
    stage.must(stage.sign("SL", "gap"))
    if stage.state.progress("hold").signatures:
        stage.must(stage.sign("KM", "hold"))

    assert not stage.done("hold")
    assert refused(stage.sign("HL", "hold", "I stood at the mirror")).code == "hold.own"


def with_a_mark_begun() -> Stage:
    """Return a stage where AB has begun a blind seat, KM has sealed the other, and AB is gone."""
    stage = Stage(TWO_LOOK).unfastened().counted()
    stage.must(stage.enter("AB", "marks", "north", value="1.5"))
    stage.wait(minutes=2)
    for part in ("north", "south"):
        stage.must(stage.enter("KM", "marks", part, value="1.5"))
    stage.must(stage.sign("KM", "marks"))
    return stage


def test_a_seat_begun_by_someone_who_is_gone_names_the_way_out() -> None:
    stage = with_a_mark_begun().wait(minutes=2)

    answer = refused(stage.enter("RS", "marks", "north", value="1.5"))

    assert answer.sentence == (
        "Every seat of step 6 is taken. AB began and must go on. "
        "If they cannot, report a trouble: then everyone does it again."
    )
    stage.must(report(stage, "marks"))
    stage.must(
        stage.ask(
            DisposeTrouble(by="HL", trouble=1, disposition="redo", reason="AB left.", signed=True)
        )
    )
    stage.must(stage.enter("RS", "marks", "north", value="1.5"))


def test_a_seat_is_sealed_only_by_one_who_still_holds_its_role() -> None:
    stage = with_a_mark_begun().wait(minutes=2)
    stage.must(stage.enter("AB", "marks", "south", value="1.5"))
    moved = replace(stage.crew.people["AB"], roles=frozenset({"supervisor"}))
    stage.crew = replace(stage.crew, people={**stage.crew.people, "AB": moved})

    answer = refused(stage.sign("AB", "marks"))

    assert answer.sentence == "Only a technician can do this. AB is supervisor."


def test_whoever_has_left_is_not_counted_among_the_briefed() -> None:
    stage = Stage()
    for person in ("AB", "KM", "RS", "SL"):
        stage.must(stage.enter(person, "brief", person, signed=True))
    left = replace(stage.crew.people["AB"], active=False)
    stage.crew = replace(stage.crew, people={**stage.crew.people, "AB": left})

    answer = refused(stage.sign("SL", "brief"))

    assert answer.sentence == "Not yet: Still to be briefed: 1 technician. Nothing was signed."
