"""The records: the list, one record as it is written, and the sealed file to take away."""

from __future__ import annotations

import asyncio

from fastapi import APIRouter
from starlette.responses import FileResponse, Response

from app.web.acting import TheHere, the_run
from app.web.answers import json_answer
from app.web.pages import page
from app.web.turned_away import TurnedAway, not_here
from app.web.views.records import record_view, records_view

router = APIRouter()


@router.get("/records")
async def records(here: TheHere, find: str = "") -> Response:
    """Show every run: whole and sealed, closed, or still open."""
    session = here.tablet.signed_on
    seen = [here.desk.run(state.run) for state in reversed(here.desk.runs())]
    sealed = {state.run: here.desk.record(state.run) for state in here.desk.runs()}
    found = [each for each in seen if each is not None]
    view = records_view(found, sealed, here.desk.crew(), session, find=find)
    if here.tablet.wants_json:
        rows = [{"run": r.run, "state": r.word, "procedure": r.procedure} for r in view.rows]
        return json_answer({"records": rows})
    return page("records/page.html", here.tablet, view=view, frame=view.frame)


@router.get("/records/{run_id}")
async def record(here: TheHere, run_id: str) -> Response:
    """Show one record. Of a run still open only that it is open: its counts may be blind."""
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    document = None
    if seen.state.status == "closed":
        document = await asyncio.to_thread(here.desk.document, run_id)
    view = record_view(seen, document, here.desk.record(run_id), here.desk.crew(), session)
    if here.tablet.wants_json:
        return json_answer({"run": view.run, "verdict": view.verdict, "sha256": view.sha256})
    return page("records/record.html", here.tablet, view=view, frame=view.frame)


@router.get("/records/{run_id}/record.pdf")
async def download(here: TheHere, run_id: str) -> Response:
    """Send the sealed file; of a closed run it is sealed first, if it is not yet."""
    _ = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    if seen.state.status != "closed":
        sentence = f"Run {run_id} is still open. Its record is sealed when it is closed."
        raise TurnedAway(422, "record.open", sentence, where=f"run {run_id}")
    sealed = await here.desk.seal(run_id)
    if sealed is None or not sealed.path.is_file():
        raise not_here("sealed record of that run")
    return FileResponse(
        sealed.path,
        media_type="application/pdf",
        filename=f"{run_id}.pdf",
        headers={"Cache-Control": "private, no-store"},
    )
