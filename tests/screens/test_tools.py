"""The page of tools: which may be used today, which not, and why."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from app.calculations.quantity import Limits
from app.desk.desk import Desk
from app.procedure.tool import Calibration, Tool
from tests.screens.conftest import Tablets
from tests.screens.visitor import words


def with_tools(desk: Desk) -> None:
    """Put three wrenches and a spider into the register; one of them is then taken out."""
    for serial, due in (
        ("TW-03", date(2027, 5, 5)),
        ("TW-04", date(2028, 1, 1)),
        ("TW-05", date(2027, 5, 20)),
    ):
        reach = Limits(Decimal(40), Decimal(400), "N m")
        calibrations = (Calibration(date(2027, 1, 1), due),)
        desk.tool_desk.add(
            Tool(serial=serial, kind="torque wrench", range=reach, calibrations=calibrations), "HL"
        )
    desk.tool_desk.add(Tool(serial="SP-1", kind="spider", range=Limits(None, None, "")), "HL")
    desk.tool_desk.take_out("TW-04", "dropped", "HL")


def test_the_page_says_which_tools_may_be_used_today(tablets: Tablets, desk: Desk) -> None:
    with_tools(desk)

    told = words(tablets("AB").get("/tools").text)

    assert "TW-03, TW-04 may not be used today" in told
    assert "Out of service Since 6 May: dropped." in told
    assert "Past its calibration Take it to be calibrated. TW-03" in told
    assert "Due soon" in told
    assert "May be used SP-1 spider any needs none" in told


def test_the_same_as_data(tablets: Tablets, desk: Desk) -> None:
    with_tools(desk)

    rows = tablets("AB").see("/tools")["tools"]

    assert rows[0] == {
        "serial": "SP-1",
        "kind": "spider",
        "range": "",
        "due": "needs none",
        "state": "May be used",
    }


def test_an_empty_register_says_that_tools_are_only_named(tablets: Tablets) -> None:
    assert "No tool is in the register" in tablets("AB").get("/tools").text


def test_nobody_reads_it_unless_they_have_signed_on(tablets: Tablets) -> None:
    assert tablets().get("/tools").status_code != 200


def test_the_register_is_there_again_after_a_restart(desk: Desk) -> None:
    with_tools(desk)
    folder = desk.ledger.folder
    before = desk.tool_desk.tools()
    desk.close()

    again = Desk.open(folder, clock=desk.now)

    assert again.tool_desk.tools() == before
    again.close()
