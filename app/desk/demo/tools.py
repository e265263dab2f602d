"""The tools of Quillmoor: some in date, one past it, one out of service, so that the page has all to tell."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from app.calculations.quantity import Limits
from app.desk.demo.people import LEAD
from app.desk.demo.readings import SPIDER
from app.procedure.tool import Calibration, Tool
from app.run.refusal import Refusal

if TYPE_CHECKING:
    from datetime import date

    from app.desk.desk import Desk

BEGAN = timedelta(days=100)  # ago, when most of them were calibrated
YEAR = timedelta(days=365)
LATE = timedelta(days=9)  # ago, when the one that is past its date should have gone

# serial, kind, least, most, unit
KEPT = (
    (SPIDER, "lift spider", None, "10", "t"),
    ("LS-1180-1", "lift spider", None, "10", "t"),
    ("TW-03", "torque wrench", "40", "400", "N m"),
    ("TW-05", "torque wrench", "40", "400", "N m"),
    ("TW-06", "torque wrench", "8", "60", "N m"),
    ("JS-4", "jack set", None, "25", "t"),
    ("LC-SET-2", "load cell", "0", "50", "kN"),
    ("FG-1", "feeler gauge", "0.03", "2", "mm"),
    ("RM-2", "reflectometer", "0", "100", "%"),
)
PAST, DROPPED = "TW-03", "LS-1180-1"


class NoTool(Exception):  # noqa: N818 - a sentence for whoever makes the demo
    """The tool desk would not take one of the demo's tools."""


def tool(serial: str, kind: str, ends: tuple[str | None, str | None], unit: str, day: date) -> Tool:
    """Return a tool of the demo as it stands on a day."""
    low, high = (None if end is None else Decimal(end) for end in ends)
    on = day - BEGAN
    due = day - LATE if serial == PAST else on + YEAR
    return Tool(
        serial=serial,
        kind=kind,
        range=Limits(low, high, unit),
        calibrations=(Calibration(on, due),),
    )


def furnish(desk: Desk, day: date) -> None:
    """Put the tools of Quillmoor into the register, and take the dropped one out.

    Raises:
        NoTool: the tool desk refused one.
    """
    for serial, kind, low, high, unit in KEPT:
        _kept(desk.tool_desk.add(tool(serial, kind, (low, high), unit, day), LEAD))
    _kept(desk.tool_desk.take_out(DROPPED, "one leg bent in storage", LEAD))


def _kept(answer: Tool | Refusal) -> None:
    if isinstance(answer, Refusal):
        raise NoTool(answer.sentence)
