"""The register of tools, kept at the console, in the order in which a site does it."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.desk.desk import Desk
from tests.cli.conftest import Errand

pytestmark = pytest.mark.slow


def test_a_tool_comes_is_calibrated_goes_out_and_comes_back(
    errand: Errand, demo_site: Path
) -> None:
    def tools(*words: str) -> str:
        told = errand("tools", *words, "--folder", demo_site)
        return "\n".join([*told.said, *told.complained])

    added = tools("add", "TW-99", "torque wrench", "--range", "40 400 N m", "--due", "2026-01-01")
    assert added == (
        "TW-99         torque wrench, 40 to 400 N m, calibrated until 2026-01-01, "
        "NOT IN CALIBRATION"
    )
    assert tools("add", "tw-99", "torque wrench") == (
        "tw-99 is in the register already. Nothing was saved."
    )
    assert "calibrated until 2099-01-01" in tools(
        "calibrate", "TW-99", "--on", "2026-01-02", "--due", "2099-01-01"
    )
    assert tools("out-of-service", "TW-99", "dropped", "on", "the", "floor").endswith(
        "OUT OF SERVICE: dropped on the floor"
    )
    assert tools("out-of-service", "TW-99", "again") == (
        "TW-99 is out of service already. Nothing was saved."
    )
    assert "OUT OF SERVICE" not in tools("back", "TW-99")
    assert tools("back", "TW-99") == "TW-99 is in service already. Nothing was saved."
    assert tools("back", "TW-1") == "TW-1 is not in the register. Nothing was saved."
    assert "TW-99" in tools("list")

    desk = Desk.open(demo_site)
    try:
        (tool,) = [each for each in desk.tool_desk.tools() if each.serial == "TW-99"]
        kinds = [e.kind for e in desk.ledger.read("site") if e.body.get("serial") == "TW-99"]
    finally:
        desk.close()
    assert kinds == ["ToolAdded", "ToolCalibrated", "ToolTakenOut", "ToolBroughtBack"]
    assert len(tool.calibrations) == 2
    assert [away.reason for away in tool.away] == ["dropped on the floor"]


WRONG = (
    (("add", "X-1", "gauge", "--range", "1 2"), '"1 2" is no range.'),
    (("add", "X-1", "gauge", "--range", "2 1 mm"), "The range ends below its beginning."),
    (("add", "X-1", "gauge", "--range", "1 2 frobs"), '"frobs" is not a known unit.'),
    (("add", "", "gauge"), "A serial has 1 to 40 characters."),
    (
        ("calibrate", "X-1", "--on", "2027-01-02", "--due", "2027-01-01"),
        "The calibration would end before it began.",
    ),
)


@pytest.mark.parametrize(("words", "sentence"), WRONG)
def test_what_makes_no_tool_is_refused(
    errand: Errand, demo_site: Path, words: tuple[str, ...], sentence: str
) -> None:
    told = errand("tools", *words, "--folder", demo_site)

    assert told.code != 0
    assert told.complained[0].startswith(sentence)
