"""Errands on the register of tools. Who does them holds the machine itself: the record says "console"."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from app.calculations.quantity import PLAIN_NUMBER, Limits
from app.cli.register import CONSOLE
from app.cli.told import NO, YES, Trouble, open_site
from app.procedure.tool import Calibration, Tool
from app.run.refusal import Refusal

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.desk.desk import Desk


def add_parser(errands: argparse._SubParsersAction[argparse.ArgumentParser], folder: Path) -> None:
    """Offer the errands on tools on the command line."""
    changes = errands.add_parser("tools", help="keep the register of tools").add_subparsers(
        required=True, metavar="CHANGE"
    )
    for name, errand, told in (
        ("list", list_tools, "every tool, its range and its calibration"),
        ("add", add, "put a tool into the register"),
        ("calibrate", calibrate, "note a new calibration"),
        ("out-of-service", take_out, "a tool is used no more until it is brought back"),
        ("back", bring_back, "a tool is in service again"),
    ):
        change = changes.add_parser(name, help=told)
        change.set_defaults(errand=errand)
        change.add_argument("--folder", type=Path, default=folder, help=f"the site's ({folder})")
        if name != "list":
            change.add_argument("serial", metavar="SERIAL")
        if name == "add":
            change.add_argument("kind", metavar="KIND", help='as procedures say: "torque wrench"')
            change.add_argument("--range", help='as "40 400 N m"')
        if name in {"add", "calibrate"}:
            change.add_argument("--on", type=day, help="first day of the calibration")
            due_given = name == "calibrate"
            change.add_argument("--due", type=day, required=due_given, help="its last day")
        if name == "out-of-service":
            change.add_argument("reason", nargs="+", metavar="REASON")


def list_tools(asked: argparse.Namespace) -> int:
    """Tell every tool: its kind, its range, until when it is calibrated, whether it is in service."""
    desk = open_site(asked.folder)
    try:
        for tool in desk.tool_desk.tools():
            print(_told(tool, desk.now().date()))
        return YES
    finally:
        desk.close()


def add(asked: argparse.Namespace) -> int:
    """Put a tool into the register."""
    tool = Tool(
        serial=asked.serial,
        kind=asked.kind,
        range=_range(asked.range or ""),
        calibrations=_calibrations(asked),
    )
    return _change(asked, lambda desk: desk.tool_desk.add(tool, CONSOLE))


def calibrate(asked: argparse.Namespace) -> int:
    """Note a new calibration."""

    def change(desk: Desk) -> Tool | Refusal:
        calibration = Calibration(asked.on or desk.now().date(), asked.due)
        return desk.tool_desk.calibrate(asked.serial, calibration, CONSOLE)

    return _change(asked, change)


def take_out(asked: argparse.Namespace) -> int:
    """Take a tool out of service."""
    reason = " ".join(asked.reason)
    return _change(asked, lambda desk: desk.tool_desk.take_out(asked.serial, reason, CONSOLE))


def bring_back(asked: argparse.Namespace) -> int:
    """Bring a tool back into service."""
    return _change(asked, lambda desk: desk.tool_desk.bring_back(asked.serial, CONSOLE))


def day(typed: str) -> date:
    """Return the day that was typed."""
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise argparse.ArgumentTypeError(f'"{typed}" is no day: type it as 2027-12-01') from None


def _change(asked: argparse.Namespace, change: Callable[[Desk], Tool | Refusal]) -> int:
    desk = open_site(asked.folder)
    try:
        answer = change(desk)
        today = desk.now().date()
    finally:
        desk.close()
    if isinstance(answer, Refusal):
        print(answer.sentence, file=sys.stderr)
        return NO
    print(_told(answer, today))
    return YES


def _calibrations(asked: argparse.Namespace) -> tuple[Calibration, ...]:
    if asked.due is None:
        return ()
    return (Calibration(asked.on or date.min, asked.due),)


def _range(typed: str) -> Limits:
    """Return a range typed as `40 400 N m`; nothing typed is no range."""
    words = typed.split(maxsplit=2)
    if not words:
        return Limits(None, None, "")
    numbers = words[:2]
    if len(words) < 3 or not all(PLAIN_NUMBER.fullmatch(each) for each in numbers):
        raise Trouble(f'"{typed}" is no range. Type it as --range "40 400 N m".')
    low, high = (Decimal(each) for each in numbers)
    return Limits(low, high, words[2])


def _told(tool: Tool, today: date) -> str:
    reach = f", {tool.range.words()}" if tool.range.words() else ""
    due = "needs no calibration" if tool.due is None else f"calibrated until {tool.due}"
    late = "" if tool.calibrated(today) else ", NOT IN CALIBRATION"
    away = next((each for each in tool.away if each.until is None), None)
    out = f", OUT OF SERVICE: {away.reason}" if away is not None else ""
    return f"{tool.serial:12}  {tool.kind}{reach}, {due}{late}{out}"
