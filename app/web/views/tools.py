"""The register of tools, for whoever looks for one that may be used today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.procedure.tool import Tool
from app.web.views.frame import AtTablet, Frame, Way, frame_of

SOON = timedelta(days=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolRow:
    """One tool."""

    serial: str
    kind: str
    range: str
    due: str
    mark: str
    word: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolsView:
    """All tools, and the answer to the page's question."""

    frame: Frame
    answer: str
    rows: tuple[ToolRow, ...]


def tools_view(tools: Sequence[Tool], now: datetime, session: AtTablet | None) -> ToolsView:
    """Return the register as it stands today."""
    rows = tuple(_row(tool, now) for tool in tools)
    shut = [row.serial for row in rows if row.mark == "out"]
    answer = f"{', '.join(shut)} may not be used today" if shut else "Every tool may be used today"
    return ToolsView(
        frame=frame_of(
            session,
            where="Tools",
            sub="Which one may I take?",
            links=(Way(words="Today", href="/"),),
            stop="/stop",
        ),
        answer=answer if rows else "No tool is in the register: steps only ask for a serial",
        rows=rows,
    )


def _row(tool: Tool, now: datetime) -> ToolRow:
    mark, word, why = _standing(tool, now)
    return ToolRow(
        serial=tool.serial,
        kind=tool.kind,
        range=tool.range.words(),
        due="needs none" if tool.due is None else f"{tool.due.day} {tool.due:%b %Y}",
        mark=mark,
        word=word,
        why=why,
    )


def _standing(tool: Tool, now: datetime) -> tuple[str, str, str]:
    away = tool.out_of_service(now)
    if away is not None:
        since = f"{away.since.day} {away.since:%b}"
        return "out", "Out of service", f"Since {since}: {away.reason}."
    if not tool.calibrated(now.date()):
        return "out", "Past its calibration", "Take it to be calibrated."
    if tool.due is not None and tool.due - now.date() < SOON:
        return "stale", "Due soon", "Have it calibrated before that day."
    return "done", "May be used", ""
