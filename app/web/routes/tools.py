"""The register of tools: read here, kept at the console."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.web.acting import TheHere
from app.web.answers import json_answer
from app.web.pages import page
from app.web.views.tools import tools_view

router = APIRouter()


@router.get("/tools")
async def tools(here: TheHere) -> Response:
    """Show every tool: what it is for, and whether it may be used today."""
    session = here.tablet.signed_on
    view = tools_view(here.desk.tool_desk.tools(), here.desk.now(), session)
    if here.tablet.wants_json:
        rows = [
            {"serial": r.serial, "kind": r.kind, "range": r.range, "due": r.due, "state": r.word}
            for r in view.rows
        ]
        return json_answer({"tools": rows})
    return page("tools/page.html", here.tablet, view=view, frame=view.frame)
