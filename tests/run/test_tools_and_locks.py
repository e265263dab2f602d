"""Tools, locks, gates and hand-overs in a run: who may, when, with what."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from app.calculations.quantity import Limits
from app.procedure.tool import Calibration, Tool
from app.run.commands import DisposeTrouble, ReportTrouble
from tests.run.stage import Stage, refused
from tests.run.test_branches import HEAD

TORQUE = """
[[sections]]
title = "Tighten"
[[sections.steps]]
id = "bolts"
kind = "torque"
do = "Tighten the bolts."
bolts = { shape = "ring", count = 4, label = "{}" }
pattern = "cross"
passes = ["100 N m"]
unit = "N m"
tolerance = "4 %"
tool = "torque wrench"
"""
LOCKS = """
[[sections]]
title = "Isolate"
[[sections.steps]]
id = "on"
kind = "isolate"
do = "Lock each point and try it."
points = ["Q4", "V2"]
[[sections.steps]]
id = "over"
kind = "handover"
do = "Hand over."
sign = ["supervisor", "lead"]
[[sections.steps]]
id = "off"
kind = "restore"
do = "Take the locks off."
of = "on"
without_owner = "lead"
"""
GATE = """
[[sections]]
title = "Go"
[[sections.steps]]
id = "weather"
kind = "gate"
do = "Ask whether the dome may open."
readings = [{ reading = "gust", unit = "m/s", at_most = 8, age = "5 min" }]
[[sections.steps]]
id = "open"
kind = "tick"
do = "Open the dome."
fresh = [{ reading = "gust", at_most = "8 m/s", age = "5 min" }]
"""


def tool(serial: str, due: date, most: int = 400) -> Tool:
    return Tool(
        serial=serial,
        kind="torque wrench",
        range=Limits(Decimal(40), Decimal(most), "N m"),
        calibrations=(Calibration(date(2026, 6, 1), due),),
    )


def with_tools() -> Stage:
    stage = Stage(HEAD + TORQUE)
    tools = (
        tool("TW-03", date(2027, 5, 5)),
        tool("TW-05", date(2027, 12, 1)),
        tool("TW-06", date(2027, 12, 1), 60),
    )
    stage.tools = {each.serial: each for each in tools}
    return stage


TRIED = (
    ("TW-03", "100", "typed.tool.cal"),
    ("TW-06", "100", "typed.tool.range"),
    ("XX-1", "100", "typed.tool.unknown"),
    ("", "100", "typed.tool.missing"),
    ("TW-05", "1000", "typed.reading.slip"),
    ("TW-05", "100 kN", "typed.reading.unit"),
)


@pytest.mark.parametrize(("serial", "value", "code"), TRIED)
def test_a_bolt_is_not_recorded_with_the_wrong_tool_or_number(
    serial: str, value: str, code: str
) -> None:
    stage = with_tools()

    assert refused(stage.enter("AB", "bolts", "1, pass 1", value=value, tool=serial)).code == code
    assert stage.state.progress("bolts").entries == ()


def test_another_bolt_than_the_next_is_refused_and_nothing_is_saved() -> None:
    stage = with_tools()
    stage.must(stage.enter("AB", "bolts", "1, pass 1", value="100", tool="TW-05"))

    answer = refused(stage.enter("AB", "bolts", "2, pass 1", value="100", tool="TW-05"))

    assert answer.sentence == "Bolt 2 is not next. Tighten bolt 3 first. Nothing was saved."


def test_a_correction_asks_whether_the_tool_was_good_when_it_was_used() -> None:
    stage = with_tools()
    stage.must(stage.enter("AB", "bolts", "1, pass 1", value="100", tool="TW-05"))
    stage.wait(days=300)
    number = stage.state.progress("bolts").live()[0].number

    stage.must(stage.ask_correction("AB", number, "Misread", value="101", tool="TW-05"))
    assert stage.state.progress("bolts").live()[0].computed["value"] == "101"


def test_without_a_register_any_serial_will_do() -> None:
    stage = with_tools()
    stage.tools = {}

    stage.must(stage.enter("AB", "bolts", "1, pass 1", value="100", tool="anything"))


def locked() -> Stage:
    stage = Stage(HEAD + LOCKS)
    stage.must(stage.enter("AB", "on", "Q4", lock="14", try_out="dead"))
    stage.must(stage.enter("KM", "on", "V2", lock="15", try_out="dead"))
    stage.must(stage.enter("SL", "over", state="All quiet"))
    return stage


def handed_over() -> Stage:
    stage = locked()
    stage.must(stage.sign("SL", "over"))
    stage.must(stage.sign("HL", "over"))
    return stage


def test_a_point_that_is_not_dead_holds_everything() -> None:
    stage = Stage(HEAD + LOCKS)
    stage.must(stage.enter("AB", "on", "Q4", lock="14", try_out="not dead"))
    stage.must(stage.enter("KM", "on", "V2", lock="15", try_out="dead"))

    assert not stage.done("on")
    assert refused(stage.enter("SL", "over", state="x")).code == "order.not_open"


def test_who_goes_and_who_comes_both_sign() -> None:
    stage = locked()

    stage.must(stage.sign("SL", "over"))
    assert not stage.done("over")
    assert refused(stage.sign("SL", "over")).code == "seat.same_person"
    stage.must(stage.sign("HL", "over"))
    assert stage.done("over")
    meanings = [signature.meaning for signature in stage.state.progress("over").signatures]
    assert [words[:11] for words in meanings] == ["I hand over", "I take over"]
    assert (
        "Locks on: 14 of AB on Q4, 15 of KM on V2." in stage.state.progress("over").live()[0].saying
    )


def test_nobody_takes_anothers_lock_off() -> None:
    stage = handed_over()

    answer = refused(stage.enter("KM", "off", "Q4", lock="14"))

    assert answer.sentence == (
        "Lock 14 on Q4 is AB's. Only AB takes it off; if AB is not there, a lead does. "
        "Nothing was saved."
    )
    stage.must(stage.enter("AB", "off", "Q4", lock="14"))
    stage.must(stage.enter("KM", "off", "V2", lock="15"))
    assert stage.done("off")


def test_a_lock_taken_off_without_its_owner_waits_until_another_accepts_it() -> None:
    text = (HEAD + LOCKS).replace('of = "on"', 'of = "on"\nsign = ["supervisor"]')
    stage = Stage(text.replace('without_owner = "lead"', 'without_owner = "supervisor"'))
    stage.must(stage.enter("AB", "on", "Q4", lock="14", try_out="dead"))
    stage.must(stage.enter("KM", "on", "V2", lock="15", try_out="dead"))
    stage.must(stage.enter("SL", "over", state="All quiet"))
    stage.must(stage.sign("SL", "over"))
    stage.must(stage.sign("HL", "over"))
    stage.must(stage.enter("SL", "off", "V2", lock="15", why="KM is ill, told by phone"))
    stage.must(stage.enter("SL", "off", "Q4", lock="14", why="AB is ill, told by phone"))
    assert not stage.done("off")
    for number, point in enumerate(("Q4", "V2"), start=1):
        stage.must(stage.ask(ReportTrouble(by="AB", step="off", part=point, text="Not its owner.")))
        accept = DisposeTrouble(
            by="HL", trouble=number, disposition="use as is", reason="They were told.", signed=True
        )
        stage.must(stage.ask(accept))

    assert stage.done("off")


def test_nobody_accepts_what_they_themselves_entered_out_of_limit() -> None:
    text = (HEAD + GATE).replace('kind = "gate"', 'kind = "gate"\nsign = ["lead"]')
    stage = Stage(text)
    stage.must(stage.enter("HL", "weather", "gust", value="9"))
    stage.must(stage.ask(ReportTrouble(by="SL", step="weather", part="gust", text="Gusty.")))

    answer = refused(
        stage.ask(
            DisposeTrouble(
                by="HL", trouble=1, disposition="use as is", reason="It drops.", signed=True
            )
        )
    )

    assert answer.code == "trouble.own_entry"
    assert answer.sentence == "HL entered this. Someone else decides whether it is used as it is."


def test_a_lock_corrected_opens_the_taking_off_again() -> None:
    stage = handed_over()
    stage.must(stage.enter("AB", "off", "Q4", lock="14"))
    number = stage.state.progress("on").live()[0].number

    stage.must(stage.ask_correction("AB", number, "Misread", lock="16", try_out="dead"))

    assert stage.state.progress("off").live() == ()


def test_a_reading_too_old_shuts_the_gate_and_can_be_taken_again() -> None:
    stage = Stage(HEAD + GATE)
    stage.must(stage.enter("AB", "weather", "gust", value="3"))
    stage.wait(minutes=6)
    assert refused(stage.enter("AB", "weather", "passed")).code == "typed.gate.shut"
    stage.must(stage.enter("AB", "weather", "gust", value="4"))
    stage.must(stage.enter("AB", "weather", "passed"))
    stage.must(stage.enter("AB", "open"))

    assert stage.done("open")


def test_a_reading_corrected_out_of_limit_opens_the_gate_step_again() -> None:
    stage = Stage(HEAD + GATE)
    stage.must(stage.enter("AB", "weather", "gust", value="3"))
    stage.must(stage.enter("AB", "weather", "passed"))
    number = stage.state.progress("weather").live()[0].number

    stage.must(stage.ask_correction("AB", number, "Misread", value="9"))

    assert not stage.done("weather")
    assert refused(stage.enter("AB", "weather", "passed")).code == "typed.gate.shut"
    stage.must(stage.enter("AB", "weather", "gust", value="3"))
    stage.must(stage.enter("AB", "weather", "passed"))
    assert stage.done("weather")
