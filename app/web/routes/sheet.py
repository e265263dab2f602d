"""The sheet of paper of a run: printed beforehand, used when tablets cannot be."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.web.acting import TheHere, the_run
from app.web.pages import page
from app.web.views.sheet import sheet_view

router = APIRouter()


@router.get("/runs/{run_id}/sheet")
async def sheet(here: TheHere, run_id: str) -> Response:
    """Show the sheet of a run's procedure, with room to write."""
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    view = sheet_view(seen, here.desk.circumstances(seen, ""), session)
    return page("sheet/page.html", here.tablet, view=view, frame=view.frame)
