"""What became of a signature whose answer was lost."""

from __future__ import annotations

import asyncio

from fastapi import APIRouter
from starlette.responses import Response

from app.web.acting import TheHere, the_run
from app.web.answers import json_answer, refusal_json

router = APIRouter()


@router.get("/runs/{run_id}/outcome")
async def outcome(here: TheHere, run_id: str, key: str) -> Response:
    """Say whether the sheet of this key was signed; one that has not arrived is given up."""
    the_run(here.desk, run_id)
    errand = here.desk.ledger.submit(lambda tx: tx.receipt(f"run/{run_id}", key))
    kept = await asyncio.wrap_future(errand)
    found = here.desk.sheets.outcome(run_id, key, kept=kept is not None)
    told = {} if found.refusal is None else refusal_json(found.refusal)
    return json_answer({"outcome": found.state, **told})
