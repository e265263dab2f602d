"""The whole campaign, QP-1 to QP-8, through the door, in the time of an invented May.

It ends as it must: eight runs closed, eight sealed records that verify, and the board of the hardware
as it stood on the first morning.
"""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from app.desk.demo.campaign import CAMPAIGN
from app.desk.demo.people import PEOPLE, RELEASER, REVIEWER
from app.desk.demo.shift import Clock
from app.desk.desk import Desk
from app.record.verify import verify
from app.run.board import first_board
from app.settings import data_folder
from app.web.app import create_app
from tests.campaign.crew import AT_THE_TABLET, Crew, Tablet
from tests.record.independent import errors_aloud, faults_by_page

FIRST_MORNING = datetime(2027, 5, 4, 8, 0, tzinfo=UTC)  # six o'clock at Quillmoor
HOME = "http://127.0.0.1:8420"
NIGHT = timedelta(hours=11)
AUDITOR = "BQ"
RUNS = range(1, len(CAMPAIGN) + 1)


@pytest.mark.slow
@pytest.mark.timeout(900)
def test_a_crew_carries_the_mirror_through_the_whole_campaign(tmp_path: Path) -> None:
    clock = Clock(FIRST_MORNING)
    desk = _founded(tmp_path / "site", clock)
    try:
        records = asyncio.run(_campaign(desk, clock))
        asset = desk.site.assets["primary"]
        board = desk.run("R-0008").board  # type: ignore[union-attr]
    finally:
        desk.close()

    assert {name: now.value for name, now in board.facts.items()} == {
        name: now.value for name, now in first_board(asset).facts.items()
    }
    assert len(records) == len(CAMPAIGN)
    for procedure, pdf in zip(CAMPAIGN, records, strict=True):
        report = verify(pdf, now=clock())
        assert report.ok, (procedure, report.sentences)
        file = tmp_path / f"{procedure}.pdf"
        file.write_bytes(pdf)
        assert faults_by_page(file) == []
        assert errors_aloud(file) == []


def _founded(folder: Path, clock: Clock) -> Desk:
    texts = data_folder("procedures")
    Desk.found(
        folder,
        (texts / "site.toml").read_bytes(),
        [(each.person(), each.secret) for each in PEOPLE],
        {f"{name}.toml": (texts / f"{name}.toml").read_bytes() for name in CAMPAIGN},
        reviewer=REVIEWER,
        releaser=RELEASER,
        clock=clock,
    )
    return Desk.open(folder, clock=clock)


async def _campaign(desk: Desk, clock: Clock) -> list[bytes]:
    """Carry out the eight procedures, and take their sealed records away."""
    transport = httpx.ASGITransport(app=create_app(desk), raise_app_exceptions=False)
    async with httpx.AsyncClient(
        transport=transport, base_url=HOME, headers={"Origin": HOME}
    ) as client:
        tablet = Tablet(client)
        for procedure in CAMPAIGN:
            for person in AT_THE_TABLET:
                await tablet.sign_on(person)
            crew = await Crew.open(desk, clock, tablet, procedure)
            await crew.carry_out()
            clock.wait(NIGHT)
        await tablet.sign_on(AUDITOR)
        records = [await tablet.fetch(f"/records/{_run(n)}/record.pdf") for n in RUNS]
        told = await tablet.see("/records")
    rows = {row["run"]: (row["procedure"][:4], row["state"]) for row in _rows(told)}
    assert rows == {_run(n): (CAMPAIGN[n - 1], "Sealed") for n in RUNS}
    return records


def _rows(told: dict[str, object]) -> list[dict[str, str]]:
    rows = told["records"]
    assert isinstance(rows, list)
    return rows


def _run(number: int) -> str:
    return f"R-{number:04d}"
