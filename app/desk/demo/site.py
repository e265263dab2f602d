"""Makes the demo site in a folder, once; and says what there is to see."""

from __future__ import annotations

import asyncio
import shutil
from datetime import timedelta
from typing import TYPE_CHECKING

from app.desk.demo.people import PEOPLE, RELEASER, REVIEWER
from app.desk.demo.shift import Clock
from app.desk.demo.story import arrive, half_a_day, hold_refused_once, put_back, rehearse
from app.desk.demo.tools import furnish
from app.desk.desk import Desk, utc_now
from app.desk.founding import NotFounded

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

MARK = "THIS-IS-A-DEMO.txt"
MARKED = "Everything in this folder is invented. `mirrorwright demo --fresh` deletes it.\n"
REHEARSAL, DAY = "R-0001", "R-0002"
REHEARSED_BEFORE = timedelta(days=2)
BEGAN_BEFORE = timedelta(minutes=56)  # the crew works up to the hold in less


def stands(folder: Path) -> bool:
    """Say whether the folder holds a demo site."""
    return (folder / MARK).is_file()


def forget(folder: Path) -> None:
    """Delete a demo site, and nothing else.

    Raises:
        NotFounded: the folder holds something that is not a demo site.
    """
    if not folder.exists():
        return
    if not stands(folder):
        raise NotFounded(f"{folder} holds no demo site. Nothing was deleted.")
    shutil.rmtree(folder)


async def make(folder: Path, procedures: Path, *, clock: Callable[[], datetime] = utc_now) -> None:
    """Make the site and let its people work; the folder appears when all of it is there.

    Raises:
        NotFounded: the folder holds something else, or the procedures do not load.
        Stuck: the people's story does not fit the procedure.
    """
    if folder.exists() and any(folder.iterdir()):
        raise NotFounded(f"{folder} is not empty and holds no demo site. Give another --folder.")
    making = folder.with_name(f"{folder.name}.making")
    shutil.rmtree(making, ignore_errors=True)
    made = clock()
    theirs = Clock(made - REHEARSED_BEFORE)
    _found(making, procedures, theirs)
    await _work(making, theirs, made)
    (making / MARK).write_text(MARKED)
    if folder.exists():
        folder.rmdir()
    making.rename(folder)


def found(folder: Path, procedures: Path, clock: Clock) -> None:
    """Found the site with the mirror in the hall, where its one procedure starts."""
    _found(folder, procedures, clock)
    asyncio.run(_arrived(folder, clock))


def _found(folder: Path, procedures: Path, clock: Clock) -> None:
    Desk.found(
        folder,
        (procedures / "site.toml").read_bytes(),
        [(each.person(), each.secret) for each in PEOPLE],
        {"QP-4.toml": (procedures / "QP-4.toml").read_bytes()},
        reviewer=REVIEWER,
        releaser=RELEASER,
        clock=clock,
    )


async def _arrived(folder: Path, clock: Clock) -> None:
    desk = Desk.open(folder, clock=clock)
    try:
        furnish(desk, clock.now.date())
        await arrive(desk, clock)
    finally:
        desk.close()


async def _work(folder: Path, clock: Clock, made: datetime) -> None:
    desk = Desk.open(folder, clock=clock)
    try:
        furnish(desk, clock.now.date())
        await arrive(desk, clock)
        run = await rehearse(desk, clock)
        await desk.seal(run)
        clock.now = made - BEGAN_BEFORE - timedelta(minutes=20)
        await put_back(desk, clock)
        clock.now = made - BEGAN_BEFORE
        await hold_refused_once(await half_a_day(desk, clock))
    finally:
        desk.close()


def welcome(address: str) -> tuple[str, ...]:
    """Return what there is to see, and who is who."""
    people = [f"  {e.id:3} {e.secret:13} {e.name}, {' and '.join(e.roles)}" for e in PEOPLE]
    return (
        "",
        "Quillmoor Observatory, invented from the mirror to the crew. Open:",
        f"  the tablet       {address}/runs/{DAY}       sign on as JB, technician",
        f"  the holds        {address}/holds             sign on as TW, supervisor",
        f"  a sealed record  {address}/records/{REHEARSAL}    sign on as BQ, auditor",
        "",
        "People, each with their own secret:",
        *people,
        "",
        "What you enter is kept. --fresh starts anew. End with Ctrl-C.",
        "",
    )
