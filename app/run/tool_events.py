"""The register of tools as the site's stream tells it: one fold, each tool by its serial."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from app.calculations.quantity import Limits, plain
from app.procedure.tool import Away, Calibration, Tool

ADDED, CALIBRATED = "ToolAdded", "ToolCalibrated"
TAKEN_OUT, BROUGHT_BACK = "ToolTakenOut", "ToolBroughtBack"
TOOL_EVENTS = (ADDED, CALIBRATED, TAKEN_OUT, BROUGHT_BACK)


def noted(tool: Tool | None, kind: str, body: Mapping[str, Any], at: datetime) -> Tool | None:
    """Return a tool after one more event. Total: what does not fit changes nothing."""
    if kind == ADDED:
        return _added(body)
    if tool is None:
        return None
    if kind == CALIBRATED:
        return replace(tool, calibrations=(*tool.calibrations, _calibration(body)))
    if kind == TAKEN_OUT:
        return replace(tool, away=(*tool.away, Away(at, str(body["reason"]))))
    ended = tuple(a if a.until is not None else replace(a, until=at) for a in tool.away)
    return replace(tool, away=ended)


def added_body(tool: Tool) -> dict[str, Any]:
    """Return what the event that adds a tool says of it."""
    low, high = tool.range.at_least, tool.range.at_most
    return {
        "serial": tool.serial,
        "kind": tool.kind,
        "at_least": "" if low is None else plain(low),
        "at_most": "" if high is None else plain(high),
        "unit": tool.range.unit,
        "calibrations": [calibration_body(each) for each in tool.calibrations],
    }


def calibration_body(calibration: Calibration) -> dict[str, str]:
    """Return a calibration as the events say it."""
    return {"on": calibration.on.isoformat(), "due": calibration.due.isoformat()}


def _added(body: Mapping[str, Any]) -> Tool:
    low, high = (Decimal(body[end]) if body[end] else None for end in ("at_least", "at_most"))
    return Tool(
        serial=str(body["serial"]),
        kind=str(body["kind"]),
        range=Limits(low, high, str(body["unit"])),
        calibrations=tuple(_calibration(each) for each in body["calibrations"]),
    )


def _calibration(body: Mapping[str, Any]) -> Calibration:
    return Calibration(date.fromisoformat(str(body["on"])), date.fromisoformat(str(body["due"])))
