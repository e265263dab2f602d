"""One sheet, one signature; what became of it can be asked."""

from __future__ import annotations

import asyncio

import pytest

from app.desk.sheets import GIVEN_UP, Sheets
from app.run.refusal import Refusal

WRONG = Refusal(code="pin.wrong", sentence="That is not the secret.")


class Signing:
    """Counts how often a secret is looked at."""

    def __init__(self) -> None:
        self.looked = 0
        self.go_on = asyncio.Event()

    async def __call__(self) -> Refusal:
        self.looked += 1
        await self.go_on.wait()
        return WRONG


def test_the_same_sheet_again_gets_the_same_outcome_and_no_second_look() -> None:
    async def act() -> None:
        sheets, signing = Sheets(), Signing()
        first = asyncio.ensure_future(sheets.once("R-1", "k", signing))
        second = asyncio.ensure_future(sheets.once("R-1", "k", signing))
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        assert sheets.outcome("R-1", "k", kept=False).state == "under way"
        signing.go_on.set()

        assert (await first, await second) == (WRONG, WRONG)
        assert await sheets.once("R-1", "k", signing) == WRONG
        assert signing.looked == 1
        assert sheets.outcome("R-1", "k", kept=False).refusal == WRONG

    asyncio.run(act())


def test_a_tablet_that_goes_away_does_not_take_the_act_with_it() -> None:
    async def act() -> None:
        sheets, signing = Sheets(), Signing()
        gone = asyncio.ensure_future(sheets.once("R-1", "k", signing))
        await asyncio.sleep(0)
        gone.cancel()
        with pytest.raises(asyncio.CancelledError):
            await gone
        signing.go_on.set()
        await asyncio.sleep(0)
        await asyncio.sleep(0)

        assert sheets.outcome("R-1", "k", kept=False).state == "refused"

    asyncio.run(act())


def test_a_sheet_that_has_not_arrived_is_given_up_by_asking() -> None:
    async def act() -> None:
        sheets, signing = Sheets(), Signing()
        signing.go_on.set()

        assert sheets.outcome("R-1", "k", kept=False).state == "given up"
        assert await sheets.once("R-1", "k", signing) == GIVEN_UP
        assert signing.looked == 0

    asyncio.run(act())


def test_after_a_restart_the_ledger_says_that_it_was_done() -> None:
    assert Sheets().outcome("R-1", "k", kept=True).state == "done"
