"""The sheet of paper on which a crew goes on when tablets cannot: every step with room to write.

It shows what the procedure says and asks, never what was entered; so it holds nothing that is blind.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.desk.seen import Seen
from app.procedure.entry import Circumstances
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.scene import needs_signatures
from app.web.views.card import Panel, panels
from app.web.views.frame import AtTablet, Frame, Way, frame_of

CHECKS = {
    "before": "all sign before the act",
    "after": "all sign after looking at it",
    "independent": "each on a sheet of their own, apart, without looking at the others'",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperLine:
    """One thing to write down: on which part, and what is asked."""

    part: str
    asked: tuple[str, ...]  # each with its unit, or its choices


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperStep:
    """One step as it stands on paper."""

    number: int
    kind: str
    do: str
    panels: tuple[Panel, ...]
    critical: bool
    lines: tuple[PaperLine, ...]
    seats: tuple[str, ...]
    check: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """The whole sheet."""

    frame: Frame
    sheet: str  # its id: a sheet belongs to one run and one text
    title: str
    safe_state: str
    steps: tuple[PaperStep, ...]


def sheet_view(seen: Seen, at: Circumstances, session: AtTablet | None) -> SheetView:
    """Return the sheet of a run's procedure."""
    procedure, run = seen.procedure, seen.state.run
    return SheetView(
        frame=frame_of(
            session,
            where=procedure.title,
            sub="Sheet to print",
            links=(Way(words="The run", href=f"/runs/{run}"),),
            desk=True,
        ),
        sheet=f"{run} {procedure.id}-{procedure.revision} {procedure.sha256[:8]}",
        title=f"{procedure.id} revision {procedure.revision}. {procedure.title}",
        safe_state=procedure.safe_state,
        steps=tuple(_step(step, at) for step in procedure.steps),
    )


def _step(step: Step, at: Circumstances) -> PaperStep:
    signed = needs_signatures(step)
    return PaperStep(
        number=step.number,
        kind=kind_of(step).title,
        do=step.do,
        panels=panels(step),
        critical=step.critical,
        lines=_lines(step, at),
        seats=step.seats if signed else (),
        check=CHECKS.get(step.check, "") if len(step.seats) > 1 else "",
    )


def _lines(step: Step, at: Circumstances) -> tuple[PaperLine, ...]:
    kind = kind_of(step)
    if kind.is_hold:
        return ()
    if kind.presence:
        return tuple(PaperLine(part="", asked=("who",)) for _ in range(8))
    lines = []
    for part in kind.parts(step, at):
        fields = kind.card(step, part, at).fields
        asked = tuple(_asked(each.label, each.unit, each.choices) for each in fields)
        lines.append(PaperLine(part=part, asked=asked or ("done",)))
    return tuple(lines)


def _asked(label: str, unit: str, choices: tuple[str, ...]) -> str:
    if choices:
        return f"{label}: {' / '.join(choices)}"
    return f"{label}, {unit}" if unit else label
