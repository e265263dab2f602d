"""The register of tools: who may be used, when, for how much; and which one to take instead."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from app.calculations.quantity import Limits, Quantity
from app.procedure.tool import Away, Calibration, Tool, why_not_tool
from tests.procedure.kinds.stand import step_of

NOON = datetime(2027, 12, 2, 12, tzinfo=UTC)
REACH = Limits(Decimal(40), Decimal(400), "N m")


def wrench(
    serial: str, *, on: date = date(2027, 1, 1), due: date, away: Away | None = None
) -> Tool:
    return Tool(
        serial=serial,
        kind="torque wrench",
        range=REACH,
        calibrations=(Calibration(on, due),),
        away=() if away is None else (away,),
    )


TOOLS = {
    tool.serial: tool
    for tool in (
        wrench("TW-03", due=date(2027, 12, 1)),
        wrench(
            "TW-04", due=date(2028, 1, 1), away=Away(datetime(2027, 11, 9, tzinfo=UTC), "dropped")
        ),
        wrench("TW-05", due=date(2028, 3, 1)),
        Tool(serial="LS-1180-2", kind="lift spider", range=Limits(None, None, "")),
    )
}
STEP = step_of("tick", tool="torque wrench")

# serial, torque, code, sentence
REFUSED = (
    (
        "TW-03",
        "286.9",
        "tool.cal",
        "Torque wrench TW-03 is past its calibration date, 1 Dec 2027. "
        "Take TW-05 from the tool desk. Nothing was saved.",
    ),
    (
        "TW-04",
        "286.9",
        "tool.out",
        "TW-04 is out of service since 9 Nov: dropped. "
        "Take TW-05 from the tool desk. Nothing was saved.",
    ),
    (
        "LS-1180-2",
        "286.9",
        "tool.kind",
        "LS-1180-2 is a lift spider. This step asks for a torque wrench. "
        "Take TW-05 from the tool desk. Nothing was saved.",
    ),
    (
        "TW-99",
        "286.9",
        "tool.unknown",
        "TW-99 is not in the register of tools. Take TW-05 from the tool desk. Nothing was saved.",
    ),
    (
        "TW-05",
        "400.1",
        "tool.range",
        "TW-05 reaches 40 to 400 N m, and 400.1 N m is asked of it. "
        "No other torque wrench in the register fits. Ask at the tool desk. Nothing was saved.",
    ),
)


@pytest.mark.parametrize(("serial", "torque", "code", "sentence"), REFUSED)
def test_a_tool_that_may_not_be_used_names_one_that_may(
    serial: str, torque: str, code: str, sentence: str
) -> None:
    found = why_not_tool(STEP, serial, (Quantity(Decimal(torque), "N m"),), TOOLS, NOON)

    assert found is not None
    assert (found.code, found.sentence) == (code, sentence)


@pytest.mark.parametrize("serial", ["TW-05", " tw-05 "])
def test_a_tool_in_date_and_in_range_is_good(serial: str) -> None:
    assert why_not_tool(STEP, serial, (Quantity(Decimal(400), "N m"),), TOOLS, NOON) is None


def test_a_range_is_asked_in_any_unit_of_torque() -> None:
    amount = (Quantity(Decimal("0.2869"), "kN m"),)

    assert why_not_tool(STEP, "TW-05", amount, TOOLS, NOON) is None


def test_it_is_the_moment_of_the_act_that_counts() -> None:
    then = datetime(2027, 11, 1, tzinfo=UTC)

    assert why_not_tool(STEP, "TW-03", (), TOOLS, then) is None
    assert why_not_tool(STEP, "TW-04", (), TOOLS, then) is None
    assert TOOLS["TW-05"].calibrated(date(2026, 12, 31)) is False


def test_the_last_day_belongs_to_the_calibration() -> None:
    assert TOOLS["TW-03"].calibrated(date(2027, 12, 1))
    assert not TOOLS["TW-03"].calibrated(date(2027, 12, 2))


def test_without_a_register_tools_are_only_named() -> None:
    assert why_not_tool(STEP, "anything", (), {}, NOON) is None


def test_a_tool_that_needs_no_calibration_has_none() -> None:
    spider = step_of("tick", tool="lift spider")

    assert why_not_tool(spider, "LS-1180-2", (), TOOLS, NOON) is None
