"""The procedure drawn for its lead: steps as a ruler, seats as marks, facts as lanes, hazards above.

Every coordinate is worked out here; the template only writes it down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.proof.drawn import Drawn, Lane

LEFT, STEP, RIGHT = 150, 26, 40
HAZARDS, RULER, SEATS, SEAT, LANE = 30, 74, 88, 13, 34
LETTER = 8.5  # width of a sign at the size of a lane's words


@dataclass(frozen=True, slots=True, kw_only=True)
class StepMark:
    """One step on the ruler with its seats."""

    x: str
    number: int
    hold: bool
    left: str
    weak: bool
    seats: tuple[tuple[str, bool], ...]  # y; whether the role may release holds


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardMark:
    """Where hazards would come about, with the fewest people."""

    path: str
    x: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """A stretch of a lane over which a fact has one value."""

    line: str
    x: str
    y: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneRow:
    """One fact along the steps."""

    name: str
    y: str
    at: str
    values: tuple[Value, ...]
    changes: tuple[str, ...]
    confirmed: tuple[str, ...]
    needed: tuple[str, ...]
    words: str  # the same in a sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportDrawing:
    """The whole drawing."""

    width: int
    height: int
    label: str
    base: str
    steps: tuple[StepMark, ...]
    hazards: tuple[HazardMark, ...]
    lanes: tuple[LaneRow, ...]
    name_x: int


def report_drawing(drawn: Drawn, releasing: Mapping[str, bool]) -> ReportDrawing:
    """Return the drawing; `releasing` says of each role whether it may release holds."""
    count = len(drawn.ruler)
    seats = max((len(notch.seats) for notch in drawn.ruler), default=1)
    top = SEATS + seats * SEAT + 30
    width = LEFT + count * STEP + _room(drawn, count)
    lanes = tuple(_lane(lane, top + at * LANE, count) for at, lane in enumerate(drawn.lanes))
    hazards = _hazards(drawn)
    places = ", ".join(f"step {mark.step}" for mark in drawn.marks[:1])
    return ReportDrawing(
        width=width,
        height=top + len(lanes) * LANE,
        label=(
            f"{count} steps, {len(lanes)} facts. "
            + (f"Hazards would open at {places} at the earliest." if places else "No hazard opens.")
        ),
        base=f"M{LEFT} {RULER}H{LEFT + count * STEP}",
        steps=tuple(
            StepMark(
                x=f"{_x(notch.number):.0f}",
                number=notch.number,
                hold=notch.hold,
                left=f"{_x(notch.number) - 6:.0f}",
                weak=notch.weak,
                seats=tuple(
                    (f"{SEATS + at * SEAT:.0f}", releasing.get(role, False))
                    for at, role in enumerate(notch.seats)
                ),
            )
            for notch in drawn.ruler
        ),
        hazards=hazards,
        lanes=lanes,
        name_x=LEFT - 8,
    )


def _room(drawn: Drawn, count: int) -> int:
    """Return the width beside the last step: a fact's last value must not be cut off."""
    lasts = [lane.stretches[-1] for lane in drawn.lanes if lane.stretches]
    needed = [len(s.value) * LETTER + 16 - (count - s.after) * STEP for s in lasts]
    return int(max((RIGHT, *needed)))


def _hazards(drawn: Drawn) -> tuple[HazardMark, ...]:
    steps: dict[int, list[int]] = {}
    for mark in drawn.marks:
        steps.setdefault(mark.step, []).append(mark.people)
    return tuple(
        HazardMark(
            path=f"M{_x(step):.0f} {HAZARDS - 22}l11 19h-22z",
            x=f"{_x(step):.0f}",
            words=str(min(people)),
        )
        for step, people in sorted(steps.items())
    )


def _lane(lane: Lane, y: int, count: int) -> LaneRow:
    values = []
    for stretch in lane.stretches:
        start, end = LEFT + stretch.after * STEP, LEFT + stretch.until * STEP
        words = stretch.value or "as found"
        fits = len(words) * LETTER <= max(end - start - 4, 0) or stretch.until == count
        values.append(
            Value(
                line=f"M{start + 2} {y}H{max(end - 2, start + 4)}",
                x=str(start + 6),
                y=str(y - 7),
                words=words if fits else "",
            )
        )
    name = lane.fact.replace("_", " ").capitalize()
    told = "; ".join(
        f"{stretch.value or 'as found'} from {'the start' if not stretch.after else f'step {stretch.after}'}"
        for stretch in lane.stretches
    )
    looked = ", ".join(map(str, lane.confirmed))
    return LaneRow(
        name=name,
        y=str(y + 4),
        at=str(y),
        values=tuple(values),
        changes=tuple(
            f"M{_x(s.after) + STEP / 2:.0f} {y - 9}v18" for s in lane.stretches if s.after
        ),
        confirmed=tuple(f"{_x(number):.0f}" for number in lane.confirmed),
        needed=tuple(f"M{_x(number) - 5:.0f} {y + 4}v5h10v-5" for number in lane.needed),
        words=f"{name}: {told}." + (f" Looked at on step {looked}." if looked else ""),
    )


def _x(number: int) -> float:
    return LEFT + (number - 0.5) * STEP
