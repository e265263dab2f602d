"""What happens at Quillmoor before anyone looks: a rehearsal carried to its end, and a day half worked.

The rehearsal has what a real day has: counts that differ and are made again, a slip that is corrected,
a stop and a restart, a trouble and its repair. The day that is under way stands at a hold: the supervisor
has refused it once, the crew has done what was asked, and it waits for the supervisor again.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from app.desk.demo.people import LEAD, SUPERVISOR
from app.desk.demo.shift import TABLET, Shift, Stuck
from app.run.commands import (
    Close,
    Correct,
    DisposeTrouble,
    RefuseHold,
    ReportTrouble,
    Sign,
    SignRestart,
    StopWork,
)
from app.run.pausing import make_safe_lines
from app.run.refusal import Refusal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.desk.demo.shift import Clock
    from app.desk.desk import Desk
    from app.procedure.model import FactValue

PROCEDURE = "QP-4"
COUNT = "brackets-gone"
HOLD = "released"
COUNTERS = ("JB", "AN", "ET")
AS_IT_WAS: Mapping[str, FactValue] = {  # the mirror on its cell, fastened, covered; the hall open
    "place": "hall",
    "doors": "open",
    "cover": "on",
    "latches": "latched",
    "tools": "unproved",
    "isolation": "locked",
    "pins": "in",
    "brake": "on",
    "tube": "unbalanced",
    "forces": "unproved",
    "coolant": "drained",
    "umbilicals": "off",
    "flange_bolts": 0,
    "cell": "cradle",
    "laterals": "attached",
    "brackets": 21,
    "hooks": "open",
    "cutoff": "not-set",
    "floor": "occupied",
    "load_on": "cell",
    "landing": "clear",
}
ARRIVED = "The mirror lies in the hall, on its cell, as the crew before us left it."
REHEARSED = (
    "R-0001 was the rehearsal with the dummy. The mirror itself now lies in the hall, on its cell."
)


async def rehearse(desk: Desk, clock: Clock) -> str:
    """Work the whole procedure and close it; return the run's number."""
    shift = await Shift.opened(desk, clock, PROCEDURE, SUPERVISOR)
    for step in shift.seen.procedure.steps:
        if step.id == "laterals-unloaded":
            await _with_a_slip(shift, step.id)
        elif step.id == "brackets-off":
            await _with_a_stop(shift, step.id)
        elif step.id == COUNT:
            await _counted_twice(shift)
        else:
            await shift.work(step.id)
        clock.wait(timedelta(minutes=3))
    await shift.sign(Close(by=SUPERVISOR, signed=False, seen=shift.seq))
    return shift.run


async def arrive(desk: Desk, clock: Clock) -> None:
    """Declare, by two people, that the mirror is where the procedure starts: in the hall."""
    await _declare(desk, clock, ARRIVED, "demo-arrive")


async def put_back(desk: Desk, clock: Clock) -> None:
    """Declare, by two people, that the hardware is again as the procedure starts with."""
    await _declare(desk, clock, REHEARSED, "demo-put-back")


async def _declare(desk: Desk, clock: Clock, reason: str, key: str) -> None:
    clock.press()
    told = await desk.declare(
        "primary",
        AS_IT_WAS,
        reason,
        by=LEAD,
        second=SUPERVISOR,
        device=TABLET,
        key=key,
    )
    if isinstance(told, Refusal):
        raise Stuck(told.sentence)


async def half_a_day(desk: Desk, clock: Clock, until: str = HOLD) -> Shift:
    """Open a run and work it up to a step, which is left untouched."""
    shift = await Shift.opened(desk, clock, PROCEDURE, SUPERVISOR)
    for step in shift.seen.procedure.steps:
        if step.id == until:
            break
        await shift.work(step.id)
    return shift


async def hold_refused_once(shift: Shift) -> None:
    """Let the supervisor refuse the hold; the technicians sign it again, the supervisor not yet."""
    await _technicians_sign(shift)
    await shift.sign(
        RefuseHold(
            by=SUPERVISOR,
            step=HOLD,
            reason="At B14 I see a shadow that may be a pad. Light it from below, and look again.",
            signed=False,
            seen=shift.seq,
        )
    )
    shift.clock.wait(timedelta(minutes=4))
    await _technicians_sign(shift)


async def _technicians_sign(shift: Shift) -> None:
    for person in ("SH", "JB"):
        await shift.sign(Sign(by=person, step=HOLD, signed=False, seen=shift.seq))


async def _with_a_slip(shift: Shift, name: str) -> None:
    await shift.work(name)
    entry = next(e for e in shift.seen.state.progress(name).live() if e.part == "L07")
    shift.clock.wait(timedelta(minutes=1))
    await shift.sign(
        Correct(
            by=entry.by,
            entry=entry.number,
            values={**entry.values, "value": "2.1"},
            reason="Read at the gauge of L08 by mistake. Read again at L07.",
            signed=False,
            seen=shift.seq,
        )
    )


async def _with_a_stop(shift: Shift, name: str) -> None:
    await shift.enter(name, "SH", "B01")
    await shift.ask(StopWork(by="AN", text="Something fell on the cell, near B09."))
    shift.clock.wait(timedelta(minutes=11))
    for person in (SUPERVISOR, "SH"):
        seen = shift.seen
        await shift.sign(
            SignRestart(
                by=person,
                confirmed=make_safe_lines(seen.procedure, seen.state),
                reason="A torch had slipped from a pocket. Found on the cell's rim and taken away.",
                signed=False,
            )
        )
    for number in range(2, 22):
        await shift.enter(name, "SH", f"B{number:02d}")
    await _with_a_trouble(shift, name, "B14")


async def _with_a_trouble(shift: Shift, name: str, part: str) -> None:
    text = "The pad came off with the bracket. One edge is scuffed."
    await shift.ask(ReportTrouble(by="SH", step=name, part=part, text=text))
    shift.clock.wait(timedelta(minutes=9))
    await shift.sign(
        DisposeTrouble(
            by=SUPERVISOR,
            trouble=shift.seen.state.open_troubles()[0].number,
            disposition="repair",
            reason="The pad was changed for a new one, and the glass under it is whole.",
            signed=False,
        )
    )
    await shift.enter(name, "SH", part)


async def _counted_twice(shift: Shift) -> None:
    for person, found in zip(COUNTERS, ("0", "0", "1"), strict=True):
        await shift.alone(COUNT, person, count=found)
    shift.clock.wait(timedelta(minutes=6))
    for person in COUNTERS:
        await shift.alone(COUNT, person)
