"""The crew's sums. Nothing of a run goes in but what is typed, and nothing is kept."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from app.calculations.catalogue import CALCULATIONS
from app.web.acting import TheHere
from app.web.answers import json_answer
from app.web.pages import page
from app.web.turned_away import TurnedAway, not_here
from app.web.views.sums import SumView, sum_view, sums_view

LONGEST = 2000  # signs of all that is typed; a row of two hundred values fits

router = APIRouter()


@router.get("/sums")
async def sums(here: TheHere, find: str = "") -> Response:
    """Show which sums there are."""
    view = sums_view(here.tablet.signed_on, find=find)
    if here.tablet.wants_json:
        rows = [{"name": r.name, "title": r.title} for s in view.subjects for r in s.rows]
        return json_answer({"sums": rows})
    return page("sums/index.html", here.tablet, view=view, frame=view.frame)


@router.get("/sums/{name}")
async def one_sum(request: Request, here: TheHere, name: str) -> Response:
    """Show one sum, worked out from what stands in the address: it can be printed and sent on."""
    session = here.tablet.signed_on
    calculation = CALCULATIONS.get(name)
    if calculation is None:
        raise not_here("sum of that name")
    if len(request.url.query) > LONGEST:
        sentence = "That is more than a sum can take. Type less, or work it out in parts."
        raise TurnedAway(422, "sum.too_long", sentence, where=calculation.title)
    known = {each.name for each in calculation.inputs}
    typed = {key: text for key, text in request.query_params.items() if key in known}
    view = sum_view(calculation, typed, session, here.desk.now())
    if here.tablet.wants_json:
        return json_answer(_as_json(view), view.status)
    return page("sums/sum.html", here.tablet, view.status, view=view, frame=view.frame)


def _as_json(view: SumView) -> dict[str, object]:
    worked = view.worked
    found = None
    if worked is not None:
        found = {
            "title": worked.title,
            "value": worked.value,
            "unit": worked.unit,
            "sentence": worked.sentence,
            "more": dict(worked.more),
            "working": worked.working,
        }
    return {"sum": view.name, "result": found, "told": view.told}
