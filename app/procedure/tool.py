"""A registered tool, and whether it may be used: in service, in calibration at that time, in range.

A register without a single tool asks nothing: tools are then only named.

The range and the calibration are the site's own entries; how far a tool may deviate, and how often it
is calibrated, the site's rules say (torque tools: ISO 6789-1:2017, see `calculations.torque_tool`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.calculations.quantity import same_dimension
from app.procedure.entry import Unreadable

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date, datetime

    from app.calculations.quantity import Limits, Quantity
    from app.procedure.model import Step


@dataclass(frozen=True, slots=True)
class Calibration:
    """A calibration: from which day it holds, and the last day on which it holds."""

    on: date
    due: date


@dataclass(frozen=True, slots=True)
class Away:
    """A time out of service; without an end, it still is."""

    since: datetime
    reason: str
    until: datetime | None = None

    def holds(self, at: datetime) -> bool:
        """Say whether the tool was out of service at a moment."""
        return self.since <= at and (self.until is None or at < self.until)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """One tool of the site. Without calibrations it is one that needs none."""

    serial: str
    kind: str
    range: Limits
    calibrations: tuple[Calibration, ...] = ()
    away: tuple[Away, ...] = ()

    @property
    def due(self) -> date | None:
        """Return the last day of the latest calibration; None for a tool that needs none."""
        return self.calibrations[-1].due if self.calibrations else None

    def calibrated(self, day: date) -> bool:
        """Say whether some calibration held on a day."""
        return not self.calibrations or any(c.on <= day <= c.due for c in self.calibrations)

    def out_of_service(self, at: datetime) -> Away | None:
        """Return why it was out of service at a moment, or None."""
        return next((away for away in self.away if away.holds(at)), None)

    def reaches(self, amounts: Iterable[Quantity]) -> bool:
        """Say whether every amount lies in its range."""
        reach = self.range
        if not reach.unit:
            return True
        return all(
            same_dimension(each.unit, reach.unit) and reach.holds(each.to(reach.unit).value)
            for each in amounts
        )

    def may_be_used(self, at: datetime, amounts: Iterable[Quantity]) -> bool:
        """Say whether nothing stands against using it then, at these amounts."""
        return (
            self.calibrated(at.date()) and self.out_of_service(at) is None and self.reaches(amounts)
        )


def same_serial(one: str, other: str) -> bool:
    """Say whether two serials are the same; case does not count."""
    return one.strip().casefold() == other.strip().casefold()


def find_tool(tools: Mapping[str, Tool], serial: str) -> Tool | None:
    """Return the registered tool with a serial, None if there is none."""
    return next((tool for tool in tools.values() if same_serial(tool.serial, serial)), None)


def of_kind(tools: Mapping[str, Tool], kind: str) -> tuple[Tool, ...]:
    """Return the registered tools of a kind, by serial."""
    return tuple(t for _, t in sorted(tools.items()) if same_serial(t.kind, kind))


def why_not_tool(
    step: Step,
    serial: str,
    amounts: tuple[Quantity, ...],
    tools: Mapping[str, Tool],
    at: datetime,
) -> Unreadable | None:
    """Return why the tool that was named may not be used on a step, or None.

    Args:
        step: the step, which names the kind of tool.
        serial: as it was typed.
        amounts: what it is used at, so that its range can be asked.
        tools: the site's register.
        at: the moment of the act.
    """
    if not step.tool or not tools:
        return None
    tool = find_tool(tools, serial)
    wrong = _wrong(step, serial.strip(), tool, amounts, at)
    if not wrong:
        return None
    code, what = wrong
    others = (t for t in of_kind(tools, step.tool) if t is not tool and t.may_be_used(at, amounts))
    other = next(others, None)
    if other is not None:
        way = f"Take {other.serial} from the tool desk."
    else:
        way = f"No other {step.tool} in the register fits. Ask at the tool desk."
    return Unreadable(code=code, sentence=f"{what} {way} Nothing was saved.")


def _wrong(
    step: Step, serial: str, tool: Tool | None, amounts: tuple[Quantity, ...], at: datetime
) -> tuple[str, str] | None:
    if tool is None:
        return "tool.unknown", f"{serial} is not in the register of tools."
    if not same_serial(tool.kind, step.tool):
        return "tool.kind", f"{tool.serial} is a {tool.kind}. This step asks for a {step.tool}."
    away = tool.out_of_service(at)
    if away is not None:
        since = f"{away.since:%d %b}".lstrip("0")
        return "tool.out", f"{tool.serial} is out of service since {since}: {away.reason}."
    if not tool.calibrated(at.date()):
        named = f"{tool.kind.capitalize()} {tool.serial}"
        return "tool.cal", f"{named} is past its calibration date{_due(tool)}."
    beyond = next((each for each in amounts if not tool.reaches((each,))), None)
    if beyond is not None:
        reach = tool.range.words()
        return "tool.range", f"{tool.serial} reaches {reach}, and {beyond} is asked of it."
    return None


def _due(tool: Tool) -> str:
    return "" if tool.due is None else f", {tool.due:%d %b %Y}".replace(", 0", ", ")
