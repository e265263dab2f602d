"""The errand that writes a run's sealed record where a person wants it."""

from __future__ import annotations

import asyncio
import hashlib
import re
from pathlib import Path
from typing import TYPE_CHECKING

from app.cli.told import YES, Trouble, open_site, read
from app.desk.founding import RECORDS

if TYPE_CHECKING:
    import argparse

    from app.desk.desk import Desk

RUN = re.compile(r"R-[0-9]{4,9}", re.ASCII)


def write_record(asked: argparse.Namespace) -> int:
    """Write the sealed record; a running server is not disturbed, for a sealed file never changes."""
    run: str = asked.run
    if not RUN.fullmatch(run):
        raise Trouble(f"{run!r} is no run. A run is named like R-0001.")
    sealed: Path = asked.folder / RECORDS / f"{run}.pdf"
    if not sealed.is_file():
        _seal(asked.folder, run)
    content = read(sealed)
    out: Path = asked.out or Path(f"{run}.pdf")
    out.write_bytes(content)
    print(f"{out} is the sealed record of {run}. SHA-256 {hashlib.sha256(content).hexdigest()}.")
    print(f"`mirrorwright verify {out}` says what holds.")
    return YES


def _seal(folder: Path, run: str) -> None:
    desk = open_site(folder)
    try:
        seen = desk.run(run)
        if seen is None:
            raise Trouble(f"{desk.site.name} has no run {run}.")
        if seen.state.status != "closed":
            raise Trouble(f"{run} is not closed yet. Its record is sealed when it is.")
        asyncio.run(_sealed(desk, run))
    finally:
        desk.close()


async def _sealed(desk: Desk, run: str) -> None:
    await desk.seal(run)
