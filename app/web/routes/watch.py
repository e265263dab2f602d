"""The watch: answers at once when a run has moved on, else after a while. It is the link state too."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter
from starlette.responses import Response

from app.web.acting import TheHere, the_run
from app.web.answers import json_answer

router = APIRouter()

SECONDS = 4.0
A_DAY = 24 * 3600


@router.get("/runs/{run_id}/watch")
async def watch(  # noqa: PLR0913, PLR0917 - what a tablet says of itself
    here: TheHere,
    run_id: str,
    after: int = 0,
    touched: int = -1,
    gap: int = -1,
    unsent: int = 0,
) -> Response:
    """Say how far the run is, and whether work is stopped; nothing of what was entered.

    No session is asked for: a tablet whose shift has ended still learns of a stop, and its link
    is not lost. The page tells when it was last touched, in seconds, and its longest time untouched;
    and what it has not sent yet, because a run is not closed over that.
    """
    token = here.tablet.token
    if token is not None and 0 <= touched <= gap <= A_DAY:
        ago, longest = timedelta(seconds=touched), timedelta(seconds=gap)
        here.desk.sessions.told_of_touch(token, here.desk.now(), ago, longest)
    if here.tablet.device:
        here.desk.unsent.report(run_id, here.tablet.device, unsent, here.desk.now())
    if the_run(here.desk, run_id).state.seq <= after:
        await here.desk.wait(run_id, after, SECONDS)
    state = the_run(here.desk, run_id).state
    return json_answer(
        {
            "run": state.run,
            "seq": state.seq,
            "status": state.status,
            "stopped": state.stop is not None,
            "at": here.desk.now().isoformat(timespec="seconds"),
        }
    )
