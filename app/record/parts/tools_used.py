"""The instruments and tools that a run's entries name, with their calibration at that time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.procedure.tool import find_tool
from app.run.events import EntryMade

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.tool import Tool
    from app.record.acts import Names
    from app.run.events import Happened

NO_TOOLS = "The entries of this run name no tool by its serial."
NO_REGISTER = "not in the site's register of tools, so nothing is known here of its calibration"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolShown:
    """One tool, and where it was used."""

    serial: str
    kind: str
    range: str
    calibrated: str
    steps: str


def tools_used(
    happened: Sequence[Happened], tools: Mapping[str, Tool], names: Names
) -> tuple[ToolShown, ...]:
    """Return the tools named in entries, in order of first use."""
    used: dict[str, list[Happened]] = {}
    for each in happened:
        serial = each.event.values.get("tool", "") if isinstance(each.event, EntryMade) else ""
        if serial:
            used.setdefault(serial.strip(), []).append(each)
    return tuple(_shown(serial, uses, tools, names) for serial, uses in used.items())


def _shown(
    serial: str, uses: Sequence[Happened], tools: Mapping[str, Tool], names: Names
) -> ToolShown:
    made = [each.event for each in uses if isinstance(each.event, EntryMade)]
    steps = ", ".join(dict.fromkeys(names.step(each.step).removeprefix("step ") for each in made))
    tool = find_tool(tools, serial)
    if tool is None:
        asked = names.procedure.step(made[0].step)
        kind = asked.tool if asked is not None else ""
        return ToolShown(serial=serial, kind=kind, range="", calibrated=NO_REGISTER, steps=steps)
    day = uses[-1].at.date()
    held = [c for c in tool.calibrations if c.on <= day <= c.due]
    said = f"{held[-1].on} to {held[-1].due}" if held else "no calibration held on that day"
    return ToolShown(
        serial=tool.serial,
        kind=tool.kind,
        range=tool.range.words() if tool.range.unit else "",
        calibrated=said if tool.calibrations else "needs none",
        steps=steps,
    )
