"""The tool desk: tools come into the register, are calibrated, go out of service and come back."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from typing import Any

from app.calculations.quantity import is_unit
from app.desk.shelf import Shelf
from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Draft
from app.procedure.attached import LONGEST_SERIAL
from app.procedure.tool import Calibration, Tool, find_tool
from app.run.refusal import Refusal
from app.run.tool_events import (
    ADDED,
    BROUGHT_BACK,
    CALIBRATED,
    TAKEN_OUT,
    added_body,
    calibration_body,
)

LONGEST_KIND = 60


class ToolDesk:
    """Changes to the register; each is one event of the site's stream."""

    def __init__(self, ledger: Ledger, shelf: Shelf) -> None:
        self._ledger = ledger
        self._shelf = shelf

    def tools(self) -> tuple[Tool, ...]:
        """Return every tool, by serial."""
        return tuple(self._shelf.seen_tools().values())

    def add(self, tool: Tool, by: str, device: str = "") -> Tool | Refusal:
        """Put a tool into the register."""
        refused = _why_not_added(tool)
        if refused is not None:
            return refused

        def errand(tx: Transaction) -> Tool | Refusal:
            if find_tool(self._shelf.tools(), tool.serial) is not None:
                return _no("tool.known", f"{tool.serial} is in the register already.")
            return self._write(tx, ADDED, tool.serial, added_body(tool), by, device)

        return self._ledger.submit(errand).result()

    def calibrate(
        self, serial: str, calibration: Calibration, by: str, device: str = ""
    ) -> Tool | Refusal:
        """Note a tool's new calibration."""
        if calibration.due < calibration.on:
            return _no("tool.due", "The calibration would end before it began.")
        return self._change(
            serial, CALIBRATED, calibration_body(calibration), by, device, lambda _tool: None
        )

    def take_out(self, serial: str, reason: str, by: str, device: str = "") -> Tool | Refusal:
        """Take a tool out of service."""
        if not reason.strip():
            return _no("tool.reason", "Say why it goes out of service.")

        def why_not(tool: Tool) -> Refusal | None:
            if not _is_away(tool):
                return None
            return _no("tool.out", f"{tool.serial} is out of service already.")

        body = {"reason": reason.strip().rstrip(".")}
        return self._change(serial, TAKEN_OUT, body, by, device, why_not)

    def bring_back(self, serial: str, by: str, device: str = "") -> Tool | Refusal:
        """Bring a tool back into service."""

        def why_not(tool: Tool) -> Refusal | None:
            if _is_away(tool):
                return None
            return _no("tool.in", f"{tool.serial} is in service already.")

        return self._change(serial, BROUGHT_BACK, {}, by, device, why_not)

    def _change(  # noqa: PLR0913, PLR0917 - what changes, by whom, and what stands against it
        self,
        serial: str,
        kind: str,
        body: dict[str, Any],
        by: str,
        device: str,
        why_not: Callable[[Tool], Refusal | None],
    ) -> Tool | Refusal:
        def errand(tx: Transaction) -> Tool | Refusal:
            tool = find_tool(self._shelf.tools(), serial)
            if tool is None:
                return _no("tool.unknown", f"{serial} is not in the register.")
            refused = why_not(tool)
            if refused is not None:
                return refused
            whole = {"serial": tool.serial, **body}
            return self._write(tx, kind, tool.serial, whole, by, device)

        return self._ledger.submit(errand).result()

    def _write(  # noqa: PLR0913, PLR0917 - one event
        self,
        tx: Transaction,
        kind: str,
        serial: str,
        body: dict[str, Any],
        by: str,
        device: str,
    ) -> Tool:
        self._shelf.note(tx.append(Draft(SITE, kind, body, by, device), secrets.token_hex(16)))
        return self._shelf.tools()[serial]


def _is_away(tool: Tool) -> bool:
    return any(away.until is None for away in tool.away)


def _why_not_added(tool: Tool) -> Refusal | None:
    serial, kind, reach = tool.serial, tool.kind, tool.range
    if not serial.strip() or len(serial) > LONGEST_SERIAL or not serial.isprintable():
        return _no("tool.serial", f"A serial has 1 to {LONGEST_SERIAL} characters.")
    if not kind.strip() or len(kind) > LONGEST_KIND or not kind.isprintable():
        return _no("tool.kind", f"A kind of tool has 1 to {LONGEST_KIND} characters.")
    bounded = reach.at_least is not None or reach.at_most is not None
    if bounded and not is_unit(reach.unit):
        return _no("tool.unit", f'"{reach.unit}" is not a known unit. Write it as N m, kN, mm.')
    if reach.at_least is not None and reach.at_most is not None and reach.at_least > reach.at_most:
        return _no("tool.range", "The range ends below its beginning.")
    if any(each.due < each.on for each in tool.calibrations):
        return _no("tool.due", "The calibration would end before it began.")
    return None


def _no(code: str, sentence: str) -> Refusal:
    return Refusal(code=code, sentence=f"{sentence} Nothing was saved.", where="the tool desk")
