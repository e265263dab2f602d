"""How a page is made: the templates, the address of a static file, what every page is given."""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Iterable
from functools import cache, lru_cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from jinja2.runtime import Macro
from markupsafe import Markup
from starlette.datastructures import QueryParams
from starlette.responses import HTMLResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from app.settings import data_folder
from app.web.submitted import new_key
from app.web.tablet import Tablet

FOR_A_YEAR = "public, max-age=31536000, immutable"
MOST_DRAWN = 20_000  # fragments kept at hand; a line of the list of steps is some 0.5 kB
ASK_EACH_TIME = "public, no-cache"  # modules import each other by plain names


@cache
def templates() -> Environment:
    """Return the templates: escaped, and strict about what they are given."""
    environment = Environment(
        loader=FileSystemLoader(data_folder("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    environment.globals.update(asset=asset, new_key=new_key)
    environment.globals.update(lines_drawn=lines_drawn, glyph=glyph_drawn)
    return environment


@cache
def asset(path: str) -> str:
    """Return the address of a static file, with the digest of its content."""
    return f"/static/{path}?v={digest(data_folder('static') / path)}"


def lines_drawn(lines: Iterable[Hashable]) -> Markup:
    """Return the lines of the list of steps; one that was drawn is not drawn again.

    Each is known by its identity: `views.steps` keeps a line the same while it says the same.
    """
    return Markup("\n".join([_line_drawn(each) for each in lines]))  # noqa: S704 - each escaped


@cache
def glyph_drawn(name: str, size: int = 24) -> Markup:
    """Return a state mark, drawn once: to fetch the macro costs a page more than to draw with it."""
    return Markup(_macro("_glyph.html", "glyph")(name, size))  # noqa: S704 - escaped where it was drawn


@lru_cache(maxsize=MOST_DRAWN)
def _line_drawn(each: Hashable) -> str:
    return str(_macro("run/_line.html", "line")(each))


@cache
def _macro(template: str, name: str) -> Macro:
    found: Macro = getattr(templates().get_template(template).module, name)
    return found


def digest(file: Path) -> str:
    """Return a short name for a file's content."""
    return hashlib.sha256(file.read_bytes()).hexdigest()[:12]


def page(template: str, tablet: Tablet, status: int = 200, **given: object) -> HTMLResponse:
    """Return a page (or a fragment) for a tablet."""
    text = (
        templates()
        .get_template(template)
        .render(
            tablet=tablet, theme=tablet.theme, size=tablet.size, session=tablet.session, **given
        )
    )
    return HTMLResponse(text, status_code=status)


class StaticHouse(StaticFiles):
    """The static files: kept for a year under an address that changes with the content."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Return a file, with how long it may be kept."""
        response = await super().get_response(path, scope)
        asked = QueryParams(scope.get("query_string", b"")).get("v")
        if response.status_code == 200:
            response.headers["Cache-Control"] = FOR_A_YEAR if asked else ASK_EACH_TIME
        return response
