"""How this tablet likes its pages: theme, and controls for gloves."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from app.web.answers import json_answer
from app.web.pages import page
from app.web.routes.sign_on import local_page
from app.web.submitted import TheSubmitted
from app.web.tablet import SIZE, SIZES, THEME, THEMES, TheTablet, keep_cookie
from app.web.turned_away import not_readable
from app.web.views.settings import settings_view

router = APIRouter()


@router.get("/settings")
async def show(tablet: TheTablet, back: str = "/") -> Response:
    """Show the settings of this tablet."""
    view = settings_view(tablet.session, tablet.theme, tablet.size, local_page(back))
    return page("settings/page.html", tablet, view=view, frame=view.frame)


@router.post("/settings")
async def change(request: Request, tablet: TheTablet, sent: TheSubmitted) -> Response:
    """Keep a theme, or a size of controls, for this tablet."""
    theme, size = sent.text("theme") or tablet.theme, sent.text("size") or tablet.size
    if theme not in THEMES or size not in SIZES:
        raise not_readable("Choose day, dim or dome, and plain or large. Nothing was changed.")
    if tablet.wants_json:
        response: Response = json_answer({"theme": theme, "size": size})
    else:
        response = RedirectResponse(local_page(sent.text("back")), status_code=303)
    keep_cookie(request, response, THEME, theme)
    keep_cookie(request, response, SIZE, size)
    return response
