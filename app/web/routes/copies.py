"""What a tablet keeps to read without a link: the worker, the page that says so, the steps ahead."""

from __future__ import annotations

from functools import cache

import orjson
from fastapi import APIRouter
from starlette.responses import Response

from app.settings import data_folder
from app.web.acting import TheHere, the_run
from app.web.pages import asset, digest, page
from app.web.tablet import TheTablet
from app.web.views.ahead import ahead_view
from app.web.views.frame import frame_of

router = APIRouter()

READ_AT_THE_DESK = ("record-pdf.css",)  # a paper's own sheet is nothing for a tablet
SHELL_FOLDERS = ("css", "fonts", "js", "vendor", "icons")
SHELL_SUFFIXES = frozenset({".css", ".js", ".woff2", ".png"})


@router.get("/worker.js")
async def worker() -> Response:
    """Return the worker that keeps reading copies, with what it must hold before all else."""
    return Response(
        worker_text(), media_type="text/javascript", headers={"Cache-Control": "no-cache"}
    )


@router.get("/manifest.webmanifest")
async def manifest() -> Response:
    """Return what a home screen needs: opened from there, a tablet keeps what the site has put on it."""
    icons = [
        {"src": asset(f"icons/home-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png"}
        for size in (192, 512)
    ]
    told = {
        "name": "Mirrorwright",
        "short_name": "Mirrorwright",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#E9EEEE",
        "theme_color": "#0B4A5B",
        "icons": icons,
    }
    return Response(orjson.dumps(told), media_type="application/manifest+json")


@router.get("/offline")
async def offline(tablet: TheTablet) -> Response:
    """Show that a page is not among those that can be read without a link."""
    return page("offline/page.html", tablet, frame=frame_of(None, where="No link", stop="/stop"))


@router.get("/runs/{run_id}/_ahead")
async def steps_ahead(here: TheHere, run_id: str) -> Response:
    """Return the steps ahead that may be entered without a link, one card for each part."""
    session = here.tablet.signed_on
    seen = the_run(here.desk, run_id)
    view = ahead_view(seen, here.desk.circumstances, here.desk.crew(), session, here.desk.now())
    return page("run/_ahead.html", here.tablet, ahead=view)


@cache
def worker_text() -> bytes:
    """Return the worker's text: the files of the shell, their common digest, the code."""
    static = data_folder("static")
    files = [
        file
        for folder in SHELL_FOLDERS
        for file in sorted((static / folder).rglob("*"))
        if file.suffix in SHELL_SUFFIXES and file.name not in READ_AT_THE_DESK
    ]
    shell = ["/offline", *(f"/static/{file.relative_to(static).as_posix()}" for file in files)]
    version = "".join(digest(file)[:4] for file in files)
    head = b"const SHELL = %b, VERSION = %b;\n" % (orjson.dumps(shell), orjson.dumps(version))
    return head + (static / "js" / "worker.js").read_bytes()
